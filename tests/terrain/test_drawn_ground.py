"""Contours, and cut and fill, as drawings show them: closed forms on planes, quiet on noise."""

import numpy as np
import pytest
import shapely
from affine import Affine

from playsite.terrain.drawn_ground import contour_lines, cut_and_fill
from playsite.terrain.levelling import Finish

METRE = Affine(1, 0, 500_000, 0, -1, 4_400_080)
ROW, COLUMN = np.indices((80, 80))
EAST, NORTH = COLUMN + 0.5, 79.5 - ROW
PAD = shapely.box(500_024, 4_400_029, 500_056, 4_400_051)
LEVEL = Finish(0.0, 0.0, 100.0, 500_040.0, 4_400_040.0)


def test_contours_of_a_plane_lie_where_it_has_their_height():
    """A fall of 5 % to the north has a contour every 0.25 / 0.05 = 5 m."""
    lines = contour_lines(100 - 0.05 * NORTH, METRE, step_m=0.25)
    middle = [line for line in lines if 20 < line[1].centroid.y - 4_400_000 < 60]
    assert len(middle) == 7  # at 25, 30 ... 55 m
    for level, line in middle:
        assert level % 0.25 == pytest.approx(0, abs=1e-9)
        assert shapely.get_coordinates(line)[:, 1] - 4_400_000 == pytest.approx(
            (100 - level) / 0.05, abs=0.2
        )


def test_noise_makes_no_islands_of_contours():
    noise = np.random.default_rng(2).normal(0, 0.05, ROW.shape)
    lines = contour_lines(100 - 0.05 * NORTH + noise, METRE, step_m=0.25)
    assert len({level for level, _ in lines}) == pytest.approx(len(lines), abs=3)


def test_cut_lies_above_the_finish_and_fill_below_it():
    cut, fill = cut_and_fill(100 + 0.05 * (EAST - 36), METRE, PAD, LEVEL)
    assert cut.area == pytest.approx(20 * 22, rel=0.01)
    assert fill.area == pytest.approx(12 * 22, rel=0.01)
    assert cut.intersection(fill).area < 0.5
    assert PAD.buffer(0.01).contains(cut.union(fill))


def test_a_mound_is_an_island_of_cut_with_fill_round_it():
    far = np.hypot(EAST - 40, NORTH - 40)
    cut, fill = cut_and_fill(100 + 0.05 * (6 - far), METRE, PAD, LEVEL)
    assert cut.area == pytest.approx(np.pi * 36, rel=0.1)
    assert len(fill.interiors) == 1
    assert cut.area + fill.area == pytest.approx(PAD.area, rel=0.01)


def test_noise_makes_no_specks_and_unknown_ground_is_neither():
    noise = np.random.default_rng(2).normal(0, 0.03, ROW.shape)
    cut, fill = cut_and_fill(100.2 + noise, METRE, PAD, LEVEL)
    assert cut.area == pytest.approx(PAD.area, rel=0.01)
    assert fill.is_empty
    for nothing in cut_and_fill(np.full(ROW.shape, np.nan), METRE, PAD, LEVEL):
        assert nothing.is_empty
    assert contour_lines(np.full(ROW.shape, np.nan), METRE, step_m=0.25) == []
    gap = np.where(EAST < 40, np.nan, 100.2)
    cut, fill = cut_and_fill(gap, METRE, PAD, LEVEL)
    assert cut.bounds[0] >= 500_040
    assert fill.is_empty
