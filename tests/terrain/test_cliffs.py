"""Steps that no way is graded over: what counts as one, and what doesn't."""

import numpy as np
import pytest
import shapely
from affine import Affine

from playsite.terrain.cliffs import cliffs

X = np.arange(60) + 0.5
AT = Affine(1, 0, 0, 0, -1, 60)


def over(height):
    return cliffs(np.broadcast_to(height, (60, 60)), AT, higher_than_m=3.0)


def test_a_step_is_one_strip_across_the_ground():
    (found,) = over(np.where(X < 30, 0.0, 4.0))
    west, south, east, north = shapely.bounds(found)
    assert (south, north) == (0, 60)
    assert 28 <= west < 30 < east <= 32


@pytest.mark.parametrize("grade", [0.2, 0.5, 1.0])
def test_a_slope_is_none_however_high(grade):
    assert len(over(grade * X)) == 0


def test_noise_makes_no_cliff_and_unknown_ground_none():
    noise = np.random.default_rng(0).normal(0, 0.1, (60, 60))
    assert len(cliffs(noise, AT, higher_than_m=3.0)) == 0
    gap = np.where(np.abs(X - 30) < 5, np.nan, np.where(X < 30, 0.0, 20.0))
    assert len(over(gap)) == 0


def test_wide_cells_show_no_step():
    step = np.broadcast_to(np.where(X < 30, 0.0, 20.0), (60, 60))
    assert len(cliffs(step, Affine(5, 0, 0, 0, -5, 300), higher_than_m=3.0)) == 0
