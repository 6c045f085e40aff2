"""Scripts are thin: what they do stands in the package, where it is typed and tested."""

import ast
import io
import subprocess
import sys
import tokenize
from pathlib import Path

import pytest

REPO = Path(__file__).resolve().parents[2]
THICK = {"_environment.py", "benchmark.py", "make_sample_gis.py"}
MOST_LINES = 40
EMPTY = {
    tokenize.COMMENT,
    tokenize.NL,
    tokenize.NEWLINE,
    tokenize.INDENT,
    tokenize.DEDENT,
    tokenize.ENDMARKER,
}


def lines_of_code(text: str) -> int:
    """Count lines that hold code: not blank, not comment, not docstring."""
    docstrings: set[int] = set()
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef) and ast.get_docstring(
            node
        ):
            docstrings |= set(range(node.body[0].lineno, node.body[0].end_lineno + 1))
    code: set[int] = set()
    for token in tokenize.generate_tokens(io.StringIO(text).readline):
        if token.type not in EMPTY:
            code |= set(range(token.start[0], token.end[0] + 1))
    return len(code - docstrings)


def test_blank_lines_comments_and_docstrings_are_no_code():
    text = '"""Two\nlines."""\n\nimport os  # why\n\n# note\n\n\ndef f():\n    """One."""\n    return (\n        1\n    )\n'
    assert lines_of_code(text) == 5


SCRIPTS = [p for p in sorted((REPO / "scripts").glob("*.py")) if p.name not in THICK]


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda p: p.name)
def test_a_script_is_thin(script):
    lines = lines_of_code(script.read_text(encoding="utf-8"))
    assert lines <= MOST_LINES, (
        f"{script.name} has {lines} lines of code: move what it does into playsite/"
    )


def test_the_set_up_asks_for_nothing_but_the_standard_library(repo):
    # -S: without site-packages, as on a fresh machine; -I would hide the scripts' own folder.
    program = "import sys; sys.path.insert(0, 'scripts'); import _environment, try_it, run_tests"
    told = subprocess.run(
        [sys.executable, "-S", "-c", program], cwd=repo, capture_output=True, text=True, check=False
    )
    assert told.returncode == 0, told.stderr


@pytest.mark.parametrize("name", ["_environment.py", "try_it.py", "run_tests.py"])
def test_an_old_python_can_read_the_set_up_and_so_say_that_it_is_old(name):
    text = (REPO / "scripts" / name).read_text(encoding="utf-8")
    ast.parse(text, feature_version=(3, 7))
    assert "from __future__ import annotations" not in text  # unknown before 3.7
