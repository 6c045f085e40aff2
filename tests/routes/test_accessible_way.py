"""Accessible routes: as long as the rise asks, never steeper than the rule, never up on the spot."""

import numpy as np
import pytest
import shapely
from affine import Affine
from shapely import LineString, box

from playsite.routes.accessible_way import RAMPED_SLOPE, accessible_way
from playsite.routes.closed_off import free_ground, least_way_m

SIDE = 240
X, Y = np.meshgrid(np.arange(SIDE) + 0.5, SIDE - 0.5 - np.arange(SIDE))
GRID = Affine(1, 0, 0, 0, -1, SIDE)
PAD = box(110, 60, 130, 80)


def walk_at(distance_m):
    return [box(0, 80 + distance_m, SIDE, 82 + distance_m)]


def places_of(way):
    return shapely.get_coordinates(way.path)[1:-1]


@pytest.mark.parametrize("grade", [0.03, 0.05, 0.08, 0.10, 0.15, 0.20])
def test_on_a_plane_it_is_the_straight_way_or_the_rise_at_one_in_twenty(grade):
    way = accessible_way(PAD, walk_at(30), grade * Y, GRID, [])
    assert way.length_m == pytest.approx(max(30, 30 * grade * 20), rel=0.05)
    assert way.grades.max() <= 0.05 + 1e-6
    assert way.runs == 0


@pytest.mark.parametrize("grade", [0.08, 0.15, 0.20])
def test_it_never_climbs_on_the_spot_even_in_a_corridor(grade):
    walls = [box(0, 0, 115.5, SIDE), box(124.5, 0, SIDE, SIDE)]
    way = accessible_way(box(117, 60, 123, 80), walk_at(30), grade * Y, GRID, walls)
    own = places_of(way).round(3)
    assert len(np.unique(own, axis=0)) == len(own)
    assert np.abs(way.height_m - way.ground_m)[1:-1].max() <= 0.15 + 1e-9
    assert way.length_m >= 0.95 * 30 * grade * 20


def test_downhill_and_turned_ground_give_the_same_length():
    up = accessible_way(PAD, walk_at(30), 0.1 * Y, GRID, [])
    down = accessible_way(PAD, walk_at(30), 50 - 0.1 * Y, GRID, [])
    east = accessible_way(box(60, 110, 80, 130), [box(110, 0, 112, SIDE)], 0.1 * X, GRID, [])
    assert down.length_m == pytest.approx(up.length_m, rel=0.02)
    assert east.length_m == pytest.approx(up.length_m, rel=0.02)


def test_noise_of_five_centimetres_does_not_make_a_lawn_too_steep():
    noise = np.random.default_rng(3).normal(0, 0.05, X.shape)
    way = accessible_way(PAD, walk_at(30), 0.03 * Y + noise, GRID, [])
    assert way.length_m == pytest.approx(30, rel=0.05)


def test_finer_and_coarser_cells_of_the_same_plane_give_the_same_way():
    x, y = np.meshgrid(np.arange(80) * 3 + 1.5, 238.5 - np.arange(80) * 3)
    coarse = accessible_way(PAD, walk_at(30), 0.08 * y + 0 * x, Affine(3, 0, 0, 0, -3, 240), [])
    fine = accessible_way(PAD, walk_at(30), 0.08 * Y, GRID, [])
    assert coarse.length_m == pytest.approx(fine.length_m, rel=0.02)


@pytest.mark.parametrize(("gap_m", "is_found"), [(0.8, False), (1.5, True)])
def test_a_gate_lets_it_through_from_36_inches_on(gap_m, is_found):
    fence = [LineString([(0, 90), (150, 90)]), LineString([(150 + gap_m, 90), (SIDE, 90)])]
    way = accessible_way(PAD, walk_at(30), 0 * Y, GRID, fence)
    assert np.isfinite(way.length_m) == is_found
    if is_found:
        straight_m = np.hypot(20.7, 10) + np.hypot(0, 20)
        assert straight_m < way.length_m < 1.08 * straight_m


def test_ground_that_is_not_known_is_not_crossed():
    elevation = 0 * Y
    elevation[(Y > 90) & (Y < 95)] = np.nan
    way = accessible_way(PAD, walk_at(30), elevation, GRID, [])
    assert way.length_m == np.inf
    assert way.path is None
    elevation[X > 150] = 0
    round_it = accessible_way(PAD, walk_at(30), elevation, GRID, [])
    assert np.hypot(20, 10) + 20 < round_it.length_m < 1.06 * (np.hypot(21, 10) + 20)
    assert not round_it.path.intersects(box(0, 90, 149, 95))


def test_no_arrival_is_no_way():
    assert accessible_way(PAD, [], 0 * Y, GRID, []).length_m == np.inf


def test_level_ground_gives_a_level_way():
    way = accessible_way(PAD, walk_at(30), 0 * Y + 7, GRID, [])
    assert way.grades.max() < 0.002
    way = accessible_way(PAD, walk_at(30), 0.04 * Y, GRID, [])
    assert way.grades.max() == pytest.approx(0.04, abs=0.002)


def test_ramps_are_shorter_and_are_counted_in_runs():
    walk = accessible_way(PAD, walk_at(30), 0.1 * Y, GRID, [])
    ramped = accessible_way(PAD, walk_at(30), 0.1 * Y, GRID, [], slope=RAMPED_SLOPE)
    # 3 m of rise: 36 m of ramp and five landings of 1.524 m, four runs.
    assert ramped.length_m == pytest.approx(36 + 5 * 1.524, rel=0.05)
    assert ramped.length_m < walk.length_m
    assert ramped.runs == 4
    assert walk.runs == 0


def test_a_bank_of_forty_percent_is_gone_round():
    bank = np.clip(Y - 90, 0, 5) * 0.4
    bank = np.where(X > 160, np.clip(Y - 90, 0, 25) * 0.08, bank)
    way = accessible_way(PAD, walk_at(40), bank, GRID, [])
    assert np.isfinite(way.length_m)
    assert places_of(way)[:, 0].max() > 156


def corridor(wide_m):
    return [box(0, 0, 120 - wide_m / 2, SIDE), box(120 + wide_m / 2, 0, SIDE, SIDE)]


@pytest.mark.parametrize("wide_m", [1.5, 2.5, 6.0, 40.0])
@pytest.mark.parametrize("grade", [0.03, 0.08, 0.15, 0.20])
def test_on_steep_noisy_ground_in_a_corridor_nothing_is_shown_to_be_impossible(grade, wide_m):
    """A way is found, as long as its rise asks at least, or none is; shown is only what is closed."""
    noise = np.random.default_rng(7).normal(0, 0.05, X.shape)
    hill, walls = grade * Y + noise, np.array(corridor(wide_m))
    pad = box(119.5, 60, 120.5, 80)
    way = accessible_way(pad, walk_at(30), hill, GRID, walls, slope=RAMPED_SLOPE)
    need_m = max(30, 30 * grade / RAMPED_SLOPE)
    if np.isfinite(way.length_m):
        # each end is met to 15 cm and half a layer
        assert way.length_m > 0.95 * need_m - 2 * 0.1625 / RAMPED_SLOPE
    else:
        assert wide_m < 10
    leads, _ = free_ground(
        np.array([pad]), np.array(walk_at(30)), walls, clear_m=0.9144, reach_m=200
    )
    assert leads[0]
    ends = np.array([box(1, 110, SIDE - 1, 112)])
    assert least_way_m(pad, ends, hill, GRID, off_m=3.0) <= way.length_m
    assert least_way_m(pad, ends, hill, GRID, off_m=3.0) < 200


@pytest.mark.parametrize("grade", [0.03, 0.05, 0.08, 0.10, 0.15, 0.20])
def test_noise_of_five_centimetres_neither_shortens_nor_closes_a_way(grade):
    noise = np.random.default_rng(5).normal(0, 0.05, X.shape)
    way = accessible_way(PAD, walk_at(30), grade * Y + noise, GRID, [])
    # 15 cm of cut at one end and of fill at the other are 6 m at 1:20
    assert 0.95 * max(30, 30 * grade * 20 - 6) <= way.length_m <= 1.1 * max(30, 30 * grade * 20)
