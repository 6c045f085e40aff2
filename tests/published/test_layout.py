"""Known answers of the worked program: least rectangles, what can't be packed, exact rules.

Figures of a worked example computed once with an independent integer program (right-angle
rotations, moving pieces at an edge, a strip of 12 ft between age areas); recomputed here.
"""

import tomllib

import numpy as np
import pytest
from made_up_study import TWO_AGES

from playsite._program_settings import ProgramTable
from playsite.problems import Problems
from playsite.program.equipment import pieces_of
from playsite.program.layout import blocks_of, layout_of, overlaps_of
from playsite.program.layout_check import faults_of
from playsite.program.packing import Block, pack
from playsite.program.smallest import least_rectangle, smallest_by_proportion, too_much
from playsite.program.use_zones import handbook_zone

FT = 0.3048
STRIP = 12 * FT
HALF_FOOT = {"step_m": FT / 2}


@pytest.fixture(scope="module")
def zones():
    problems = Problems()
    pieces = pieces_of(
        ProgramTable.model_validate(tomllib.loads(f"[program]{TWO_AGES}")["program"]), problems
    )
    assert not problems.items
    return [handbook_zone(piece) for piece in pieces]


def held(zones, length_ft, width_ft, strip=STRIP):
    blocks, overlaps = blocks_of(zones), overlaps_of(zones)
    sides = {"length_m": length_ft * FT, "width_m": width_ft * FT}
    return pack(blocks, overlaps, **sides, strip_m=strip)


def test_the_plain_area_promises_too_little_room(zones):
    """5,140 sq ft by areas, as 87.8 by 58.5 ft: proven not to hold the program."""
    assert held(zones, 87.8, 58.5).outcome == "impossible"


@pytest.mark.parametrize(("length_ft", "width_ft"), [(96, 64), (102, 54)])
def test_what_holds_it_is_drawn_and_keeps_every_rule(zones, length_ft, width_ft):
    decision = held(zones, length_ft, width_ft)
    sides = {"length_m": length_ft * FT, "width_m": width_ft * FT}
    layout = layout_of(zones, decision.packing, **sides, ring_m=8 * FT)
    assert faults_of(layout, strip_m=STRIP) == []


def test_least_of_one_and_a_half_to_one(zones):
    found = smallest_by_proportion(
        blocks_of(zones), overlaps_of(zones), 1.5, strip_m=STRIP, **HALF_FOOT
    )
    assert (found.length_m / FT, found.width_m / FT) == pytest.approx((96, 64))
    assert found.proven_least


def test_least_of_any_proportion_is_no_more_than_102_by_54(zones):
    found = least_rectangle(blocks_of(zones), overlaps_of(zones), strip_m=STRIP, **HALF_FOOT)
    assert found.area_m2 / FT**2 <= 102 * 54 + 1e-6
    assert found.area_m2 / FT**2 > 4_800, "less than without the strip is impossible"


def test_without_the_strip_75_by_64_is_enough(zones):
    assert held(zones, 75, 64, strip=0.0).outcome == "packed"


@pytest.mark.parametrize(("ages", "length_ft", "width_ft"), [("5-12", 70.5, 47), ("2-5", 48, 32)])
def test_each_age_area_alone(zones, ages, length_ft, width_ft):
    own = [zone for zone in zones if zone.piece.ages == ages]
    assert held(own, length_ft, width_ft).outcome == "packed"
    assert held(own, length_ft - 1, width_ft - 1).outcome == "impossible"


def test_two_high_climbers_need_41_by_24_ft():
    """Zones of 22 by 24 ft, 9 ft between the pieces: they overlap by 3 ft."""
    climber = Block(22.0, 24.0, open_faces=(True,) * 4)
    three = np.full((2, 2), 3.0)
    assert pack([climber, climber], three, length_m=41, width_m=24).outcome == "packed"
    assert pack([climber, climber], three, length_m=40.99, width_m=24).outcome == "impossible"


def test_what_is_too_much_is_the_fewest_and_the_rest_can_be_packed(zones):
    sides = {"length_m": 88 * FT, "width_m": 58.5 * FT, "strip_m": STRIP}
    dropped = too_much(blocks_of(zones), overlaps_of(zones), **sides)
    assert len(dropped) == 1
    rest = [zone for i, zone in enumerate(zones) if i not in dropped]
    assert held(rest, 88, 58.5).outcome == "packed"
