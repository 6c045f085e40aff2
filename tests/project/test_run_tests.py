"""The command that checks everything says what failed, runs the rest, and its code is honest."""

import importlib.util
import sys

import pytest

CORES = ("-n", "auto", "--dist", "loadfile")


@pytest.fixture
def ran(repo, monkeypatch):
    """Give a function: run scripts/run_tests.py, with some steps failing; what was run."""
    monkeypatch.syspath_prepend(str(repo / "scripts"))
    spec = importlib.util.spec_from_file_location("run_tests", repo / "scripts/run_tests.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    monkeypatch.setattr(module, "ready", lambda *extras: None)

    def go(*words, failing=()):
        commands = []

        def run(*command, **_):
            commands.append(command)
            return 3 if command[0] in failing else 0

        monkeypatch.setattr(module, "run", run)
        monkeypatch.setattr(sys, "argv", ["run_tests.py", *words])
        return module.main(), commands

    return go


def test_all_steps_run_and_pytest_is_the_last(ran):
    code, commands = ran()
    assert code == 0
    assert [command[0] for command in commands] == [
        "ruff",
        "ruff",
        "mypy",
        "lint-imports",
        "pytest",
    ]
    assert commands[-1] == ("pytest", *CORES, "--cov")


@pytest.mark.parametrize("step", ["mypy", "lint-imports", "pytest"])
def test_a_step_that_fails_is_named_and_the_others_still_run(ran, capsys, step):
    code, commands = ran(failing=[step])
    assert code == 1
    assert len(commands) == 5
    name = "import-linter" if step == "lint-imports" else step
    assert capsys.readouterr().out.endswith(f"\nFailed: {name}\n")


def test_quick_leaves_out_what_is_slow_and_the_gate(ran):
    _, commands = ran("--quick")
    assert commands[-1] == ("pytest", *CORES, "-m", "not slow and not browser and not fetched")


def test_chosen_tests_go_to_pytest_and_are_not_held_to_the_gate_of_the_whole(ran):
    _, commands = ran("tests/laws", "-k", "grade")
    assert commands[-1] == ("pytest", "tests/laws", "-k", "grade")
