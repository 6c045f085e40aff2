"""The coverage gate can fail: one that never did might be asleep."""

import os
import subprocess
import sys
import tomllib

import pytest

# Every line runs with one call; the way past each `if` is taken only by a second one.
SAMPLE = """
def steps(up):
    taken = []
    if up > 0:
        taken.append("first")
    if up > 1:
        taken.append("second")
    if up > 2:
        taken.append("third")
    return taken
"""
ONE_CALL = "from sample import steps\n\n\ndef test_steps():\n    assert len(steps(3)) == 3\n"
BOTH_WAYS = f"{ONE_CALL}    assert steps(0) == []\n"


def run_the_gate(folder, repo, test):
    (folder / "sample.py").write_text(SAMPLE, encoding="utf-8")
    (folder / "test_sample.py").write_text(test, encoding="utf-8")
    (folder / "pytest.ini").write_text("[pytest]\npythonpath = .\n", encoding="utf-8")
    # Without what a coverage run around this one hands down to its children.
    outer = ("COV_", "COVERAGE", "PYTEST_")
    env = {name: value for name, value in os.environ.items() if not name.startswith(outer)}
    settings = f"--cov-config={repo / 'pyproject.toml'}"
    return subprocess.run(
        [sys.executable, "-m", "pytest", "--cov=sample", settings, "test_sample.py"],
        cwd=folder,
        env=env,
        capture_output=True,
        text=True,
        check=False,
    )


def test_branches_never_taken_fail_the_gate_though_every_line_ran_and_every_test_passed(
    tmp_path, repo
):
    told = run_the_gate(tmp_path, repo, ONE_CALL)
    assert told.returncode == 1, told.stdout + told.stderr
    assert "1 passed" in told.stdout
    assert "Required test coverage" in told.stdout
    row = next(line for line in told.stdout.splitlines() if line.startswith("sample.py"))
    assert row.split()[2] == "0"  # lines missed


def test_with_both_ways_taken_the_gate_opens(tmp_path, repo):
    told = run_the_gate(tmp_path, repo, BOTH_WAYS)
    assert told.returncode == 0, told.stdout + told.stderr


@pytest.fixture(scope="module")
def settings(repo):
    return tomllib.loads((repo / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["coverage"]


def test_the_gate_is_for_branches_of_the_whole_package(settings):
    assert settings["run"]["branch"] is True
    assert settings["run"]["source"] == ["playsite"]
    assert settings["report"]["fail_under"] >= 80
