"""``[program]`` of a study file as someone gets it wrong: one clear sentence each."""

import pytest

from playsite._program_settings import KINDS, MATERIALS, ProgramTable, square_metres
from playsite.problems import Problems
from playsite.program.surfacing import SURFACINGS
from playsite.settings import read_settings

STUDY = """
[study]
title = "A test"
units = "feet"
[program]
{program}
[layers.parcels]
path = "parcels.gpkg"
"""
PIECE = 'kind = "climber"\nages = "5-12"\nlength = "12 ft"\nwidth = "6 ft"\nheight = "6 ft"\n'
ALIKE = "[[program.equipment]]\n" + PIECE


def read(folder, program):
    (folder / "study.toml").write_text(STUDY.format(program=program), encoding="utf-8")
    problems = Problems()
    settings = read_settings(folder, problems)
    return settings, [f"line {p.line}, [{p.key}] {p.what} {p.remedy}" for p in problems.items]


def test_a_sound_program_is_read_in_si_units(tmp_path):
    settings, told = read(
        tmp_path,
        'ages = "5-12"\nchildren_within_reach = { "2-5" = 300, "5-12" = 600 }\nshare = "5 %"\n'
        'space_per_child = "100 sq ft"\nage_strip = "12 ft"\nsurfacing = "wood chips"\n' + ALIKE,
    )
    assert not told
    program = settings.program
    assert program.ages == ["5-12"]
    assert program.children_within_reach == {"2-5": 300, "5-12": 600}
    assert program.space_per_child_m2 == pytest.approx(9.290304)
    assert program.age_strip_m == pytest.approx(3.6576)
    assert program.equipment[0].length_m == pytest.approx(3.6576)


@pytest.mark.parametrize(
    ("program", "expected"),
    [
        ("", "[program] a program needs a pad, equipment, or children: write children_at_once"),
        ("children_at_once = 0", "[program.children_at_once] Input should be greater than or"),
        ('children_at_once = "45"', "should be a valid integer; given '45'"),
        ("children_within_reach = 0", "0 is not a number of children: write a whole number from"),
        ("children_within_reach = 2.5", "2.5 is not a number of children"),
        ("children_within_reach = {}", "{} is not a number of children"),
        ('children_within_reach = { "3-5" = 9 }', '"3-5" is not an age group (known here: 6-23'),
        (
            "children_at_once = 45\nchildren_within_reach = 900",
            '"children_at_once" and "children_within_reach" both say how many play: keep one.',
        ),
        (
            'children_within_reach = 900\nshare_source = "Our count"',
            '"share_source" says where a share comes from: write share = "5 %" too.',
        ),
        ('children_within_reach = 900\nshare = "0 %"', "[program.share] Input should be greater"),
        ("children_within_reach = 900\nshare = 0.05", "a bare number, 0.05: nobody can tell"),
        ("children_at_once = 45\ndrive_in_factor = 0.5", "greater than or equal to 1; given 0.5"),
        ("children_at_once = 45\npacking = nan", "[program.packing] Input should be"),
        ("children_at_once = 45\npacking = 1.2e9", "less than or equal to 3"),
        ('children_at_once = 45\nring = "8"', '[program.ring] "8" has no unit; write a length'),
        ('children_at_once = 45\nring = "-8 ft"', '"-8 ft" is out of reason here: a length is'),
        ('children_at_once = 45\nring = "1e999 ft"', '"1e999 ft" is out of reason here'),
        ('children_at_once = 45\nspace_per_child = "75 ft"', '"75 ft" is not an area with its'),
        ('children_at_once = 45\nspace_per_child = "0 m2"', "greater than 0; given '0 m2'"),
        ('children_at_once = 45\nages = ["toddlers"]', '"toddlers" is not an age group (known'),
        ('children_at_once = 45\nsurfacing = "wood chip"', '(did you mean "wood chips"?)'),
        ('children_at_once = 45\nrules = "uk"', '"uk" is not known; expected "us" or "europe".'),
        ("children_at_once = 45\nchild = 3", 'there is no key "child" here.'),
        (
            'children_at_once = 45\nlevel_difference = "2 ft"\nground_slope = "25 %"',
            "ground of 25% can't be brought back at 4:1: say how wide the graded ground is",
        ),
        (ALIKE.replace("climber", "swing"), '"swing" is not a kind of equipment (did you mean'),
        (ALIKE.replace("climber", "zip line"), '"zip line" is not a kind of equipment ('),
        (ALIKE.replace('"5-12"', '"5 - 12"'), '"5 - 12" is not an age group (did you mean "5-12'),
        (ALIKE.replace("12 ft", "0 ft"), '"0 ft" is not greater than 0; write a length such as'),
        (ALIKE.replace("12 ft", "12 sq ft"), '"sq ft" is not a unit of length'),
        (ALIKE + 'exit = "up"', '"up" is not known; expected "left", "right", "front" or "back"'),
        (ALIKE + "count = 51", "less than or equal to 50; given 51"),
        (ALIKE + "hight = 3", 'there is no key "hight" here. Did you mean "height"?'),
    ],
)
def test_what_is_wrong_is_told_once_with_its_line(tmp_path, program, expected):
    _, told = read(tmp_path, program)
    assert len(told) == 1, told
    assert expected in told[0]
    assert not told[0].startswith("line None")


@pytest.mark.parametrize(
    "text", ["75 sq ft", "75 sq. ft", "75 sqft", "75 ft2", "75 ft^2", "75 ft²", "75 square feet"]
)
def test_one_area_in_many_spellings(text):
    assert square_metres(text) == pytest.approx(6.968, abs=5e-4)


@pytest.mark.parametrize(
    ("text", "expected"),
    [("1,000 m2", 1000), ("12,345.5 m2", 12345.5), (".5 sq m", 0.5), (" 7 m² ", 7)],
)
def test_numbers_of_areas(text, expected):
    assert square_metres(text) == expected


@pytest.mark.parametrize(
    # a comma that parts no thousands may be a decimal one: ten times wrong is worse than asking
    "text",
    ["7,5 m2", "1,00 m2", "1,5000 m2", "-5 m2", "7", "m2", "7 m", "7 acres", "7 m3", 7, True, None],
)
def test_what_is_no_area_is_refused(text):
    with pytest.raises(ValueError, match="an area with its unit"):
        square_metres(text)


def test_materials_and_kinds_of_the_settings_are_those_that_rules_know():
    assert set(MATERIALS) == set(SURFACINGS)
    for kind in KINDS:
        piece = {"kind": kind, "ages": "5-12"}
        assert ProgramTable.model_validate({"equipment": [piece]}).equipment[0].kind == kind
