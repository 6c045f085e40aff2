import heapq

import numpy as np
import pytest

from playsite.terrain.filling import SIDE, filled

AROUND = [(r, c) for r in (-1, 0, 1) for c in (-1, 0, 1) if (r, c) != (0, 0)]


def filled_plainly(ground):
    """One queue of all cells, lowest first, as published; cell by cell."""
    rows, columns = ground.shape
    level = np.full(ground.shape, np.nan)
    queue = []
    for row, column in zip(*np.nonzero(np.isfinite(ground)), strict=True):
        beside = [(row + r, column + c) for r, c in AROUND]
        if any(
            not (0 <= r < rows and 0 <= c < columns) or np.isnan(ground[r, c]) for r, c in beside
        ):
            level[row, column] = ground[row, column]
            heapq.heappush(queue, (ground[row, column], row, column))
    while queue:
        height, row, column = heapq.heappop(queue)
        for r, c in AROUND:
            at = row + r, column + c
            if 0 <= at[0] < rows and 0 <= at[1] < columns and np.isnan(level[at]):
                if np.isnan(ground[at]):
                    continue
                level[at] = max(height, ground[at])
                heapq.heappush(queue, (level[at], *at))
    return level


@pytest.mark.parametrize("kind", [np.float32, np.float64])
@pytest.mark.parametrize("seed", range(8))
def test_it_is_to_the_bit_what_a_plain_queue_gives(kind, seed):
    rng = np.random.default_rng(seed)
    ground = rng.normal(size=(40, 57)).astype(kind)
    if seed % 2:
        ground = np.round(ground)  # many ties and flats
    ground[rng.random(ground.shape) < 0.01 * (seed % 3)] = np.nan
    found = filled(ground)
    assert found.dtype == kind
    np.testing.assert_array_equal(found, filled_plainly(ground))


@pytest.mark.parametrize("shape", [(2 * SIDE + 9, 40), (40, SIDE + 30), (SIDE + 9, SIDE + 9)])
def test_so_it_is_across_the_borders_of_tiles(shape):
    rng = np.random.default_rng(shape[1])
    rows, columns = np.indices(shape)
    # long valleys and hollows, level ground, and gaps, across borders and where four tiles meet
    ground = 3 * np.sin(rows / 23) + 3 * np.cos(columns / 31) + rng.normal(size=shape)
    ground = np.round(ground, 1)
    ground[SIDE - 9 : SIDE + 1, 10:20] = ground[20:25, SIDE - 3 : SIDE + 2] = np.nan
    ground[rng.random(ground.shape) < 0.001] = np.nan
    np.testing.assert_array_equal(filled(ground), filled_plainly(ground))


def test_a_hollow_inside_a_hollow_fills_to_its_own_brim():
    ground = np.full((9, 9), 10.0)
    ground[2:7, 2:7] = 3
    ground[4, 4] = 1
    ground[4, 7], ground[4, 8] = 6, 6
    found = filled(ground)
    assert found[4, 4] == 6
    assert (found[2:7, 2:7] == 6).all()
    assert found[4, 8] == 6


def test_water_leaves_by_a_corner():
    ground = np.full((4, 4), 5.0)
    ground[1, 1], ground[2, 2], ground[3, 3] = 1, 2, 0
    assert filled(ground)[1, 1] == 2


def test_a_missing_cell_takes_the_water_away():
    ground = np.full((9, 9), 5.0)
    ground[4, 4] = 1
    assert filled(ground)[4, 4] == 5
    ground[5, 5] = np.nan
    found = filled(ground)
    assert found[4, 4] == 1
    assert np.isnan(found[5, 5])


@pytest.mark.parametrize("shape", [(0, 0), (1, 1), (1, 7), (2, 2), (3, 1)])
def test_ground_that_is_all_edge_stays_as_it_is(shape):
    ground = np.random.default_rng(0).normal(size=shape)
    np.testing.assert_array_equal(filled(ground), ground)


def test_ground_that_is_all_missing_stays_missing():
    assert np.isnan(filled(np.full((6, 6), np.nan))).all()


def test_the_elevation_is_left_alone_unless_it_is_what_to_write_to():
    ground = np.full((5, 5), 2.0)
    ground[2, 2] = 1
    before = ground.copy()
    filled(ground)
    np.testing.assert_array_equal(ground, before)
    assert filled(ground, out=ground) is ground
    assert ground[2, 2] == 2


def test_an_array_to_write_to_of_another_kind_is_refused():
    with pytest.raises(ValueError, match="contiguous float64 of shape"):
        filled(np.zeros((5, 5)), out=np.zeros((5, 5), np.float32))
