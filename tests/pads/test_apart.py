"""Two age areas: each where it fits, and the two as far apart as they must be."""

import numpy as np
import pytest
import shapely
from shapely import MultiPolygon, Polygon, box
from shapely.affinity import rotate, translate

from playsite.pads import apart
from playsite.pads.apart import KEEP_PAIRS, two_areas
from playsite.pads.search import find_place, largest_scale
from playsite.pads.shape import pad_polygons

# The larger area 70.5 x 47 ft and the smaller 48 x 32 ft, with a strip of 12 ft between
OLDER, YOUNGER = (21.49, 14.33), (14.63, 9.75)
APART = {"least_apart_m": 3.66, "most_apart_m": 20.0}


def outlines(pairs, first, second):
    one = pad_polygons(pairs[:, :3], length_m=first[0], width_m=first[1])
    other = pad_polygons(pairs[:, 3:], length_m=second[0], width_m=second[1])
    return one, other


def assert_right(land, pairs, first=OLDER, second=YOUNGER, *, least_apart_m, most_apart_m):
    one, other = outlines(pairs, first, second)
    for pads in (one, other):
        assert shapely.area(shapely.difference(pads, land)).max() < 1e-6 * pads[0].length
    distance_m = shapely.distance(one, other)
    assert distance_m.min() >= least_apart_m
    assert distance_m.max() <= most_apart_m
    assert shapely.area(shapely.intersection(one, other)).max() == 0


def test_an_L_of_twice_the_pads_area_holds_no_pad_but_two_age_areas():
    # golden case of the trade; arms of 20 m, and a pad of 31.6 x 22.7 m
    side_m = (2 * 31.6 * 22.7 + 20 * 20) / 40
    lot = box(0, 0, side_m, 20) | box(0, 0, 20, side_m)
    lot = translate(rotate(lot, 23), 512_345, 4_654_321)
    assert lot.area == pytest.approx(2 * 31.6 * 22.7)
    assert find_place(lot, length_m=31.6, width_m=22.7) is None
    assert largest_scale(lot, length_m=31.6, width_m=22.7).at_most < 1
    pairs = two_areas(lot, OLDER, YOUNGER, **APART)
    assert 0 < len(pairs) <= KEEP_PAIRS
    assert_right(lot, pairs, **APART)


def test_pairs_are_few_the_closest_first_and_spread_over_the_ground():
    land = box(0, 0, 150, 120) - box(60, 40, 80, 70)
    pairs = two_areas(land, OLDER, YOUNGER, **APART)
    assert len(pairs) == KEEP_PAIRS
    assert_right(land, pairs, **APART)
    distance_m = shapely.distance(*outlines(pairs, OLDER, YOUNGER))
    assert (np.diff(distance_m) >= 0).all()
    assert distance_m[0] < 5
    middle = (pairs[:, :2] + pairs[:, 3:5]) / 2
    assert (np.ptp(middle, axis=0) > (80, 60)).all()


@pytest.mark.parametrize(
    ("gap_m", "fits"),
    [(1.5, False), (1.65, True), (2, True), (12, True), (19.95, True), (20.05, False)],
)
def test_on_two_lots_the_gap_between_them_decides(gap_m, fits):
    # each lot holds just one of the areas, lengthwise: 1.01 m and 1.07 m more than they need,
    # so they lie from the gap to the gap and 2.08 m apart
    lots = MultiPolygon([box(0, 0, 22.5, 15.4), box(22.5 + gap_m, 0, 38.2 + gap_m, 10.8)])
    pairs = two_areas(lots, OLDER, YOUNGER, **APART)
    assert (len(pairs) > 0) == fits
    if fits:
        assert_right(lots, pairs, **APART)


def test_a_strip_of_the_very_width_holds_both_end_to_end():
    # 21.49 + 3.66 + 14.63 = 39.78 m
    strip = rotate(box(0, 0, 44, 14.33), 31)
    pairs = two_areas(strip, OLDER, YOUNGER, **APART)
    assert len(pairs) > 0
    assert_right(strip, pairs, **APART)
    assert len(two_areas(box(0, 0, 39.7, 14.33), OLDER, YOUNGER, **APART)) == 0


def test_where_the_coarse_lattice_finds_none_the_finer_does(monkeypatch):
    # 0.12 m to spare along the lot: each area must lie at its end
    lot = translate(rotate(box(0, 0, 39.9, 14.6), 31), 512_345, 4_654_321)
    pairs = two_areas(lot, OLDER, YOUNGER, **APART)
    assert len(pairs) > 0
    assert_right(lot, pairs, **APART)
    monkeypatch.setattr(apart, "_TRIES", apart._TRIES[:1])
    assert len(two_areas(lot, OLDER, YOUNGER, **APART)) == 0


def test_areas_never_overlap_even_where_no_distance_is_asked():
    land = box(0, 0, 40, 30)
    pairs = two_areas(land, OLDER, YOUNGER, least_apart_m=0, most_apart_m=3)
    assert len(pairs) > 0
    assert_right(land, pairs, least_apart_m=0, most_apart_m=3)


@pytest.mark.parametrize("land", [Polygon(), box(0, 0, 20, 14), box(0, 0, 30, 15)])
def test_where_one_fits_not_or_not_both_there_is_no_pair(land):
    assert two_areas(land, OLDER, YOUNGER, **APART).shape == (0, 6)


def test_senseless_options_are_refused():
    land = box(0, 0, 90, 90)
    with pytest.raises(ValueError, match="distance"):
        two_areas(land, OLDER, YOUNGER, least_apart_m=5, most_apart_m=4)
    with pytest.raises(ValueError, match="distance"):
        two_areas(land, OLDER, YOUNGER, least_apart_m=-1, most_apart_m=4)
    with pytest.raises(ValueError, match="length"):
        two_areas(land, (10, 20), YOUNGER, **APART)
