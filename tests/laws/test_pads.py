"""Laws of the pad search, on chance land with holes and parts."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, Polygon, box
from shapely.affinity import rotate, translate

from playsite.pads.choice import spread
from playsite.pads.legality import is_legal
from playsite.pads.outline import polygonal
from playsite.pads.search import find_place, largest_scale, legal_places
from playsite.pads.shape import pad_polygon

PAD = {"length_m": 24.0, "width_m": 15.0}

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
