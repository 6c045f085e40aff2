"""study.toml, units and problems: every fault at once, with its line."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from playsite.errors import InputError
from playsite.problems import Finding, Problem, Problems, nearest_word
from playsite.settings import read_settings
from playsite.units import LENGTHS_M, Unit, in_unit, metres, percent

SOUND = """
[study]
title = "A test"
units = "feet"
least_known = "40 %"

[program]
pad = { length = "74.5 ft", width = "104 ft" }

[layers.parcels]
path = "parcels.gpkg"
columns.parcel_id = "ID"
columns.name = { column = "NAME" }
date = 2024-05-01

[[layers.trees]]
path = "a.gpkg"

[[layers.trees]]
path = "b.gpkg"

[setbacks]
parcel_line = "10 ft"

[criteria.shade]
weight = 3
knots = { ideal = "40 %" }
"""


def read(folder, text):
    (folder / "study.toml").write_text(text, encoding="utf-8")
    problems = Problems()
    return read_settings(folder, problems), [str(problem) for problem in problems.items]


def test_a_sound_study_is_read_in_si_units(tmp_path):
    settings, problems = read(tmp_path, SOUND)
    assert not problems
    pad = settings.program.pad
    assert pad is not None
    assert pad.length_m == pytest.approx(104 * 0.3048)  # the longer side, however given
    assert pad.width_m == pytest.approx(74.5 * 0.3048)
    assert settings.study.least_known_pct == 40
    assert settings.setbacks.parcel_line_m == pytest.approx(3.048)
    assert settings.setbacks.water_m == 0
    assert settings.layers["parcels"][0].date == "2024-05-01"
    assert settings.layers["parcels"][0].columns["parcel_id"].column == "ID"
    assert [source.path for source in settings.layers["trees"]] == ["a.gpkg", "b.gpkg"]
    assert settings.folder == tmp_path.resolve()


def test_an_entry_knows_its_place(tmp_path):
    settings, _ = read(tmp_path, SOUND)
    place = settings.place("layers", "parcels", "columns", "parcel_id")
    assert place["line"] == 12
    assert place["key"] == "layers.parcels.columns.parcel_id"
    assert settings.place("layers", "parcels", "nothing")["line"] == 10
    assert settings.place("nowhere")["line"] is None


@pytest.mark.parametrize(
    ("right", "wrong", "words", "line"),
    [
        ('units = "feet"', 'units = "yards"', '"yards" is not known', 4),
        ('title = "A test"', 'titel = "A test"', 'Did you mean "title"?', 3),
        ('"74.5 ft"', "74.5", "a bare number", 8),
        ('"74.5 ft"', '"74.5"', "has no unit", 8),
        ('"74.5 ft"', '"74.5 rods"', '"rods" is not a unit', 8),
        ('"74.5 ft"', '"0 ft"', "greater than 0", 8),
        ('"40 %"\n\n', '"40 ft"\n\n', "is not percent", 5),
        ('path = "parcels.gpkg"', 'pth = "parcels.gpkg"', 'the key "path" is missing', 10),
        ("weight = 3", "weight = -3", "greater than or equal to 0", 26),
        ("weight = 3", "weight = inf", "finite", 26),
        ('parcel_line = "10 ft"', 'parcel_lines = "10 ft"', 'Did you mean "parcel_line"?', 23),
    ],
)
def test_a_fault_is_told_with_its_line(tmp_path, right, wrong, words, line):
    assert right in SOUND
    _, problems = read(tmp_path, SOUND.replace(right, wrong, 1))
    assert any(words in told and f"line {line}," in told for told in problems), problems


def test_all_faults_are_told_at_once_and_what_is_sound_goes_on(tmp_path):
    text = SOUND.replace('"feet"', '"yards"').replace('"10 ft"', "10").replace("= 3", '= "x"')
    settings, problems = read(tmp_path, text)
    assert len(problems) == 3
    lines = [int(told.split("line ")[1].split(",")[0]) for told in problems]
    assert lines == sorted(lines)
    assert settings.program.pad is not None
    assert settings.program.pad.length_m == pytest.approx(104 * 0.3048)
    assert settings.layers["parcels"][0].path == "parcels.gpkg"


@pytest.mark.parametrize(
    ("content", "words"),
    [(b"[study", "not valid TOML"), (b"\xff\xfe\x00", "not UTF-8"), (None, "no such study file")],
)
def test_a_file_that_can_not_be_read_stops_at_once(tmp_path, content, words):
    if content is not None:
        (tmp_path / "study.toml").write_bytes(content)
    with pytest.raises(InputError, match=words):
        read_settings(tmp_path, Problems())


def test_a_byte_order_mark_does_no_harm(tmp_path):
    (tmp_path / "study.toml").write_text(SOUND, encoding="utf-8-sig")
    problems = Problems()
    assert read_settings(tmp_path / "study.toml", problems).study.title == "A test"
    assert not problems.items


@pytest.mark.parametrize(
    ("text", "value"),
    [
        # The international foot is 0.3048 m exactly, the survey foot 1200/3937 m (U.S. National
        # Bureau of Standards 1959); inch, yard and mile follow from the foot.
        ("1 ft", 0.3048), ("100'", 30.48), ("1 us-ft", 1200 / 3937), ("1 US survey foot", 1200 / 3937),
        ('12"', 0.3048), ("1 yd", 0.9144), ("1 mile", 1609.344), ("3cm", 0.03), (".5 km", 500),
        ("1e3 mm", 1), (" 30 Metres ", 30), ("-2 m", -2),
    ],
)  # fmt: skip
def test_lengths_are_read(text, value):
    assert metres(text) == pytest.approx(value, rel=1e-15)


@pytest.mark.parametrize(
    "text", [30, 30.0, "30", "ft", "30 acres", "", None, True, "3 0 m", "1,5 m"]
)
def test_what_is_no_length_is_refused(text):
    with pytest.raises(ValueError):
        metres(text)


@given(st.floats(1e-3, 1e6), st.sampled_from(sorted(LENGTHS_M)))
def test_a_length_written_out_is_read_back(number, unit):
    assert metres(f"{number!r} {unit}") == pytest.approx(number * LENGTHS_M[unit])


@pytest.mark.parametrize("text", ["4.5 %", "4.5 percent", "4.5pct"])
def test_shares_are_read(text):
    assert percent(text) == 4.5


@pytest.mark.parametrize("text", [4.5, "4.5", "4.5 m", "% 4.5"])
def test_what_is_no_share_is_refused(text):
    with pytest.raises(ValueError):
        percent(text)


def test_a_value_is_read_in_the_unit_that_is_due():
    assert in_unit("20 ft", Unit.METRE) == pytest.approx(6.096)
    assert in_unit("20 %", Unit.PERCENT) == 20
    assert in_unit(3, Unit.COUNT) == 3.0
    for text, unit in (
        ("20 %", Unit.METRE),
        (20, Unit.PERCENT),
        ("3", Unit.COUNT),
        (True, Unit.RATIO),
    ):
        with pytest.raises(ValueError):
            in_unit(text, unit)


def test_a_problem_reads_as_one_line():
    problem = Problem("is missing.", "Add it.", "study.toml", 3, "layers.trees", "trees", "7")
    told = "study.toml, line 3, [layers.trees], layer trees, feature 7: is missing. Add it."
    assert str(problem) == told
    assert str(Problem("is missing.")) == "is missing."


def test_a_finding_reads_as_one_line():
    finding = Finding("3 are odd.", "Left out.", "Look.", "trees", "1, 2, 3", 3, "caution")
    assert str(finding) == "trees: 3 are odd. (1, 2, 3) Left out. Look."


def test_problems_are_raised_together_and_each_once():
    problems = Problems()
    problems.stop_if_any()
    problems.add("a", file="f")
    problems.add("b")
    problems.add("a", file="f")
    with pytest.raises(InputError) as caught:
        problems.stop_if_any()
    assert [str(problem) for problem in caught.value.problems] == ["f: a", "b"]


def test_the_nearest_word_is_offered():
    assert nearest_word("tree", ["trees", "streets"]) == 'Did you mean "trees"?'
    assert nearest_word("xyz", ["b", "a"]) == "Known here: a, b."
    assert nearest_word("xyz", []) == ""


def test_setbacks_tell_whether_sides_are_told_apart(tmp_path):
    settings, _ = read(tmp_path, SOUND)
    assert not settings.setbacks.by_side
    settings, _ = read(tmp_path, SOUND.replace("parcel_line", "front"))
    assert settings.setbacks.by_side
    assert settings.setbacks.front_m == pytest.approx(3.048)


def test_the_record_of_a_run_is_in_si_units(tmp_path):
    settings, _ = read(tmp_path, SOUND)
    record = settings.as_read()
    assert record["program"]["pad"]["length_m"] == pytest.approx(31.6992)
    assert record["setbacks"]["parcel_line_m"] == pytest.approx(3.048)
    assert [source["path"] for source in record["layers"]["trees"]] == ["a.gpkg", "b.gpkg"]
    assert record["criteria"]["shade"]["knots"] == {"ideal": "40 %"}


@pytest.mark.parametrize(
    ("right", "wrong", "words"),
    [
        ('path = "b.gpkg"', "path = 3", "layers.trees"),
        ("weight = 3", "wieght = 3", 'Did you mean "weight"?'),
        ("[program]", "[programme]", "program"),
        ("[study]\n", '[study]\ncriteria = "shade"\n', "study.criteria"),
    ],
)
def test_faults_deep_inside_are_told_too(tmp_path, right, wrong, words):
    assert right in SOUND
    settings, problems = read(tmp_path, SOUND.replace(right, wrong))
    assert any(words in told for told in problems), problems
    assert settings.study.title == "A test"


def test_a_folder_in_place_of_the_file_is_a_sentence(tmp_path):
    (tmp_path / "study.toml").mkdir()
    with pytest.raises(InputError, match=r"can't be read|no such study file"):
        read_settings(tmp_path, Problems())


def test_a_fault_inside_a_layer_leaves_the_rest_of_it_standing(tmp_path):
    file = tmp_path / "study.toml"
    file.write_text(
        '[study]\ntitle = "A"\nunits = "feet"\n[program]\n'
        'pad = { length = "30 m", width = "20 m" }\n'
        '[layers.parcels]\npath = "p.gpkg"\ncolumns = { name = { colum = "X" } }\n'
    )
    problems = Problems()
    settings = read_settings(file, problems)
    assert 'Did you mean "column"?' in "".join(map(str, problems.items))
    assert settings.study.title == "A"
    assert settings.layers["parcels"][0].path == "p.gpkg"
