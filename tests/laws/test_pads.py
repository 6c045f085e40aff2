"""Laws of the pad search, on chance land with holes and parts."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, Polygon, box
from shapely.affinity import rotate, translate

from playsite.pads.apart import two_areas
from playsite.pads.choice import spread
from playsite.pads.compound import (
    Part,
    compound_polygons,
    is_legal_fixed,
    legal_centres_of_fixed,
    legal_places_of_fixed,
)
from playsite.pads.legality import is_legal
from playsite.pads.outline import polygonal
from playsite.pads.rectangles import rectangles_of
from playsite.pads.relaxing import Rule, relaxations
from playsite.pads.search import find_place, largest_scale, legal_places
from playsite.pads.setback import setback_land
from playsite.pads.shape import pad_polygon, pad_polygons
from playsite.pads.sides import room_at_sides

PAD = {"length_m": 24.0, "width_m": 15.0}
ELL = (Part(9, 4, 18, 8), Part(3.5, 11, 7, 22))
OLDER, YOUNGER = (16.0, 10.0), (11.0, 7.0)
APART = {"least_apart_m": 3.0, "most_apart_m": 15.0}

ORIGIN = st.tuples(st.integers(0, 900_000), st.integers(0, 6_000_000))
OBSTACLE = st.tuples(
    st.floats(-40, 40),
    st.floats(-40, 40),
    st.floats(0.01, 12),
    st.floats(0.01, 6),
    st.floats(0, 90),
)


@st.composite
def lands(draw):
    """A star-shaped lot of 6 to 12 corners less up to 8 obstacles: holes, bays, loose parts."""
    reach = draw(st.lists(st.floats(8, 45), min_size=6, max_size=12))
    bearing = np.linspace(0, 2 * np.pi, len(reach), endpoint=False) + draw(st.floats(0, 1))
    lot = Polygon(np.column_stack([reach * np.cos(bearing), reach * np.sin(bearing)]))
    for obstacle in draw(st.lists(OBSTACLE, max_size=8)):
        lot = lot.difference(block(*obstacle))
    return polygonal(lot)


def block(x, y, length_m, width_m, turn_deg):
    return translate(rotate(box(0, 0, length_m, width_m), turn_deg), x, y)


@settings(deadline=None, max_examples=150)
@given(land=lands(), origin=ORIGIN)
def test_a_found_pad_never_crosses_a_line(land, origin):
    land = translate(land, *origin)
    place = find_place(land, **PAD)
    if place is not None:
        pad = pad_polygon(*place, **PAD)
        assert pad.difference(land).area < 1e-6 * pad.length
        assert all(Point(corner).distance(land) < 2e-6 for corner in pad.exterior.coords)


@settings(deadline=None, max_examples=40)
@given(land=lands(), origin=ORIGIN)
def test_every_legal_place_passes_the_exact_check_and_there_is_one_where_the_search_finds_one(
    land, origin
):
    land = translate(land, *origin)
    places = legal_places(land, **PAD, step_m=4)
    assert is_legal(land, places, **PAD).all()
    assert (len(places) > 0) >= (find_place(land, **PAD) is not None)


@settings(deadline=None, max_examples=40)
@given(land=lands(), origin=ORIGIN)
def test_moved_land_gives_the_moved_answer(land, origin):
    moved = translate(land, *origin)
    here, there = largest_scale(land, **PAD), largest_scale(moved, **PAD)
    assert there.scale == pytest.approx(here.scale, rel=2e-3)
    assert (find_place(land, **PAD) is None) == (find_place(moved, **PAD) is None) or (
        abs(here.scale - 1) < 0.03
    )


@settings(deadline=None, max_examples=40)
@given(land=lands(), turn_deg=st.floats(0, 360))
def test_turned_land_gives_the_turned_answer(land, turn_deg):
    here = largest_scale(land, **PAD)
    there = largest_scale(rotate(land, turn_deg, origin=(0, 0)), **PAD)
    # each is a lower bound of the same number, and each knows what the number can't exceed
    assert there.scale <= here.at_most * (1 + 1e-6)
    assert here.scale <= there.at_most * (1 + 1e-6)


def test_moved_land_gives_the_moved_places():
    land = rotate(box(0, 0, 70, 60), 20).difference(Point(30, 30).buffer(3))
    here = legal_places(land, **PAD)
    there = legal_places(translate(land, 512_345, 4_654_321), **PAD)
    assert there == pytest.approx(here + np.array([512_345, 4_654_321, 0]), abs=1e-6)
    assert np.array_equal(spread(here, 200), spread(there, 200))


@settings(deadline=None, max_examples=40)
@given(land=lands(), obstacle=OBSTACLE)
def test_one_more_obstacle_never_adds_a_place(land, obstacle):
    less = polygonal(land.difference(block(*obstacle)))
    after = find_place(less, **PAD)
    if after is not None:
        assert is_legal(land, [after], **PAD).all()
    assert largest_scale(less, **PAD).scale <= largest_scale(land, **PAD).at_most * (1 + 1e-6)
    places = legal_places(less, **PAD, step_m=5)
    assert is_legal(land, places, **PAD).all()


@settings(deadline=None, max_examples=60)
@given(land=lands(), grown=st.floats(0.3, 4))
def test_a_larger_pad_never_fits_where_a_smaller_does_not(land, grown):
    larger = {"length_m": PAD["length_m"] + 2 * grown, "width_m": PAD["width_m"] + 2 * grown}
    # what is grown by 0.25 m or more on each side proves the smaller one findable
    if find_place(land, **larger) is not None:
        assert find_place(land, **PAD) is not None
    if find_place(land, **PAD) is None:
        assert find_place(land, **larger) is None


@settings(deadline=None, max_examples=40)
@given(land=lands())
def test_a_place_is_found_just_where_the_largest_scale_is_1(land):
    scale = largest_scale(land, **PAD)
    found = find_place(land, **PAD) is not None
    if scale.at_most < 1:
        assert not found
    if scale.scale >= 1 + 0.25 / (PAD["length_m"] / 2):
        assert found
    if found:
        assert scale.at_most >= 1 - 1e-6


@settings(deadline=None, max_examples=30)
@given(land=lands(), times=st.floats(0.2, 5))
def test_a_pad_of_half_the_size_has_twice_the_scale(land, times):
    one = largest_scale(land, **PAD)
    other = largest_scale(land, length_m=PAD["length_m"] * times, width_m=PAD["width_m"] * times)
    assert other.scale * times <= one.at_most * (1 + 1e-6)
    assert one.scale <= other.at_most * times * (1 + 1e-6)


def test_the_order_of_parts_changes_no_scale():
    parts = [box(0, 0, 30, 20), box(50, 0, 83, 25), box(100, 0, 118, 60)]
    one = largest_scale(shapely.MultiPolygon(parts), **PAD)
    other = largest_scale(shapely.MultiPolygon(parts[::-1]), **PAD)
    assert one.scale == pytest.approx(other.scale, rel=1e-6)


# --- An L, two areas, room at the sides, rules relaxed ------------------------------------


@settings(deadline=None, max_examples=60)
@given(land=lands(), origin=ORIGIN, turn_deg=st.floats(0, 360), rotation_deg=st.floats(0, 360))
def test_turned_and_moved_land_gives_an_L_the_same_room(land, origin, turn_deg, rotation_deg):
    here = legal_centres_of_fixed(land, ELL, rotation_deg=rotation_deg)
    moved = translate(rotate(land, turn_deg, origin=(0, 0)), *origin)
    there = legal_centres_of_fixed(moved, ELL, rotation_deg=rotation_deg + turn_deg)
    assert there.area == pytest.approx(here.area, abs=1e-6)


@settings(deadline=None, max_examples=60)
@given(land=lands(), obstacle=OBSTACLE, rotation_deg=st.floats(0, 360))
def test_one_more_obstacle_never_adds_room_for_an_L(land, obstacle, rotation_deg):
    less = polygonal(land.difference(block(*obstacle)))
    after = legal_centres_of_fixed(less, ELL, rotation_deg=rotation_deg)
    before = legal_centres_of_fixed(land, ELL, rotation_deg=rotation_deg)
    assert after.difference(before).area < 1e-6


@settings(deadline=None, max_examples=25)
@given(land=lands(), obstacle=OBSTACLE, origin=ORIGIN)
def test_every_place_of_an_L_is_legal_with_one_obstacle_more_or_less(land, obstacle, origin):
    land = translate(land, *origin)
    less = polygonal(land.difference(translate(block(*obstacle), *origin)))
    places = legal_places_of_fixed(less, ELL, step_m=6, spare_m=1)
    assert is_legal_fixed(less, places, ELL).all()
    assert is_legal_fixed(land, places, ELL).all()
    pads = compound_polygons(places, ELL)
    assert (shapely.area(shapely.difference(pads, land)) < 1e-4).all()


@settings(deadline=None, max_examples=60)
@given(sides=st.tuples(*[st.floats(5, 40)] * 4), rotation_deg=st.floats(0, 360), origin=ORIGIN)
def test_an_outline_is_the_sum_of_its_rectangles(sides, rotation_deg, origin):
    long_m, wide_m, arm_m, other_m = sides
    parts = [Part(0, 0, long_m, arm_m), Part(3, 2, other_m, wide_m)]
    outline = compound_polygons([(*origin, rotation_deg)], parts)[0]
    rows = rectangles_of(outline)
    pads = [pad_polygon(*row[:3], length_m=row[3], width_m=row[4]) for row in rows]
    # sides that differ by less than 4 mm are taken for one
    assert shapely.union_all(pads).symmetric_difference(outline).area < 4e-3 * outline.length
    assert sum(pad.area for pad in pads) == pytest.approx(shapely.union_all(pads).area, abs=1e-5)


@settings(deadline=None, max_examples=25)
@given(land=lands(), obstacle=OBSTACLE, origin=ORIGIN)
def test_two_areas_lie_on_the_land_as_far_apart_as_asked(land, obstacle, origin):
    land = translate(land, *origin)
    less = polygonal(land.difference(translate(block(*obstacle), *origin)))
    pairs = two_areas(less, OLDER, YOUNGER, **APART)
    one = pad_polygons(pairs[:, :3], length_m=OLDER[0], width_m=OLDER[1])
    other = pad_polygons(pairs[:, 3:], length_m=YOUNGER[0], width_m=YOUNGER[1])
    distance_m = shapely.distance(one, other)
    assert ((distance_m >= 3 - 1e-9) & (distance_m <= 15 + 1e-9)).all()
    for places, (length_m, width_m) in ((pairs[:, :3], OLDER), (pairs[:, 3:], YOUNGER)):
        assert is_legal(less, places, length_m=length_m, width_m=width_m).all()
        assert is_legal(land, places, length_m=length_m, width_m=width_m).all()


@settings(deadline=None, max_examples=100)
@given(
    obstacles=st.lists(OBSTACLE, min_size=1, max_size=6), lot=lands(), turn_deg=st.floats(0, 360)
)
def test_room_turns_with_the_pad_and_one_more_limit_never_adds_any(obstacles, lot, turn_deg):
    pad = box(-6, -4, 6, 4)
    parcel = lot.union(pad)
    limits = [(str(k), block(*each).difference(pad)) for k, each in enumerate(obstacles)]
    rooms = {room.direction: room for room in room_at_sides(pad, limits, parcel=parcel)}
    fewer = {room.direction: room for room in room_at_sides(pad, limits[:-1], parcel=parcel)}
    assert all(rooms[wind].distance_m <= fewer[wind].distance_m for wind in "NESW")
    turned = room_at_sides(
        rotate(pad, turn_deg, origin=(0, 0)),
        [(name, rotate(shape, turn_deg, origin=(0, 0))) for name, shape in limits],
        parcel=rotate(parcel, turn_deg, origin=(0, 0)),
    )
    told = sorted(room.distance_m for room in turned)
    assert told[0] == pytest.approx(min(room.distance_m for room in rooms.values()), abs=2.1e-3)


@settings(deadline=None, max_examples=60)
@given(land=lands(), obstacles=st.lists(OBSTACLE, min_size=1, max_size=3), limit_m=st.floats(1, 9))
def test_a_relaxed_rule_lets_the_pad_fit_by_all_that_the_others_leave(land, obstacles, limit_m):
    def rule(name, shape):
        return Rule(name, limit_m, shape.buffer, "")

    around = [(str(k), block(*each)) for k, each in enumerate(obstacles)]
    rules = [rule(name, shape) for name, shape in around]
    rules.append(Rule("line", limit_m, lambda margin_m: setback_land(land, all_m=margin_m), ""))
    by_name = {each.name: each for each in rules}
    for found in relaxations(land, rules, **PAD):
        if found.kind == "parcel":
            assert find_place(land, **PAD) is None
            continue
        others = [each.removal(limit_m) for name, each in by_name.items() if name != found.rule]
        own = [by_name[found.rule].removal(found.fits_at_m)] if found.kind == "margin" else []
        left = polygonal(land.difference(shapely.union_all(others + own)))
        assert is_legal(left, [found.place], **PAD).all()
        assert found.given_back_m2 > 0
