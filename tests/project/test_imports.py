"""The linter of imports can fail: each planted import breaks a contract.

The types and the behaviour stay right in each case (the imports stand inside functions),
so neither mypy nor any other test would say a word.
"""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest


def lint(folder: Path) -> subprocess.CompletedProcess:
    program = "from importlinter.cli import lint_imports_command as c; c(['--no-cache'])"
    # The first entry of sys.path is the folder: the copy, not the installed package, is read.
    return subprocess.run(
        [sys.executable, "-c", program], cwd=folder, capture_output=True, text=True, check=False
    )


@pytest.fixture
def copy(repo, tmp_path):
    ignore = shutil.ignore_patterns("__pycache__", "*.nb?")
    shutil.copytree(repo / "playsite", tmp_path / "playsite", ignore=ignore)
    shutil.copy(repo / ".importlinter", tmp_path)
    return tmp_path


def plant(file: Path, imported: str) -> None:
    before = file.read_text(encoding="utf-8") if file.exists() else '"""Planted."""\n'
    text = (
        f"{before}\n\ndef _planted() -> object:\n    import {imported}\n\n    return {imported}\n"
    )
    file.write_text(text, encoding="utf-8")


def test_as_it_stands_every_contract_is_kept(copy):
    told = lint(copy)
    assert told.returncode == 0, told.stdout + told.stderr
    assert "Contracts: 3 kept, 0 broken." in told.stdout


@pytest.mark.parametrize(
    ("file", "imported", "said"),
    [
        ("units.py", "playsite.result", "playsite.units is not allowed to import playsite.result"),
        (
            "terrain/planted.py",
            "playsite.criteria",
            "playsite.terrain is not allowed to import playsite.criteria",
        ),
        (
            "terrain/planted.py",
            "playsite.proximity",
            "playsite.terrain is not allowed to import playsite.proximity",
        ),
        ("helpers.py", "playsite.errors", "- playsite.helpers"),
    ],
    ids=["upward", "upward-from-a-package", "sibling", "unplaced-module"],
)
def test_a_planted_import_breaks_a_contract(copy, file, imported, said):
    plant(copy / "playsite" / file, imported)
    told = lint(copy)
    assert told.returncode == 1, told.stdout + told.stderr
    assert said in told.stdout


@pytest.mark.parametrize("package", ["criteria", "steps"])
def test_a_criterion_or_step_that_knows_another_breaks_a_contract(copy, package):
    folder = copy / "playsite" / package
    folder.mkdir(exist_ok=True)
    (folder / "__init__.py").touch()
    plant(folder / "other.py", "playsite.errors")
    plant(folder / "planted.py", f"playsite.{package}.other")
    told = lint(copy)
    assert told.returncode == 1, told.stdout + told.stderr
    one, other = f"playsite.{package}.planted", f"playsite.{package}.other"
    assert f"{one} is not allowed to import {other}" in told.stdout


def test_only_what_has_an_underscore_is_let_through(repo):
    lines = (repo / ".importlinter").read_text(encoding="utf-8").splitlines()
    targets = [line.split("->")[1].strip() for line in lines if "->" in line]
    assert targets
    assert all(target.rpartition(".")[2].startswith("_") for target in targets), targets
