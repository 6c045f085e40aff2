"""A program in words and as JSON: its figures, its rules, and what it does not know."""

import dataclasses
import json
import math

import pytest
from made_up_program import ONE_CLIMBER, SEVEN_PIECES, ZONES_FT, pad_of

from playsite.report.program_report import program_json, program_lines
from playsite.report.program_table import comparison_lines

SQUARE_FOOT_M2 = 0.3048**2
HOSTILE = "<b>bold</b>\\nsecond line\\u001b[31m \\u202e"


@pytest.fixture(scope="module")
def pad():
    return pad_of(SEVEN_PIECES)


@pytest.fixture(scope="module")
def said(pad):
    return program_json(pad)


def said_in(pad, units="feet"):
    return "\n".join(program_lines(pad, units))


def test_figures_are_those_worked_by_hand(said):
    # By hand from the handbook's rules: 4,283 sq ft of zones, times 1.20; 45 children, 75 sq ft.
    zones_m2 = sum(a * b for a, b in ZONES_FT.values()) * SQUARE_FOOT_M2
    assert zones_m2 == pytest.approx(397.9, rel=0.01)
    assert said["use_zones_m2"] == pytest.approx(zones_m2, rel=1e-9)
    assert said["surfacing_m2"] == pytest.approx(477.5, rel=0.01)
    assert said["by_heads_m2"] == pytest.approx(313.5, rel=0.01)
    assert said["children_at_once"] == 45
    assert said["use_zones_union_m2"] < said["use_zones_m2"]


def test_each_piece_has_its_zone_as_by_hand(said):
    for piece in said["pieces"]:
        sides = sorted([piece["use_zone_length_m"], piece["use_zone_width_m"]])
        assert sides == pytest.approx([0.3048 * ft for ft in sorted(ZONES_FT[piece["label"]])])
        assert 0 < piece["use_zone_rounded_m2"] <= piece["use_zone_m2"] + 1e-9
        assert piece["rules"]


def test_a_spinners_rounded_zone_is_a_disc(said):
    # A disc of 7.5 ft; the polygon that stands for it is a little smaller.
    spinner = next(piece for piece in said["pieces"] if piece["label"] == "spinner")
    disc_m2 = math.pi * 7.5**2 * SQUARE_FOOT_M2
    assert spinner["use_zone_rounded_m2"] == pytest.approx(disc_m2, rel=2e-3)


def test_every_figure_stands_at_the_top_by_its_name_with_a_source(said):
    for figure in said["figures"]:
        assert said[figure["name"]] == figure["value"]
        assert figure["rule"]
        assert figure["source"]


def test_json_is_strict_and_unknown_is_null(pad, said):
    json.loads(json.dumps(said, allow_nan=False))
    assert said["tie_in_m"] is None
    figures = [dataclasses.replace(f, value=math.nan) for f in pad.worked.figures]
    worked = dataclasses.replace(pad.worked, figures=tuple(figures))
    blank = program_json(dataclasses.replace(pad, worked=worked))
    assert blank["use_zones_m2"] is None
    assert all(figure["value"] is None for figure in blank["figures"])


def test_pieces_of_the_layout_lie_within_the_surfacing(said):
    layout = said["layout"]
    assert [piece["label"] for piece in layout["pieces"]] == list(ZONES_FT)
    for piece in layout["pieces"]:
        assert 0 < piece["x_m"] < layout["surfacing_length_m"]
        assert 0 < piece["y_m"] < layout["surfacing_width_m"]
    assert set(layout["route"]["reached"]) | set(layout["route"]["unreached"]) == set(ZONES_FT)


def test_depths_come_with_their_volume(said):
    chips = next(each for each in said["surfacing"] if each["material"] == "wood chips")
    # Handbook, Table 2: 9 in of wood chips protect to 10 ft; 25% more are filled in: 12 in.
    assert chips["settled_m"] == pytest.approx(9 * 0.0254)
    assert chips["filled_m"] == pytest.approx(12 * 0.0254)
    assert chips["fill_m3"] == pytest.approx(0.3048 * said["layout_surfacing_m2"])
    fiber = next(e for e in said["surfacing"] if e["material"] == "engineered wood fiber")
    assert fiber["settled_m"] is fiber["fill_m3"] is fiber["enough"] is None


def test_lines_say_pieces_in_the_units_of_the_study(pad):
    feet, metres = said_in(pad), said_in(pad, "metres")
    for label, (a, b) in ZONES_FT.items():
        assert any(label in line and f"zone {a} by {b} ft" in line for line in feet.splitlines())
    assert "zone 11.6 by 9.8 m" in metres
    assert " ft;" not in metres
    assert "5% of 900 children within reach. [common practice, no source]" in feet


def test_lines_hold_the_cautions(pad):
    feet = said_in(pad)
    assert "A concept, not a design" in feet
    assert "Check the edition in force" in feet
    assert "certified playground safety inspector" in feet
    assert "from memory" in feet
    assert "the maker" in feet


def test_without_a_layout_nothing_is_called_a_concept():
    pad = pad_of("children_at_once = 30\n")
    feet = said_in(pad)
    assert "no layout shows that the equipment can stand here" in feet
    assert "A concept" not in feet
    said = program_json(pad)
    assert said["layout"] is None
    assert said["use_zones_m2"] is None
    assert not any(shape["has_layout"] for shape in said["shapes"])


def test_a_height_that_is_not_known_is_said_and_no_depth_is_made_up():
    pad = pad_of(
        '[[program.equipment]]\nkind = "musical"\nname = "drum"\nages = "5-12"\n'
        'length = "3 ft"\nwidth = "3 ft"\n'
    )
    said = program_json(pad)
    assert said["pieces"][0]["fall_height_m"] is None
    assert all(each["settled_m"] is None for each in said["surfacing"])
    assert said["unknown_falls"] == ["drum"]
    assert any("drum" in caution and "isn't known" in caution for caution in said["cautions"])
    assert "fall height not known" in said_in(pad)


def test_what_is_too_much_for_a_given_pad_is_named():
    pad = pad_of('pad = { length = "40 ft", width = "30 ft" }\nring = "2 ft"\n' + ONE_CLIMBER)
    assert program_json(pad)["too_much"] == []
    small = pad_of('pad = { length = "20 ft", width = "20 ft" }\nring = "2 ft"\n' + ONE_CLIMBER)
    assert program_json(small)["too_much"] == ["climber"]
    assert "no room for: climber" in said_in(small)


def test_a_hostile_name_stays_in_its_line():
    pad = pad_of(ONE_CLIMBER + f'name = "{HOSTILE}"\n')
    lines = list(program_lines(pad, "feet"))
    assert any("<b>bold</b> second line[31m (climber, ages 5-12)" in line for line in lines)
    assert not any(character in line for line in lines for character in "\n\x1b\u202e")


def test_programs_side_by_side_show_the_area_a_child(pad):
    climber = pad_of(ONE_CLIMBER)
    text = "\n".join(comparison_lines({"seven": pad, "one": climber}, "feet"))
    row = next(line for line in text.splitlines() if line.startswith("pad for each child"))
    # The climber's zone is 24 by 18 ft, the ring 8 ft: 40 by 34 ft for four children.
    assert row.split()[-3:] == ["340", "sq", "ft"]
    rows = {line[:22].strip() for line in text.splitlines()}
    assert {"its area", "children at once", "accessible", "composite structures"} <= rows


def test_a_table_of_five_programs_is_broken_not_dropped():
    climber = pad_of(ONE_CLIMBER)
    text = "\n".join(comparison_lines({f"plan {n}": climber for n in range(5)}, "metres"))
    assert all(f"plan {n}" in text for n in range(5))
    assert max(map(len, text.splitlines())) < 110


def test_a_pad_without_its_program_is_refused(pad):
    with pytest.raises(ValueError, match="without its program"):
        program_json(dataclasses.replace(pad, worked=None))
