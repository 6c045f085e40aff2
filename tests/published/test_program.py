"""The rules of a program against published values, row by row.

CPSC: U.S. Consumer Product Safety Commission, Public Playground Safety Handbook, Pub. 325 (2010
text, cover letter of 29 December 2015). ADA: 2010 ADA Standards for Accessible Design, and the U.S.
Access Board's guide to play areas. A check says where the row was not seen in the source itself.
"""

import math

import pytest

from playsite._program_settings import ProgramTable
from playsite.problems import Problems
from playsite.program.accessible import access, ground_components_due, ramp_area_m2, route_width_m
from playsite.program.area import areas, children_at_once, tie_in_m
from playsite.program.equipment import Piece, pieces_of
from playsite.program.profiles import PROFILES
from playsite.program.surfacing import SURFACINGS, depth, fill_m3
from playsite.program.use_zones import handbook_zone, overlap_m
from playsite.program.use_zones_europe import (
    check_fall_heights,
    european_zone,
    falling_space_m,
    free_height_of_fall_m,
)

FT, IN = 0.3048, 0.0254
SQ_FT, CU_YD = FT**2, 0.9144**3


def piece(kind, length_ft=10, width_ft=0, ages="5-12", **feet):
    """A piece; lengths in feet, by names without their unit."""
    metres = {f"{key}_m": value * FT for key, value in feet.items() if isinstance(value, float)}
    rest = {key: value for key, value in feet.items() if not isinstance(value, float)}
    return Piece(kind, kind, ages, length_ft * FT, width_ft * FT, **metres, **rest)


def sides_ft(zone):
    west, south, east, north = zone.square.bounds
    return pytest.approx((east - west) / FT), pytest.approx((north - south) / FT)


def reach_ft(zone):
    """How far a zone reaches from its piece: left, down, right, up."""
    signs = (-1, -1, 1, 1)
    ends = zip(zone.square.bounds, zone.body.bounds, signs, strict=True)
    return [round(sign * (end - own) / FT, 6) for end, own, sign in ends]


def faults(equipment, **program):
    """What is told of one piece."""
    problems = Problems()
    table = ProgramTable.model_validate({**program, "equipment": [equipment]})
    pieces_of(table, problems)
    return [str(problem) for problem in problems.items]


# --- Use zones -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "kind", ["composite", "climber", "overhead climber", "track ride", "other"]
)
def test_six_feet_in_all_directions(kind):
    # CPSC 5.3.10, as a public file quotes it; that it holds for these kinds is from memory
    assert reach_ft(handbook_zone(piece(kind, 12, 10, height=6.0))) == [6, 6, 6, 6]


def test_a_climber_of_10_by_12_ft():
    # worked from CPSC 5.3.10: square corners 22 x 24 ft; rounded 120 + 44 x 6 + 36 pi
    zone = handbook_zone(piece("climber", 12, 10, height=6.0))
    assert sides_ft(zone) == (24, 22)
    assert zone.square.area / SQ_FT == pytest.approx(528)
    assert zone.rounded.area / SQ_FT == pytest.approx(120 + 44 * 6 + 36 * math.pi, abs=0.1)
    assert zone.rounded.area / SQ_FT == pytest.approx(497.1, abs=0.1)


def test_a_belt_swing_needs_twice_its_pivot_before_and_behind():
    # CPSC 5.3.8.3.3; worked: pivot 8 ft, frame 12 ft: 32 x 24 ft, 768 sq ft
    zone = handbook_zone(piece("belt swing", 12, pivot_height=8.0))
    assert sides_ft(zone) == (24, 32)
    assert zone.square.area / SQ_FT == pytest.approx(768)
    assert zone.fall_height_m == pytest.approx(8 * FT)  # CPSC 5.3.8, from memory


def test_a_bucket_swing_needs_twice_the_seat_to_the_pivot():
    # CPSC 5.3.8.3.3: from the top of the sitting surface; worked: pivot 8 ft, seat 2 ft
    zone = handbook_zone(piece("bucket swing", 10, pivot_height=8.0, seat_height=2.0))
    assert sides_ft(zone) == (22, 24)


def test_swings_overlap_only_at_their_sides_and_only_swings():
    # CPSC 5.3.8.3.3: never before and behind; the 6 ft at the sides a neighbor's may overlap
    swing = handbook_zone(piece("belt swing", 12, pivot_height=8.0))
    west, south, east, north = swing.exclusive.bounds
    assert [round(end / FT, 6) for end in (west, south, east, north)] == [-6, -16, 6, 16]
    assert swing.open_sides == (True, False, True, False)
    assert overlap_m(swing, swing) == pytest.approx(6 * FT)
    assert overlap_m(swing, handbook_zone(piece("rocker", 2, 1, height=2.0))) == 0


@pytest.mark.parametrize(
    ("pivot_in", "is_right"), [(47, False), (47.1, True), (60, True), (96, True), (96.1, False)]
)
def test_the_pivot_of_a_full_bucket_swing(pivot_in, is_right):
    # CPSC 5.3.8.3.2: over 47 in, at most 96 in
    swing = {"kind": "bucket swing", "ages": "2-5", "length": "10 ft", "seat_height": "24 in"}
    told = faults({**swing, "pivot_height": f"{pivot_in} in"})
    assert told == [] if is_right else f"stands {pivot_in} in above" in told[0]


def test_a_tire_swing_needs_a_disc_that_nothing_overlaps():
    # CPSC 5.3.8.4, from memory: 6 ft and the length from pivot to seat, from below the pivot
    zone = handbook_zone(piece("multi-axis swing", 8, pivot_height=8.0, seat_height=1.5))
    assert sides_ft(zone) == (25, 25)
    assert zone.rounded.area == pytest.approx(math.pi * (12.5 * FT) ** 2, rel=1e-3)
    assert zone.exclusive.equals(zone.rounded)
    assert overlap_m(zone, zone) == 0


@pytest.mark.parametrize(
    ("height_ft", "exit_ft"), [(3.0, 6), (6.0, 6), (7.0, 7), (8.0, 8), (10.0, 8)]
)
def test_a_slides_exit(height_ft, exit_ft):
    # CPSC 5.3.6.5: 6 ft; a slide over 6 ft: its height, at most 8 ft; 6 ft at access and sides
    right = piece("slide", 12, 3, height=height_ft, exit_height=height_ft, exit="right")
    zone = handbook_zone(right)
    assert reach_ft(zone) == [6, 6, exit_ft, 6]
    west, _, east, _ = zone.exclusive.bounds
    assert (east - west) / FT == pytest.approx(exit_ft)  # no other zone overlaps it
    assert zone.fall_height_m == pytest.approx(height_ft * FT)  # CPSC 5.3.6.6


@pytest.mark.parametrize(
    ("exit_at", "reach"),
    [("left", [8, 6, 6, 6]), ("front", [6, 8, 6, 6]), ("back", [6, 6, 6, 8])],
)
def test_an_exit_at_any_side_of_a_composite(exit_at, reach):
    # CPSC 5.3.6.5, for a slide of 9 ft
    both = piece("composite", 20, 16, height=10.0, exit_height=9.0, exit=exit_at, exit_width=3.0)
    zone = handbook_zone(both)
    assert reach_ft(zone) == reach
    assert zone.exclusive.area / SQ_FT == pytest.approx(8 * 3)
    assert zone.open_sides == tuple(far == 6 for far in reach)


def test_a_toddlers_slide():
    # CPSC 5.3.6.5: limited access 3 ft, open access 6 ft
    slide = piece("slide", 6, 2, "6-23 months", height=2.5, exit_height=2.5, exit="right")
    assert reach_ft(handbook_zone(slide, limited_access=True)) == [3, 3, 3, 3]
    assert reach_ft(handbook_zone(slide)) == [6, 6, 6, 6]


def test_a_seesaw_and_a_rocker():
    # CPSC 5.3.5.3: a seesaw, 6 ft from each outside edge; 5.3.7, a rocker, from memory
    for kind in ("seesaw", "rocker"):
        zone = handbook_zone(piece(kind, 10, 1, height=4.0))
        assert reach_ft(zone) == [6, 6, 6, 6]
        assert zone.fall_height_m == pytest.approx(4 * FT)  # CPSC 5.3.5.5: highest point reached


def test_turning_equipment():
    # CPSC 5.3.4, from memory: 6 ft beyond the perimeter, never overlapped
    zone = handbook_zone(piece("merry-go-round", 8, 8, height=1.0))
    assert sides_ft(zone) == (20, 20)
    assert zone.rounded.area == pytest.approx(math.pi * (10 * FT) ** 2, rel=1e-3)
    assert overlap_m(zone, zone) == 0


@pytest.mark.parametrize(
    ("ages", "platform_in", "is_right"),
    [("2-5", 14, True), ("2-5", 14.5, False), ("5-12", 18, True), ("5-12", 18.5, False)],
)
def test_the_platform_of_a_merry_go_round(ages, platform_in, is_right):
    # CPSC 5.3.4: ages 2-5 at most 14 in, 5-12 at most 18 in
    turning = {"kind": "merry-go-round", "ages": ages, "length": "8 ft"}
    told = faults({**turning, "height": f"{platform_in} in"})
    assert told == [] if is_right else f"stands {platform_in} in above" in told[0]


@pytest.mark.parametrize(
    ("one_in", "other_in", "apart_ft"), [(30, 30, 6), (20, 30, 6), (30, 31, 9), (48, 60, 9)]
)
def test_how_near_two_stationary_pieces_may_stand(one_in, other_in, apart_ft):
    # CPSC 5.3.5.3: 6 ft apart where neither surface is over 30 in, else 9 ft (seen of seesaws,
    # of other pieces from memory)
    one, other = (
        handbook_zone(piece("climber", 10, 8, height=8.0, surface_height=inches * IN / FT))
        for inches in (one_in, other_in)
    )
    assert 12 * FT - overlap_m(one, other) == pytest.approx(apart_ft * FT)


# --- Europe ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("fall_m", "space_m"), [(0.6, 1.5), (1, 1.5), (1.5, 1.5), (2, 1.85), (2.5, 2.2), (3, 2.5)]
)
def test_falling_space(fall_m, space_m):
    # EN 1176-1, as the table of the German accident insurers gives it (sichere-kita.de), rounded
    # up to 5 cm
    exact_m = falling_space_m(fall_m)
    assert space_m - 0.05 < exact_m <= space_m + 1e-9
    zone = european_zone(Piece("c", "climber", "5-12", 2, 1, fall_m, fall_m))
    assert zone.body.bounds[0] - zone.square.bounds[0] == pytest.approx(exact_m)


def test_no_fall_is_higher_than_3_m():
    # EN 1176-1, as the same table gives it
    with pytest.raises(ValueError, match="no free height of fall above 3 m; given 3.1 m"):
        falling_space_m(3.1)
    problems = Problems()
    climbers = [Piece(f"{h} m", "climber", "5-12", 2, 1, h, h) for h in (3.0, 3.1)]
    check_fall_heights(tuple(climbers), problems)
    (told,) = problems.items
    assert told.what.startswith("3.1 m: a free height of fall of 3.10 m")


def test_a_european_swing():
    # EN 1176-2, as a maker's public page quotes it: 0.867 x the length that hangs, and 2.25 m;
    # 1.75 m of unitary surfacing from memory; swings' spaces never overlap
    swing = Piece("s", "belt swing", "5-12", 3.0, 0, pivot_height_m=2.4, seat_height_m=0.4)
    for unitary, beyond_m in ((False, 2.25), (True, 1.75)):
        zone = european_zone(swing, unitary=unitary)
        assert zone.square.bounds[3] == pytest.approx(0.867 * 2 + beyond_m)
        assert overlap_m(zone, zone) == 0
    # the seat raised by 60 degrees, as a fee-bound standard's public extract says
    raised_m = 2.4 - 2 * math.cos(math.radians(60))
    assert free_height_of_fall_m(swing) == pytest.approx(raised_m)


def test_forced_movement_in_europe():
    # EN 1176-4 and -5, as the same page quotes them: never overlapped; the 2 m from memory
    for kind in ("spinner", "merry-go-round", "track ride"):
        zone = european_zone(Piece(kind, kind, "5-12", 2, 2, 1.0))
        assert zone.body.bounds[0] - zone.square.bounds[0] == pytest.approx(2)
        assert overlap_m(zone, zone) == 0


# --- Surfacing -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("material", "settled_in", "filled_in", "feet"),
    [
        ("loose rubber", 6, 6, 10),
        ("sand", 9, 12, 4),
        ("pea gravel", 9, 12, 5),
        ("wood mulch", 9, 12, 7),
        ("wood chips", 9, 12, 10),
    ],
)
def test_table_2(material, settled_in, filled_in, feet):
    # CPSC Table 2, as a public file quotes it; 2.4.2.2: loose fill loses 25 %, 9 in from 12
    enough = depth(material, feet * FT)
    assert enough.enough is True
    assert enough.settled_m / IN == pytest.approx(settled_in)
    assert enough.filled_m / IN == pytest.approx(filled_in)
    beyond = depth(material, (feet + 0.1) * FT)
    assert (beyond.enough, beyond.settled_m, beyond.filled_m) == (False, None, None)


@pytest.mark.parametrize("material", ["engineered wood fiber", "unitary"])
def test_what_table_2_does_not_list_is_given_no_depth(material):
    # CPSC 2.4.2.1, as a public file quotes it: only the maker's ASTM F1292 data say
    found = depth(material, 2 * FT)
    assert (found.settled_m, found.filled_m, found.enough) == (None, None, None)
    assert "ASTM F1292" in found.why


def test_fill_of_20_by_30_ft():
    # a public file gives 22.2 and 11.1 cubic yards
    area_m2 = 600 * SQ_FT
    assert fill_m3(area_m2, depth("wood chips", FT).filled_m) / CU_YD == pytest.approx(
        22.2, abs=0.05
    )
    assert fill_m3(area_m2, depth("loose rubber", FT).filled_m) / CU_YD == pytest.approx(
        11.1, abs=0.05
    )


def test_loose_mineral_fill_is_never_called_accessible():
    # common practice, no source: wheels sink in sand and gravel
    assert {SURFACINGS[name].accessible for name in ("sand", "pea gravel")} == {"no"}


# --- Accessible components and routes --------------------------------------------------------


@pytest.mark.parametrize(
    ("least", "most", "number", "types"),
    [
        (2, 4, 1, 1),
        (5, 7, 2, 2),
        (8, 10, 3, 3),
        (11, 13, 4, 3),
        (14, 16, 5, 3),
        (17, 19, 6, 3),
        (20, 22, 7, 4),
        (23, 25, 8, 4),
    ],
)
def test_ground_level_components(least, most, number, types):
    # ADA table 240.2.1.2, in the guide
    for elevated in range(least, most + 1):
        assert ground_components_due(elevated) == (number, types)


def test_ground_level_components_beyond_25():
    # ADA table 240.2.1.2, in the guide: 8 plus 1 for each additional 3 over 25, or fraction; worked
    assert ground_components_due(1) == (0, 0)
    assert [ground_components_due(n)[0] for n in (26, 28, 29, 31, 32)] == [9, 9, 10, 10, 11]
    assert {ground_components_due(n)[1] for n in (26, 60)} == {5}


def composite(elevated, ramped=0):
    counts = {"elevated_components": elevated, "ramped_components": ramped}
    return piece("composite", 20, 20, height=6.0, ground_components=0, **counts)


def test_the_guides_worked_example():
    # Access Board's guide, step by step: 4 elevated, one rocker, two swings: the table asks for
    # 1, two types are there, so 2 govern; 2 of the elevated on a route
    swings = piece("belt swing", 20, pivot_height=8.0, ground_components=2)
    found = access([composite(4), piece("rocker", 2, 1, height=2.0), swings])
    assert ground_components_due(4) == (1, 1)
    assert (found.ground_types, found.ground_due, found.elevated_due) == (2, 2, 2)
    assert found.short == ()


@pytest.mark.parametrize(
    ("elevated", "on_route", "ramps", "ground", "types"), [(10, 5, 0, 3, 3), (20, 10, 5, 7, 4)]
)
def test_the_advisorys_phases(elevated, on_route, ramps, ground, types):
    # ADA advisory 240.1.1, as a copy of the standards gives it; 1008.2.1: ramps from 20 on
    found = access([composite(elevated)])
    assert (found.elevated_due, found.ramps_due) == (on_route, ramps)
    assert (found.ground_due, found.types_due) == (ground, types)


def test_ramps_to_half_of_the_elevated_ones_waive_the_table():
    # ADA 240.2.1.2, exception: at least half, three types among them
    assert access([composite(10, ramped=5)]).waived
    assert not access([composite(10, ramped=4)]).waived
    assert not access([composite(4, ramped=2)]).waived  # never three types


def test_the_width_of_routes():
    # ADA 1008.2.4.1: 60 in; exception 1: 44 in, under 1,000 sq ft
    assert route_width_m(1000 * SQ_FT)[0] / IN == pytest.approx(60)
    assert route_width_m(999 * SQ_FT)[0] / IN == pytest.approx(44)


def test_the_room_of_a_ramp():
    # common practice, no source: a deck of 36 in takes 250 to 350 sq ft
    assert 250 <= ramp_area_m2(36 * IN) / SQ_FT <= 350


# --- Children and areas ----------------------------------------------------------------------


def plain_areas(profile="public", **program):
    problems = Problems()
    table = ProgramTable.model_validate(program)
    zones = [handbook_zone(each) for each in pieces_of(table, problems)]
    assert not problems.items
    return areas(table, zones, PROFILES[profile])


@pytest.mark.parametrize("profile", ["child care", "public"])
def test_space_for_each_child(profile):
    # WAC 170-295-2130; COMAR 13A.16.05.12 B: 75 sq ft; public grounds take it as a floor (common
    # practice, no source)
    assert plain_areas(profile, children_at_once=1).by_heads_m2 / SQ_FT == pytest.approx(75)


@pytest.mark.parametrize(("space_sq_ft", "children"), [(75, 66), (60, 83), (80, 62)])
def test_how_many_children_5000_square_feet_hold(space_sq_ft, children):
    # 75: WAC 170-295-2130; 60: D.C. 5-A163, Ohio 5101:2-13-11; 80: Texas 746.4301 (2003)
    given = {"space_per_child": f"{space_sq_ft} sq ft"}
    for number, fits in ((children, True), (children + 1, False)):
        area_m2 = plain_areas(children_at_once=number, **given).by_heads_m2
        assert (area_m2 <= 5000 * SQ_FT) is fits


TOWN = [
    # kind, ages, length and width in feet, more, zone in square feet
    ("composite", "5-12", 26, 20, {"height": "6 ft"}, 1216),
    ("belt swing", "5-12", 20, None, {"pivot_height": "8 ft", "bays": 2}, 1024),
    ("spinner", "5-12", 3, None, {}, 225),
    ("climber", "5-12", 12, 6, {"height": "6 ft"}, 432),
    ("composite", "2-5", 14, 10, {"height": "4 ft"}, 572),
    ("rocker", "2-5", 10, 1, {"height": "2 ft"}, 286),
    ("bucket swing", "2-5", 10, None, {"pivot_height": "8 ft", "seat_height": "2 ft"}, 528),
]


def equipment(kind, ages, length_ft, width_ft, more):
    sides = {"length": f"{length_ft} ft"} | ({"width": f"{width_ft} ft"} if width_ft else {})
    return {"kind": kind, "ages": ages, **sides, **more}


def test_a_worked_program_for_two_ages():
    # worked example of the trade, no source: zones 4,283 sq ft; times 1.20, 5,140; by heads 3,375
    program = ProgramTable.model_validate(
        {
            "children_within_reach": 900,
            "share": "5 %",
            "equipment": [equipment(*row) for *row, _ in TOWN],
        }
    )
    zones = [handbook_zone(each) for each in pieces_of(program, Problems())]
    for zone, (*_, sq_ft) in zip(zones, TOWN, strict=True):
        assert zone.square.area / SQ_FT == pytest.approx(sq_ft), zone.piece.label
    found = areas(program, zones, PROFILES["public"])
    assert found.children == 45
    assert found.use_zones_m2 / SQ_FT == pytest.approx(4283, rel=0.01)
    assert found.surfacing_m2 / SQ_FT == pytest.approx(5140, rel=0.01)
    assert found.by_heads_m2 / SQ_FT == pytest.approx(3375, rel=0.01)


def test_children_who_are_driven_in():
    # common practice, no source: within reach x share x factor
    given = {"children_within_reach": {"2-5": 300, "5-12": 600}, "drive_in_factor": 1.5}
    number, rule = children_at_once(ProgramTable.model_validate(given))
    assert number == 68  # 67.5
    assert rule.source == "common practice, no source"


def test_ground_brought_back_to_its_level():
    # common practice, no source: height difference over (0.25 less the ground's slope), 4 : 1
    given = {"children_at_once": 9, "level_difference": "2 ft"}
    assert tie_in_m(ProgramTable.model_validate(given)) == pytest.approx(8 * FT)
    given["ground_slope"] = "5 %"
    assert tie_in_m(ProgramTable.model_validate(given)) == pytest.approx(10 * FT)
