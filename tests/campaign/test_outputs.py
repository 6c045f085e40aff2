"""Where results can't be written, nothing is: a full disk, a folder that is barred, odd places."""

import errno
import hashlib
import os
import shutil
import signal
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest
from campaign.town import only

from playsite.errors import InputError
from playsite.report import output_folder
from playsite.report.writing import write_all
from playsite.study import run


@pytest.fixture(scope="module")
def result(sound, tmp_path_factory):
    folder = shutil.copytree(sound, tmp_path_factory.mktemp("outputs") / "town")
    only(folder)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PLAYSITE_CACHE", str(folder / "memory"))
        return run(folder)


def _marks(folder):
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


@pytest.fixture
def small_disk(tmp_path):
    """A file system of 200 kB, where the machine lets us make one."""
    place = tmp_path / "small"
    place.mkdir()
    made = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=200k", "tmpfs", place],
        capture_output=True,
        check=False,
    )
    if made.returncode:
        pytest.skip(f"no small disk can be made here: {made.stderr.decode().strip()}")
    yield place
    subprocess.run(["umount", place], check=True)


def test_a_full_disk_is_a_sentence_and_nothing_is_left_on_it(result, small_disk):
    with pytest.raises(InputError, match="the disk is full. Free some space"):
        write_all(result, small_disk / "results")
    assert list(small_disk.iterdir()) == []


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EDQUOT])
@pytest.mark.parametrize("after", [1, 2, 4, 6, 8])
def test_wherever_the_disk_fills_up_the_old_results_stand(
    result, tmp_path, monkeypatch, code, after
):
    """The disk is full at the n-th file that is opened for writing."""
    out = tmp_path / "out"
    write_all(result, out)
    old, opened = _marks(out), []
    plain = Path.open

    def full(path, mode="r", *rest, **more):
        if any(letter in mode for letter in "wxa"):
            opened.append(path)
            if len(opened) >= after:
                raise OSError(code, os.strerror(code), str(path))
        return plain(path, mode, *rest, **more)

    monkeypatch.setattr(Path, "open", full)
    try:
        write_all(result, out)
    except InputError as error:
        assert "the disk is full" in str(error)  # noqa: PT017  # both ends are right
    else:
        assert len(opened) < after
    monkeypatch.undo()
    assert _marks(out) == old
    assert sorted(path.name for path in out.parent.iterdir() if "out" in path.name) == ["out"]


@pytest.mark.parametrize("moment", ["mkdir", "rename"])
@pytest.mark.parametrize("code", [errno.EACCES, errno.EPERM, errno.EROFS, errno.EBUSY])
def test_a_folder_that_is_barred_is_a_sentence(result, tmp_path, monkeypatch, moment, code):
    out = tmp_path / "out"
    write_all(result, out)
    old = _marks(out)

    def barred(path, *rest, **more):
        raise OSError(code, os.strerror(code), str(path))

    monkeypatch.setattr(output_folder.Path, moment, barred)
    with pytest.raises(InputError, match='the results can\'t be written to ".*out":'):
        write_all(result, out)
    monkeypatch.undo()
    assert _marks(out) == old
    assert sorted(path.name for path in out.parent.iterdir() if "out" in path.name) == ["out"]


NOT_ROOT = not hasattr(os, "geteuid") or os.geteuid() != 0


@pytest.fixture
def of_root():
    """A folder that others may look into, but not write: pytest's own they can't even enter."""
    folder = Path(tempfile.mkdtemp())
    folder.chmod(0o755)
    yield folder
    shutil.rmtree(folder)


@pytest.mark.skipif(NOT_ROOT, reason="only root can be someone else")
@pytest.mark.parametrize(
    "mode",
    [
        0o755,
        0o700,
    ],
    ids=["may be entered", "may not be entered"],
)
def test_a_folder_of_someone_else_is_a_sentence(result, of_root, mode):
    """The writing is done by a child that has no rights there."""
    barred = of_root / "barred"
    barred.mkdir(mode=mode)
    child = os.fork()
    if child == 0:  # pragma: no cover -- another process
        code = 1
        try:
            os.setuid(65534)
            write_all(result, barred / "deep" / "results")
        except InputError as error:
            code = 0 if "may not be written" in str(error) else 2
        finally:
            os._exit(code)
    _, status = os.waitpid(child, 0)
    assert os.waitstatus_to_exitcode(status) == 0
    assert list(barred.iterdir()) == []


@pytest.mark.parametrize("place", ["a file", "below a file", "the root", "a device", "a long name"])
def test_places_where_no_folder_can_be_are_sentences(result, tmp_path, place):
    file = tmp_path / "file"
    file.write_text("mine")
    where = {
        "a file": file,
        "below a file": file / "deep" / "out",
        "the root": Path("/"),
        "a device": Path("/dev/null"),
        "a long name": tmp_path / ("x" * 300),
    }[place]
    with pytest.raises(InputError, match="the results can't be written to"):
        write_all(result, where)
    assert file.read_text() == "mine"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["file"]


# --- The command itself, as a person runs it ----------------------------------------------


def _command(*words, within_s=120):
    return subprocess.run(
        [sys.executable, "-m", "playsite", *map(str, words)],
        capture_output=True,
        text=True,
        timeout=within_s,
        check=False,
    )


def _pipe(path):
    path.unlink()
    os.mkfifo(path)


SPOILT = {
    "text": lambda path: path.write_bytes(b"no map"),
    "nothing": lambda path: path.unlink(),
    "a pipe": _pipe,
    "a device": lambda path: path.unlink() or path.symlink_to("/dev/zero"),
    "the root": lambda path: path.unlink() or path.symlink_to("/"),
}


@pytest.mark.slow
@pytest.mark.parametrize(
    ("kind", "fault"),
    [
        ("parcels.gpkg", "text"),
        ("trees.gpkg", "nothing"),
        ("elevation.tif", "a pipe"),
        ("parcels.gpkg", "a pipe"),
        ("trees.gpkg", "a device"),
        ("elevation.tif", "the root"),
    ],
)
def test_the_command_ends_with_2_and_a_sentence(kind, fault, town):
    only(town, "trees")
    SPOILT[fault](town / kind)
    told = _command("rank", town)
    assert told.returncode == 2, told.stderr
    assert "nothing was written" in told.stderr
    assert f"[layers.{Path(kind).stem}.path]" in told.stderr
    assert "Traceback" not in told.stderr
    assert not (town / "results").exists()


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="signals of another kind")
def test_a_command_that_is_interrupted_leaves_nothing(town):
    only(town, "trees", "streets", "buildings")
    process = subprocess.Popen(
        [sys.executable, "-m", "playsite", "rank", str(town)],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    try:
        process.wait(2)
    except subprocess.TimeoutExpired:
        process.send_signal(signal.SIGINT)
    _, said = process.communicate(timeout=60)
    done = (town / "results" / "map.html").exists()
    assert done or process.returncode != 0, said
    assert not list(town.glob(".results*"))
