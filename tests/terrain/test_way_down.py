"""The way of the water: planes by geometry, hollows that are full, ends where the data ends."""

import numpy as np
import pytest
import shapely
from affine import Affine
from hypothesis import given
from hypothesis import strategies as st

from playsite.terrain.filling import filled
from playsite.terrain.way_down import way_down

GRID = Affine(1, 0, 0, 0, -1, 40)


def heights(function):
    x, y = np.meshgrid(np.arange(40) + 0.5, 39.5 - np.arange(40))
    return function(x, y)


def test_on_a_plane_it_runs_straight_to_the_edge():
    line = way_down(heights(lambda x, y: 0.1 * y + 0 * x), GRID, 20.5, 30.5)
    assert line.coords[0] == (20.5, 30.5)
    assert line.coords[-1] == (20.5, 0.5)
    assert line.length == pytest.approx(30)


def test_a_full_hollow_is_crossed():
    def dented(x, y):
        return 0.1 * y - 3.0 * (np.hypot(x - 20, y - 20) < 5)

    line = way_down(heights(dented), GRID, 20.5, 30.5)
    assert line.coords[-1][1] == 0.5
    assert line.intersects(shapely.Point(20, 20).buffer(5))


def test_water_is_gone_at_an_inlet():
    pierced = heights(lambda x, y: 0.1 * y + 0.2 * np.abs(x - 20.5))
    pierced[29, 20] = np.nan  # y = 10.5
    line = way_down(pierced, GRID, 20.5, 30.5)
    assert line.coords[-1] == (20.5, 11.5)


def test_off_the_data_there_is_none():
    plane = heights(lambda x, y: 0.1 * y + 0 * x)
    assert way_down(plane, GRID, -5, 20) is None
    assert way_down(np.full((40, 40), np.nan), GRID, 20, 20) is None


@given(seed=st.integers(0, 10_000), x=st.floats(1, 39), y=st.floats(1, 39))
def test_it_never_climbs_the_filled_ground_and_ends_at_the_edge(seed, x, y):
    rough = np.random.default_rng(seed).normal(0, 1, (40, 40))
    line = way_down(rough, GRID, x, y)
    if line is None:  # the place is an edge cell that water leaves at once
        assert min(x, y, 40 - x, 40 - y) <= 1 + 1e-9
        return
    columns, rows = (np.array(line.coords) - (0, 40)).T * [[1], [-1]]
    level = filled(rough)[rows.astype(int), columns.astype(int)]
    assert (np.diff(level) <= 0).all()
    assert {int(rows[-1]), int(columns[-1])} & {0, 39}
