import numpy as np
import pytest
from affine import Affine

from playsite.terrain.grid import cell_size_m, checked_elevation, columns_in_pad, rows_in_pad


def test_the_cells_of_a_pad_are_those_whose_centres_a_plain_test_finds():
    rng = np.random.default_rng(3)
    rows, columns = np.mgrid[-60:200, -60:200]
    for _ in range(200):
        half, cell_m = tuple(rng.uniform(1, 20, 2)), rng.choice([0.5, 1.0, 2.0])
        grid = (0.5, 60.5, cell_m)
        place = np.array([*rng.uniform(0, 60, 2), rng.choice([0, 45, 90, rng.uniform(0, 360)])])
        turn = np.radians(place[2])
        dx = grid[0] + columns * cell_m - place[0]
        dy = grid[1] - rows * cell_m - place[1]
        plain = np.abs(dx * np.cos(turn) + dy * np.sin(turn)) <= half[0]
        plain &= np.abs(dy * np.cos(turn) - dx * np.sin(turn)) <= half[1]
        found = np.zeros_like(plain)
        top, bottom = rows_in_pad(place, half, grid)
        for row in range(top, bottom + 1):
            left, right = columns_in_pad(row, place, half, grid)
            found[row + 60, left + 60 : right + 61] = True
        np.testing.assert_array_equal(found, plain)


@pytest.mark.parametrize("kind", [np.int16, np.float32])
def test_what_is_masked_is_missing(kind):
    masked = np.ma.masked_equal(np.array([[1, -9999], [3, 4]], dtype=kind), -9999)
    ground = checked_elevation(masked)
    np.testing.assert_array_equal(ground, [[1, np.nan], [3, 4]])
    assert ground.dtype == (np.float32 if kind == np.float32 else np.float64)


def test_feet_of_a_cell_are_as_good_as_metres_but_not_degrees_of_turn():
    assert cell_size_m(Affine(0.3048, 0, 0, 0, -0.3048, 0)) == 0.3048
    with pytest.raises(ValueError, match="north-up and not rotated"):
        cell_size_m(Affine.rotation(3))
