"""Lines of sight over walls, crowns and ground, against closed forms; the same both ways."""

import numpy as np
import pytest
import shapely
from affine import Affine
from hypothesis import given, settings
from hypothesis import strategies as st

from playsite.terrain.sight import in_the_way, sees

NO_CROWN = np.empty((0, 5))
NO_WALL = np.empty(0, dtype=object)


def bare(crowns=NO_CROWN, outlines=NO_WALL, bottom=(), top=(), **ground):
    shapes = np.array(list(outlines), dtype=object)
    return in_the_way(crowns, shapes, np.array(bottom, float), np.array(top, float), **ground)


def at(*points):
    return np.array(points, dtype=float)


def test_a_wall_hides_what_lies_in_its_shadow_of_sight():
    # Eye 1.6 m up, wall 1.2 m high 10 m off: it hides a point on the ground as far as the line over
    # its far edge, at 11 m, comes down: 11 x 1.6 / (1.6 - 1.2) = 44 m.
    wall = bare(outlines=[shapely.box(10, -50, 11, 50)], bottom=[0], top=[1.2])
    far = at((43.9, 0, 0), (44.1, 0, 0), (9.9, 0, 0))
    assert sees(at((0, 0, 1.6)), far, wall).tolist() == [[False, True, True]]


def test_one_looks_past_the_end_of_a_wall():
    # The end of the wall is at y = 2, 10 m off: at 20 m it hides what lies below y = 4.
    wall = bare(outlines=[shapely.box(10, -50, 10.01, 2)], bottom=[0], top=[9])
    seen = sees(at((0, 0, 1.6)), at((20, 3.9, 1.6), (20, 4.1, 1.6)), wall)
    assert seen.tolist() == [[False, True]]


def test_one_looks_under_a_crown_and_not_through_it():
    crown = at((10, 0, 8, 3, 5))
    seen = sees(at((0, 0, 1.6), (0, 0, 8)), at((20, 0, 0.6), (20, 0, 8)), bare(crown))
    assert seen.tolist() == [[True, False], [False, False]]
    # The lower edge is at 3 m: a level line a little below it passes.
    assert sees(at((0, 0, 2.99)), at((20, 0, 2.99)), bare(crown)).all()
    assert not sees(at((0, 0, 3.01)), at((20, 0, 3.01)), bare(crown)).any()


@pytest.mark.parametrize(("ridge_m", "seen"), [(1.0, True), (1.2, False)])
def test_a_ridge_hides_what_lies_behind_it(ridge_m, seen):
    # Half way between an eye of 1.6 m and a child of 0.6 m the line is 1.1 m over level ground.
    ground = np.zeros((60, 60))
    ground[:, 29:32] = ridge_m
    way = bare(ground=ground, transform=Affine(1, 0, 0, 0, -1, 60))
    assert sees(at((10.5, 30, 1.6)), at((50.5, 30, 0.6)), way).tolist() == [[seen]]


def test_ground_that_nobody_knows_hides_nothing():
    way = bare(ground=np.full((60, 60), np.nan), transform=Affine(1, 0, 0, 0, -1, 60))
    assert sees(at((5, 30, 1.6)), at((55, 30, 0.6)), way).all()


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10_000))
def test_who_is_seen_sees(seed):
    rng = np.random.default_rng(seed)
    corner = rng.uniform(0, 60, (6, 2))
    houses = [
        shapely.affinity.rotate(shapely.box(x, y, x + 8, y + 5), rng.uniform(0, 180))
        for x, y in corner
    ]
    crowns = rng.uniform((0, 0, 4, 1, 2), (60, 60, 9, 4, 5), (8, 5))
    ground = rng.normal(0, 0.6, (60, 60)).cumsum(axis=1) * 0.2
    way = bare(
        crowns,
        houses,
        rng.uniform(0, 1, 6),
        rng.uniform(2, 9, 6),
        ground=ground,
        transform=Affine(1, 0, 0, 0, -1, 60),
    )
    one, other = rng.uniform((0, 0, 1), (60, 60, 6), (2, 12, 3))
    assert (sees(one, other, way) == sees(other, one, way).T).all()


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 10_000))
def test_a_house_more_never_lets_one_see_more(seed):
    rng = np.random.default_rng(seed)
    houses = [shapely.box(x, y, x + 8, y + 5) for x, y in rng.uniform(0, 60, (5, 2))]
    one, other = rng.uniform((0, 0, 0), (60, 60, 4), (2, 15, 3))
    few, many = (
        sees(one, other, bare(outlines=houses[:k], bottom=[0] * k, top=[6] * k)) for k in (4, 5)
    )
    assert (many <= few).all()


def test_prisms_are_those_of_the_geometry_library():
    rng = np.random.default_rng(4)
    houses = [
        shapely.affinity.rotate(shapely.box(x, y, x + 9, y + 4), rng.uniform(0, 180))
        for x, y in rng.uniform(0, 60, (8, 2))
    ]
    one, other = rng.uniform((0, 0, 1), (60, 60, 1.01), (2, 40, 3))
    way = bare(outlines=houses, bottom=[0] * 8, top=[9] * 8)
    lines = shapely.linestrings(
        np.stack(np.broadcast_arrays(one[:, None, :2], other[None, :, :2]), axis=2)
    )
    crossed = shapely.length(shapely.intersection(lines, shapely.union_all(houses))) > 1e-9
    assert (sees(one, other, way) == ~crossed).all()
