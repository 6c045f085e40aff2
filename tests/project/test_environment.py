"""What a person sees where the environment can't be made: one sentence, never a traceback."""

import importlib.util
import os
import subprocess
import sys

import pytest


@pytest.fixture
def environment(repo, tmp_path, monkeypatch):
    """Give scripts/_environment.py, working on a folder of its own."""
    spec = importlib.util.spec_from_file_location("_env", repo / "scripts/_environment.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    (tmp_path / "pyproject.toml").write_text('[project]\nname = "x"\n', encoding="utf-8")
    place = tmp_path / ".venv"
    monkeypatch.setattr(module, "ROOT", tmp_path)
    monkeypatch.setattr(module, "VENV", place)
    monkeypatch.setattr(module, "STAMP", place / "playsite-stamp.json")
    program = "Scripts/python.exe" if os.name == "nt" else "bin/python"
    monkeypatch.setattr(module, "PYTHON", place / program)
    return module


@pytest.fixture
def installed(environment, monkeypatch):
    """Give the list of what is installed, with an environment that makes and installs nothing."""
    calls = []

    def make():
        environment.VENV.mkdir(exist_ok=True)
        environment.PYTHON.parent.mkdir(exist_ok=True)
        environment.PYTHON.touch()
        calls.append("made")

    monkeypatch.setattr(environment, "_usable", environment.PYTHON.exists)
    monkeypatch.setattr(environment, "_make", make)
    monkeypatch.setattr(environment, "_install", calls.append)
    return calls


def test_the_second_run_installs_nothing(environment, installed):
    environment.ready()
    environment.ready()
    assert installed == ["made", []]


def test_extras_are_added_once_and_kept(environment, installed):
    environment.ready()
    environment.ready("test")
    environment.ready()
    environment.ready("test")
    assert installed == ["made", [], ["test"]]


def test_a_changed_pyproject_is_installed_again(environment, installed):
    environment.ready("test")
    (environment.ROOT / "pyproject.toml").write_text('[project]\nname = "y"\n', encoding="utf-8")
    environment.ready()
    assert installed == ["made", ["test"], ["test"]]


@pytest.mark.usefixtures("installed")
def test_an_install_broken_off_leaves_no_stamp(environment, monkeypatch):
    environment.ready()
    monkeypatch.setattr(environment, "_install", lambda _: sys.exit("no network"))
    with pytest.raises(SystemExit):
        environment.ready("test")
    assert not environment.STAMP.exists()


def test_an_older_python_is_told_what_is_needed(environment, monkeypatch):
    monkeypatch.setattr(environment.sys, "version_info", (3, 9, 2, "final", 0))
    with pytest.raises(SystemExit, match=r"needs Python 3\.11 or newer; this is 3\.9\.2"):
        environment.ready()


def test_a_missing_ensurepip_is_told_with_its_package(environment, monkeypatch):
    monkeypatch.setattr(environment.importlib.util, "find_spec", lambda _: None)
    with pytest.raises(SystemExit, match="sudo apt install python3-venv"):
        environment.ready()


@pytest.mark.slow
def test_without_a_network_the_install_ends_in_one_sentence_and_pips_last_words(
    environment, monkeypatch
):
    monkeypatch.setenv("PIP_NO_INDEX", "1")
    monkeypatch.setenv("PIP_FIND_LINKS", str(environment.ROOT))
    with pytest.raises(SystemExit, match=r"could not be installed.*Check the network") as told:
        environment.ready()
    assert "setuptools" in str(told.value)  # pip's own word for what it could not find
    assert not environment.STAMP.exists()


def test_the_exit_code_of_what_runs_is_given_back(repo):
    program = (
        "import sys; sys.path.insert(0, 'scripts'); import _environment as e;"
        "e.PYTHON = e.Path(sys.executable); sys.exit(e.run('this_module_is_nowhere'))"
    )
    told = subprocess.run(
        [sys.executable, "-c", program], cwd=repo, capture_output=True, text=True, check=False
    )
    assert told.returncode == 1
    assert "this_module_is_nowhere" in told.stderr
