"""Finding a place: none missed, none that crosses."""

import numpy as np
import pytest
import shapely
from shapely import MultiPolygon, Point, Polygon, box
from shapely.affinity import rotate, translate

from playsite.pads.legality import is_legal
from playsite.pads.search import (
    find_place,
    iterate_legal_places,
    largest_scale,
    legal_centres,
    legal_places,
)
from playsite.pads.shape import pad_polygon

L, W = 31.6, 22.7
PAD = {"length_m": L, "width_m": W}
SLOW = pytest.mark.slow


def cluttered_lot(rng, *, spare_m):
    """A lot full of obstacles, with one pad's ground kept free at a chance rotation."""
    side_m = rng.uniform(80, 120)
    x, y = rng.uniform(30, side_m - 30, 2)
    kept = pad_polygon(x, y, rng.uniform(0, 180), length_m=L + 2 * spare_m, width_m=W + 2 * spare_m)
    centres, halves = rng.uniform(0, side_m, (150, 2)), rng.uniform(0.5, 8, (150, 2))
    obstacles = [
        rotate(box(*(c - h), *(c + h)), turn)
        for c, h, turn in zip(centres, halves, rng.uniform(0, 180, 150), strict=True)
    ]
    land = box(0, 0, side_m, side_m).difference(shapely.union_all(obstacles)).union(kept)
    return translate(land, 500_000, 4_650_000)


def assert_on_land(land, place, **sides):
    """Not by the check of the package: the pad's area outside is no more than rounding."""
    pad = pad_polygon(*place, **sides)
    assert pad.difference(land).area < 1e-6 * pad.length
    assert max(Point(c).distance(land) for c in pad.exterior.coords) < 2e-6


@pytest.mark.parametrize(
    "spare_m", [0.25, pytest.param(0.1, marks=SLOW), pytest.param(0.02, marks=SLOW)]
)
def test_no_planted_place_is_missed_at_any_rotation(spare_m):
    rng = np.random.default_rng(20)
    tight = 0
    for lot in range(200):
        land = cluttered_lot(rng, spare_m=spare_m)
        place = find_place(land, **PAD, spare_m=spare_m)
        assert place is not None
        assert_on_land(land, place, **PAD)
        if lot % 5 == 0:
            tight += find_place(land, length_m=L + 2, width_m=W + 2) is None
    # else the lots would prove nothing
    assert tight > 20


def test_an_exactly_fitting_lot_at_any_rotation_and_place_fits():
    rng = np.random.default_rng(4)
    for _ in range(60):
        width_m = rng.uniform(10, 30)
        length_m = rng.uniform(width_m, 60)
        lot = rotate(box(0, 0, length_m, width_m), rng.uniform(0, 180))
        lot = translate(lot, *rng.uniform(0, 6e6, 2))
        place = find_place(lot, length_m=length_m, width_m=width_m)
        assert place is not None
        assert_on_land(lot, place, length_m=length_m, width_m=width_m)
        assert find_place(lot, length_m=length_m + 1e-4, width_m=width_m) is None
        places = legal_places(lot, length_m=length_m, width_m=width_m)
        assert is_legal(lot, places, length_m=length_m, width_m=width_m).all()
        assert len(places) > 0


@pytest.mark.parametrize("seed", range(10))
def test_where_one_degree_steps_of_exact_erosion_find_a_place_so_does_the_search(seed):
    rng = np.random.default_rng(seed)
    bearing = np.sort(rng.uniform(0, 2 * np.pi, 12))
    reach = rng.uniform(15, 38, 12)
    land = Polygon(np.column_stack([reach * np.cos(bearing), reach * np.sin(bearing)])).buffer(0)
    eroded = [legal_centres(land, **PAD, rotation_deg=angle) for angle in range(180)]
    by_steps = any(not centres.is_empty for centres in eroded)
    place = find_place(land, **PAD)
    if by_steps:
        assert place is not None
    if place is None:
        assert largest_scale(land, **PAD).scale < 1
    else:
        assert_on_land(land, place, **PAD)


def test_a_place_is_told_to_the_millimetre():
    place = find_place(rotate(box(0, 0, 61.234567, 47.654321), 12.3456), **PAD)
    assert place == tuple(round(value, 4) for value in place)
    assert place.easting == round(place.easting, 3)


def test_every_legal_place_is_legal_and_the_lattice_is_no_coarser_than_asked():
    land = translate(rotate(box(0, 0, 70, 60), 20), 500_000, 4_650_000)
    land = land.difference(Point(500_035, 4_650_030).buffer(2))
    places = legal_places(land, **PAD, step_m=2, angle_step_deg=15)
    assert is_legal(land, places, **PAD).all()
    rotations = np.unique(places[:, 2])
    assert {20.0, 110.0} <= set(np.round(rotations, 6))
    assert set(np.arange(12) * 15.0) <= set(rotations)
    rng = np.random.default_rng(0)
    for rotation in rotations:
        centres = legal_centres(land, **PAD, rotation_deg=rotation)
        west, south, east, north = centres.bounds
        tries = rng.uniform((west, south), (east, north), (300, 2))
        # ground that holds a lattice square whole holds one of its points
        deep = tries[shapely.contains_xy(centres.buffer(-2 * np.sqrt(2)), tries)]
        lattice = places[places[:, 2] == rotation, :2]
        apart = np.hypot(*(deep[:, None] - lattice).transpose(2, 0, 1)).min(axis=1)
        assert (apart <= np.sqrt(2) + 1e-9).all()


def test_a_part_too_small_for_the_lattice_still_gives_a_place():
    land = MultiPolygon([box(0, 0, L + 0.01, W + 0.01), box(100, 0, 180, 60)])
    places = legal_places(land, **PAD, step_m=5)
    assert (places[:, 0] < 50).any()
    assert (places[:, 0] > 100).any()


def test_a_place_between_the_steps_of_rotation_is_found_by_the_full_search():
    # a circle's edges have no main direction, so only the twelve steps and the search are left;
    # obstacles leave a pad's ground free at 52.4 degrees
    rng = np.random.default_rng(3)
    kept = pad_polygon(0, 0, 52.4, length_m=L + 0.06, width_m=W + 0.06)
    wall = Point(0, 0).buffer(19.9, quad_segs=90)
    teeth = [Point(*p).buffer(0.3) for p in rng.uniform(-20, 20, (250, 2))]
    land = wall.difference(shapely.union_all(teeth)).union(kept)
    twelve = [legal_centres(land, **PAD, rotation_deg=15.0 * k) for k in range(12)]
    assert all(centres.is_empty for centres in twelve)
    places = legal_places(land, **PAD)
    assert len(places) == 1
    assert abs(places[0, 2] - 52.4) < 0.5
    assert is_legal(land, places, **PAD).all()


def test_blocks_are_of_one_rotation_and_join_to_all_places():
    land = box(0, 0, 60, 50)
    blocks = list(iterate_legal_places(land, **PAD))
    assert all(len(np.unique(block[:, 2])) == 1 for block in blocks)
    assert np.array_equal(np.concatenate(blocks), legal_places(land, **PAD))


@pytest.mark.parametrize("land", [Polygon(), MultiPolygon(), box(0, 0, 1000, 22.6), Point(0, 0)])
def test_where_nothing_fits_there_is_no_place(land):
    assert find_place(land, **PAD) is None
    assert legal_places(land, **PAD).shape == (0, 3)


def test_an_outline_that_crosses_itself_is_mended_first():
    bow_tie = Polygon([(0, 0), (60, 0), (0, 60), (60, 60)])
    place = find_place(bow_tie, length_m=15, width_m=10)
    assert place is not None
    assert_on_land(shapely.make_valid(bow_tie), place, length_m=15, width_m=10)


def test_senseless_options_are_refused():
    with pytest.raises(ValueError, match="spare"):
        find_place(box(0, 0, 90, 90), **PAD, spare_m=0)
    with pytest.raises(ValueError, match="Steps"):
        legal_places(box(0, 0, 90, 90), **PAD, step_m=0)
