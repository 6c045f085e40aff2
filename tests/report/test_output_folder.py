"""Results come whole or not at all, and nothing of the user's is lost."""

import errno
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from playsite.errors import InputError
from playsite.report.output_folder import written_whole


def write(folder, **files):
    with written_whole(folder) as fresh:
        for name, text in files.items():
            (fresh / name.replace("_", ".")).write_text(text, "utf-8")


def held(folder):
    return {
        path.relative_to(folder).as_posix(): path.read_text("utf-8")
        for path in folder.rglob("*")
        if path.is_file() and path.name != ".written.json"
    }


def beside(folder):
    return sorted(path.name for path in folder.parent.iterdir() if path != folder)


def test_a_new_folder_is_made_with_its_parents(tmp_path):
    out = tmp_path / "a" / "b" / "out"
    write(out, sites_csv="1")
    assert held(out) == {"sites.csv": "1"}
    assert beside(out) == []


def test_the_target_is_untouched_until_all_is_written(tmp_path):
    out = tmp_path / "out"
    write(out, sites_csv="old")
    with written_whole(out) as fresh:
        (fresh / "sites.csv").write_text("new", "utf-8")
        assert held(out) == {"sites.csv": "old"}
    assert held(out) == {"sites.csv": "new"}
    assert beside(out) == []


def test_what_the_last_run_wrote_and_this_one_does_not_is_gone(tmp_path):
    out = tmp_path / "out"
    with written_whole(out) as fresh:
        (fresh / "kit").mkdir()
        (fresh / "kit" / "1.txt").write_text("old", "utf-8")
    write(out, sites_csv="new")
    assert held(out) == {"sites.csv": "new"}
    assert not (out / "kit").exists()


def test_the_users_own_files_stay(tmp_path):
    out = tmp_path / "out"
    write(out, sites_csv="old", memo_docx="ours")
    (out / "notes").mkdir()
    (out / "notes" / "mine.txt").write_text("mine", "utf-8")
    (out / "empty").mkdir()
    (out / "memo.docx").write_text("edited by hand", "utf-8")
    (out / "to_notes").symlink_to("notes")
    write(out, sites_csv="new", memo_docx="ours again")
    write(out, sites_csv="newer", memo_docx="ours the third time")
    assert held(out) == {
        "sites.csv": "newer",
        "memo.docx": "ours the third time",
        "memo (kept).docx": "edited by hand",
        "notes/mine.txt": "mine",
    }
    assert (out / "empty").is_dir()
    assert (out / "to_notes").is_symlink()


def test_a_folder_that_playsite_never_wrote_loses_nothing(tmp_path):
    out = tmp_path / "out"
    (out / "map.html").mkdir(parents=True)
    (out / "map.html" / "x").write_text("a folder of that name", "utf-8")
    (out / "sites.csv").write_text("the user's", "utf-8")
    (out / "sites (kept).csv").write_text("the user's too", "utf-8")
    (out / ".written.json").write_text('["not a record"]', "utf-8")
    write(out, sites_csv="ours", map_html="ours")
    assert held(out) == {
        "sites.csv": "ours",
        "sites (kept).csv": "the user's too",
        "sites (kept 2).csv": "the user's",
        "map.html": "ours",
        "map (kept).html/x": "a folder of that name",
    }


def fail(folder, error):
    with written_whole(folder) as fresh:
        (fresh / "sites.csv").write_text("half", "utf-8")
        raise error


@pytest.mark.parametrize("error", [RuntimeError("x"), KeyboardInterrupt()])
def test_a_failure_leaves_nothing_and_passes_on(tmp_path, error):
    out = tmp_path / "deep" / "out"
    with pytest.raises(type(error)):
        fail(out, error)
    assert list(tmp_path.iterdir()) == []


def test_a_failure_leaves_the_old_results(tmp_path):
    out = tmp_path / "out"
    write(out, sites_csv="old")
    with pytest.raises(RuntimeError):
        fail(out, RuntimeError())
    assert held(out) == {"sites.csv": "old"}
    assert beside(out) == []


def test_a_full_disk_is_one_sentence(tmp_path):
    out = tmp_path / "out"
    write(out, sites_csv="old")
    with pytest.raises(InputError, match=r'"[^"]*out": the disk is full. Free some') as caught:
        fail(out, OSError(errno.ENOSPC, "No space left on device"))
    assert len(caught.value.problems) == 1
    assert held(out) == {"sites.csv": "old"}
    assert beside(out) == []


def test_a_target_that_is_a_file_is_refused_and_kept(tmp_path):
    out = tmp_path / "out"
    out.write_text("mine", "utf-8")
    with pytest.raises(InputError, match=r"it is a file, or lies below one\. Name a folder"):
        write(out, sites_csv="new")
    with pytest.raises(InputError, match="it is a file, or lies below one"):
        write(out / "below", sites_csv="new")
    assert out.read_text("utf-8") == "mine"
    assert beside(out) == []


@pytest.mark.parametrize("code", [errno.EACCES, errno.EROFS])
def test_a_folder_that_may_not_be_written_is_refused(tmp_path, monkeypatch, code):
    """Root may write anywhere, so the refusal of the system is made up."""

    def refuse(*_args, **_options):
        raise OSError(code, "refused")

    monkeypatch.setattr(Path, "mkdir", refuse)
    with pytest.raises(InputError, match="may not be written or replaced"):
        write(tmp_path / "out", sites_csv="new")


@pytest.mark.parametrize("fails_at", [1, 2])
@pytest.mark.parametrize("code", [errno.EACCES, errno.EBUSY])
def test_a_swap_that_fails_leaves_the_old_results(tmp_path, monkeypatch, fails_at, code):
    """As on Windows, where a file that is open elsewhere can't be moved."""
    out = tmp_path / "out"
    write(out, sites_csv="old")
    rename, calls = Path.rename, []

    def stubborn(self, target):
        calls.append(target)
        if len(calls) == fails_at:
            raise OSError(code, "no")
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", stubborn)
    with pytest.raises(InputError, match="out"):
        write(out, sites_csv="new")
    monkeypatch.undo()
    assert held(out) == {"sites.csv": "old"}
    assert beside(out) == []


def test_files_are_copied_where_the_disk_knows_no_second_names(tmp_path, monkeypatch):
    out = tmp_path / "out"
    write(out, sites_csv="old")
    (out / "mine.txt").write_text("mine", "utf-8")

    def no_links(*_args, **_options):
        raise OSError(errno.EPERM, "no links")

    monkeypatch.setattr(os, "link", no_links)
    write(out, sites_csv="new")
    assert held(out) == {"sites.csv": "new", "mine.txt": "mine"}


def test_a_kill_between_the_two_renames_is_put_right_by_the_next_run(tmp_path):
    out = tmp_path / "out"
    write(out, sites_csv="old")
    (out / "mine.txt").write_text("mine", "utf-8")
    script = """
import os, sys
from pathlib import Path
from playsite.report.output_folder import written_whole
rename = Path.rename
def once(self, target):
    rename(self, target)
    os._exit(9)
Path.rename = once
with written_whole(Path(sys.argv[1])) as fresh:
    (fresh / "sites.csv").write_text("new", "utf-8")
"""
    done = subprocess.run([sys.executable, "-c", script, str(out)], check=False)
    assert done.returncode == 9
    assert not out.exists()
    with pytest.raises(RuntimeError):
        fail(out, RuntimeError())
    assert held(out) == {"sites.csv": "old", "mine.txt": "mine"}
    write(out, sites_csv="newer")
    assert held(out) == {"sites.csv": "newer", "mine.txt": "mine"}


def test_what_a_killed_run_left_is_cleared_a_day_later(tmp_path):
    out = tmp_path / "out"
    write(out, sites_csv="old")
    for name in (".out.new-young", ".out.new-stale", ".out.old-stale"):
        (tmp_path / name).mkdir()
    two_days_ago = time.time() - 48 * 3600
    os.utime(tmp_path / ".out.new-stale", (two_days_ago, two_days_ago))
    write(out, sites_csv="new")
    assert beside(out) == [".out.new-young"]


ENDLESS = """
import itertools, sys
from pathlib import Path
from playsite.report.output_folder import written_whole
for turn in itertools.count(1):
    with written_whole(Path(sys.argv[1])) as fresh:
        for number in range(40):
            (fresh / f"{number}.txt").write_text(str(turn), "utf-8")
    print(turn, flush=True)
"""


@pytest.mark.parametrize("wait_s", [0, 0.013, 0.029, 0.041, 0.067, 0.083])
def test_killed_at_any_moment_the_target_holds_one_run_whole(tmp_path, wait_s):
    out = tmp_path / "out"
    out.mkdir()
    (out / "mine.txt").write_text("mine", "utf-8")
    running = subprocess.Popen(
        [sys.executable, "-c", ENDLESS, str(out)], stdout=subprocess.PIPE, text=True
    )
    assert running.stdout is not None
    running.stdout.readline()
    time.sleep(wait_s)
    os.kill(running.pid, getattr(signal, "SIGKILL", signal.SIGTERM))
    running.wait()
    running.stdout.close()
    if not out.exists():  # between the two renames: the next run puts the old ones back
        with pytest.raises(RuntimeError):
            fail(out, RuntimeError())
    found = held(out)
    assert found.pop("mine.txt") == "mine"
    assert len(found) == 40
    assert len(set(found.values())) == 1
