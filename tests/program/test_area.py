"""Areas by heads and by zones: what is said, what is not, and where each figure is from."""

import pytest

from playsite._program_settings import ProgramTable
from playsite.problems import Problems
from playsite.program.area import areas, children_at_once, tie_in_m
from playsite.program.equipment import pieces_of
from playsite.program.profiles import PROFILES
from playsite.program.use_zones import handbook_zone

SQ_FT = 0.3048**2
CLIMBER = {
    "kind": "climber",
    "ages": "5-12",
    "length": "12 ft",
    "width": "10 ft",
    "height": "6 ft",
}


def plain(**given):
    table = ProgramTable.model_validate(given)
    zones = [handbook_zone(piece) for piece in pieces_of(table, Problems())]
    return areas(table, zones, PROFILES["public"])


def figure(found, name):
    (only,) = [each for each in found.figures if each.name == name]
    return only


def test_what_is_not_said_stays_unknown_and_never_0():
    only_pieces = plain(equipment=[CLIMBER])
    assert (only_pieces.children, only_pieces.by_heads_m2) == (None, None)
    only_heads = plain(children_at_once=45)
    assert (only_heads.use_zones_m2, only_heads.surfacing_m2) == (None, None)
    assert tie_in_m(ProgramTable.model_validate({"children_at_once": 45})) is None


def test_packing_and_the_inclusive_allowance_multiply_the_zones():
    assert plain(equipment=[CLIMBER], packing=1.35).surfacing_m2 == pytest.approx(
        528 * 1.35 * SQ_FT
    )
    inclusive = plain(equipment=[CLIMBER], inclusive=True, inclusive_allowance="40 %")
    assert inclusive.surfacing_m2 == pytest.approx(528 * 1.2 * 1.4 * SQ_FT)
    assert figure(inclusive, "surfacing_m2").plain == "surfacing by areas, zones times 1.68"


def test_children_within_reach_are_counted_up_to_whole_ones():
    for reach, expected in ((900, 45), (901, 46), (1, 1)):
        table = ProgramTable.model_validate({"children_within_reach": reach})
        assert children_at_once(table)[0] == expected


def test_a_share_that_is_given_keeps_its_source():
    given = {"children_within_reach": 1200, "share": "8 %", "share_source": "Our count, May 2024"}
    number, rule = children_at_once(ProgramTable.model_validate(given))
    assert number == 96
    assert rule.text == "8% of 1,200 children within reach."
    assert rule.source == "Our count, May 2024 (seen in another's copy)"


def test_space_a_child_is_the_settings_or_the_programs_own():
    assert figure(plain(children_at_once=10), "space_per_child_m2").rule.source.startswith(
        "child-care rules"
    )
    own = plain(children_at_once=10, space_per_child="100 sq ft")
    assert own.by_heads_m2 == pytest.approx(1000 * SQ_FT)
    assert figure(own, "space_per_child_m2").rule.source == "common practice, no source"


def test_one_bench_for_ten_children():
    assert figure(plain(children_at_once=41), "benches").value == 5
    assert "benches" not in {each.name for each in plain(equipment=[CLIMBER]).figures}


def test_a_tie_in_that_is_given_holds():
    given = {"children_at_once": 9, "tie_in": "3 m", "level_difference": "1 m"}
    assert tie_in_m(ProgramTable.model_validate(given)) == 3
