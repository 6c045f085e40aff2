"""Nothing in the repository tells whose machine it was made on."""

import re
import shutil
import subprocess

import pytest

# In brackets here and there, so that this file doesn't hold what it looks for.
MACHINE = re.compile(
    rb"(?<![\w.~-])/(?:t[m]p|w[o]rk|r[o]ot|h[o]me|U[s]ers)/\w"  # a folder of one machine
    rb"|\b[C-D]:\\{1,2}[U]sers\\"
    rb"|\b(?:p[y]pi\.org|p[y]thonhosted\.org|r[e]gistry\.npmjs\.org|d[e]b\.debian\.org)"
    rb"|\b(?:index|extra-index)-url\b"
)


def tracked(repo):
    if not (repo / ".git").exists() or shutil.which("git") is None:
        pytest.skip("not a checkout of git, or no git here")
    told = subprocess.run(["git", "ls-files", "-z"], cwd=repo, capture_output=True, check=True)
    return [repo / name for name in told.stdout.decode().split("\0") if name]


def test_no_tracked_file_holds_a_machines_path_or_a_registrys_host(repo):
    found = {}
    for file in tracked(repo):
        if file.is_file() and (hit := MACHINE.search(file.read_bytes())):
            found[str(file.relative_to(repo))] = hit.group().decode()
    assert found == {}


@pytest.mark.parametrize(
    "text",
    [
        "open('/" + "tmp/x.gpkg')",
        "see /" + "home/someone",
        "C:" + "\\Users\\someone",
        "https://p" + "ypi.org/simple",
    ],
)
def test_the_search_finds_what_it_is_for(text):
    assert MACHINE.search(text.encode())


@pytest.mark.parametrize("text", ["https://example.gov/home/parks", "a/work/b", "results/"])
def test_the_search_leaves_plain_words_alone(text):
    assert not MACHINE.search(text.encode())


def test_nothing_that_is_made_is_tracked(repo):
    made = re.compile(r"(^|/)(\.venv|\.cache|__pycache__|results|build|dist|[^/]*\.egg-info)/")
    names = [file.relative_to(repo).as_posix() for file in tracked(repo)]
    assert [name for name in names if made.search(name)] == []
