"""A real study's file edited line by line: the gate ends in layers or in sentences with their line."""

import shutil

import pytest
from campaign.town import only
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from playsite.errors import InputError, PlaysiteError
from playsite.study import check

WORDS = [
    "0",
    "-1",
    "true",
    "nan",
    "inf",
    '""',
    '"x"',
    '"9 ft"',
    "9",
    "[]",
    "{}",
    "1979-05-27",
    '"\\u0000"',
]
KEYS = ["path", "crs", "where", "layer", "columns", "values", "set", "date", "weight", "noise", "x"]


@pytest.fixture(scope="module")
def lines(sound, tmp_path_factory):
    """Folder of a study of few layers, and the lines of its file."""
    folder = shutil.copytree(sound, tmp_path_factory.mktemp("settings") / "town")
    only(folder, "trees")
    more = (
        '[setbacks]\nparcel_line = "1 m"\n[criteria.grade]\nweight = 3\nscreen = "15 %"\n'
        'knots = { ideal = "2 %" }\n'
    )
    text = (folder / "study.toml").read_text(encoding="utf-8") + more
    return folder, [line for line in text.splitlines() if line]


@st.composite
def edits(draw):
    """How to change a list of lines: which, and into what."""
    kind = st.sampled_from(["drop", "double", "rename", "value", "cut", "add", "swap"])
    return draw(
        st.lists(st.tuples(kind, st.integers(0, 40), st.integers(0, 12)), min_size=1, max_size=3)
    )


def _edited(lines, changes):
    lines = list(lines)
    for how, where, what in changes:
        at = where % len(lines)
        key, sign, value = lines[at].partition(" = ")
        if how == "drop":
            lines.pop(at)
        elif how == "double":
            lines.insert(at, lines[at])
        elif how == "rename" and sign:
            lines[at] = f"{KEYS[what % len(KEYS)]} = {value}"
        elif how == "value" and sign:
            lines[at] = f"{key} = {WORDS[what % len(WORDS)]}"
        elif how == "cut":
            lines[at] = lines[at][: len(lines[at]) * what // 13]
        elif how == "add":
            lines.insert(at, f"{KEYS[what % len(KEYS)]} = {WORDS[(what * 5) % len(WORDS)]}")
        elif how == "swap":
            lines[at], lines[-1] = lines[-1], lines[at]
        if not lines:
            break
    return "\n".join(lines)


def _hold(problems):
    assert problems
    for problem in problems:
        assert "study.toml" in str(problem), problem
        assert len(problem.what) > 10
        assert "Error" not in problem.what


@settings(deadline=None, max_examples=120, suppress_health_check=list(HealthCheck))
@given(edits())
def test_whatever_line_is_changed_the_gate_ends_in_sentences(lines, changes):
    folder, own = lines
    text = _edited(own, changes)
    (folder / "study.toml").write_text(text, encoding="utf-8")
    try:
        _, layers, findings = check(folder)
    except InputError as error:
        _hold(error.problems)
    except PlaysiteError as error:
        pytest.fail(f"no place is said: {error}")
    else:
        assert len(layers.parcels) == 2
        assert findings
