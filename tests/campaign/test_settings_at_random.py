"""A valid study spoilt at random: its reader ends in settings or in sentences, whatever is changed."""

import copy

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from playsite.criteria._registry import choose
from playsite.errors import InputError
from playsite.problems import Problems
from playsite.settings import read_settings

VALID = {
    "study": {"title": "A", "units": "feet", "least_known": "50 %", "criteria": ["fit", "grade"]},
    "program": {"pad": {"length": "104 ft", "width": "74.5 ft"}},
    "layers": {
        "parcels": {"path": "p.gpkg", "columns": {"parcel_id": "ID"}},
        "streets": {"path": "s.gpkg", "values": {"class": {"Local": "local"}}},
        "trees": {"path": "t.gpkg", "columns": {"height": {"column": "HT", "unit": "ft"}}},
    },
    "setbacks": {"parcel_line": "10 ft"},
    "criteria": {"grade": {"weight": 6, "knots": {"ideal": "2 %"}, "screen": "15 %"}},
}
ODD = st.one_of(
    st.booleans(),
    st.integers(-5, 10**6),
    st.floats(allow_nan=True),
    st.text(max_size=8),
    st.just([]),
    st.just({}),
    st.just({"a": 1}),
    st.just(["x", 3]),
)


def _toml(value):
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{_quoted(k)} = {_toml(v)}" for k, v in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(_toml, value)) + "]"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, float):
        return repr(value)
    return _quoted(value) if isinstance(value, str) else str(value)


def _quoted(text):
    plain = "".join(
        c if c.isprintable() else f"\\u{ord(c):04x}" if ord(c) < 0xFFFF else "?"
        for c in text.replace("\\", "\\\\").replace('"', '\\"')
    )
    return f'"{plain}"'


def _paths(table, head=()):
    for key, value in table.items():
        yield (*head, key)
        if isinstance(value, dict):
            yield from _paths(value, (*head, key))


@st.composite
def spoilt(draw):
    content = copy.deepcopy(VALID)
    for _ in range(draw(st.integers(1, 4))):
        path = draw(st.sampled_from(sorted(_paths(content)))) if list(_paths(content)) else ()
        inside = content
        for key in path[:-1]:
            inside = inside[key]
        how = draw(st.sampled_from(["drop", "change", "rename", "add"]))
        if not path:
            continue
        if how == "drop":
            inside.pop(path[-1])
        elif how == "change":
            inside[path[-1]] = copy.deepcopy(draw(ODD))
        elif how == "rename":
            inside[draw(st.text("abcdefgh", min_size=1, max_size=6))] = inside.pop(path[-1])
        else:
            inside[draw(st.text("abcdefgh", min_size=1, max_size=6))] = copy.deepcopy(draw(ODD))
    return content


@settings(deadline=None, max_examples=300, suppress_health_check=list(HealthCheck))
@given(spoilt())
def test_whatever_is_changed_the_reader_says_it_in_sentences(tmp_path_factory, content):
    file = tmp_path_factory.mktemp("study") / "study.toml"
    text = "".join(f"{_quoted(key)} = {_toml(value)}\n" for key, value in content.items())
    file.write_text(text, encoding="utf-8")
    problems = Problems()
    try:
        read = read_settings(file, problems)
        choose(read, problems)
    except InputError as error:
        problems.items = list(error.problems)
        read = None
    for problem in problems.items:
        assert "study.toml" in str(problem)
        assert "Traceback" not in str(problem)
        assert len(problem.what) > 5
    assert read is not None or problems.items
