import math

import numpy as np
import pytest
import shapely
from affine import Affine
from hypothesis import given, settings
from hypothesis import strategies as st

from playsite.terrain.levelling import level_pad
from playsite.terrain.pad_pieces import heights_m, pad_pieces, pad_polygon

LENGTH_M, WIDTH_M = 31.6, 22.7


def plane(grade_pct, direction_deg, *, cell_m=0.25, side_m=60.0, base_m=300.0):
    """A plane that falls towards a direction, and its transform; the middle is at 30, 30."""
    cells = round(side_m / cell_m)
    centres = (np.arange(cells) + 0.5) * cell_m - side_m / 2
    turn = math.radians(direction_deg)
    east, south = np.meshgrid(centres, centres)
    fall = east * math.sin(turn) - south * math.cos(turn)
    return base_m - grade_pct / 100 * fall, Affine(cell_m, 0, 0, 0, -cell_m, side_m)


def by_formula(dx, dy):
    """Cut of a slope difference dx along the length and dy along the width, m3."""
    p, q = abs(dx) * LENGTH_M / 2, abs(dy) * WIDTH_M / 2
    p, q = max(p, q), min(p, q)
    return LENGTH_M * WIDTH_M * (p / 4 + q**2 / (12 * p))


@given(
    rotation_deg=st.floats(0, 180),
    ground_deg=st.floats(0, 360),
    ground_pct=st.floats(2.5, 12),
    finish_deg=st.sampled_from(range(0, 360, 5)),
)
@settings(max_examples=25, deadline=None)
def test_any_plane_and_rotation_agree_with_the_closed_form(
    rotation_deg, ground_deg, ground_pct, finish_deg
):
    ground, transform = plane(ground_pct, ground_deg)
    pad = level_pad(
        ground,
        transform,
        (30, 30, rotation_deg, LENGTH_M, WIDTH_M),
        grades_pct=(1.5,),
        directions_deg=(float(finish_deg),),
        compacted_to_bank=1,
    )
    turn, fall, finish = (math.radians(a) for a in (rotation_deg, ground_deg, finish_deg))
    east = ground_pct / 100 * math.sin(fall) - 0.015 * math.sin(finish)
    north = ground_pct / 100 * math.cos(fall) - 0.015 * math.cos(finish)
    along = east * math.cos(turn) + north * math.sin(turn)
    across = north * math.cos(turn) - east * math.sin(turn)
    assert pad.cut_m3 == pytest.approx(by_formula(along, across), rel=0.005)
    assert pad.fill_m3 == pytest.approx(pad.cut_m3, rel=1e-5)


def test_the_finish_with_the_least_cut_of_all_is_chosen():
    ground, transform = plane(5, 160, cell_m=0.5)  # the pad's short side falls
    pad = level_pad(ground, transform, (30, 30, 20, LENGTH_M, WIDTH_M))
    assert (pad.finish.grade_pct, pad.finish.direction_deg) == (2, 160)
    assert pad.ground_grade_pct == pytest.approx(5)
    assert pad.ground_direction_deg == pytest.approx(160)
    every = [
        level_pad(
            ground,
            transform,
            (30, 30, 20, LENGTH_M, WIDTH_M),
            grades_pct=(grade,),
            directions_deg=(direction,),
        ).cut_m3
        for grade in (1, 1.5, 2)
        for direction in range(0, 360, 5)
    ]
    assert pad.cut_m3 == pytest.approx(min(every))


@pytest.mark.parametrize("compacted_to_bank", [0.85, 0.9, 1.0, 1.3])
def test_the_cut_makes_the_fill_on_rough_ground(compacted_to_bank):
    ground, transform = plane(3, 80, cell_m=1)
    ground += np.random.default_rng(4).normal(0, 0.2, ground.shape)
    pad = level_pad(
        ground, transform, (30, 30, 33, LENGTH_M, WIDTH_M), compacted_to_bank=compacted_to_bank
    )
    assert compacted_to_bank * pad.cut_m3 == pytest.approx(pad.fill_m3, rel=1e-6)


def test_the_volumes_are_those_of_a_fine_sum_over_the_finish():
    # an independent sum: points 5 cm apart in the pad, the ground bilinear between cell centres
    ground, transform = plane(4, 200, cell_m=0.5)
    rows, columns = np.indices(ground.shape)
    ground += 0.3 * np.sin(columns / 9) * np.cos(rows / 7)
    pad = level_pad(ground, transform, (30, 30, 30, LENGTH_M, WIDTH_M))
    u, v = np.meshgrid(
        np.arange(0.025, LENGTH_M, 0.05) - LENGTH_M / 2,
        np.arange(0.025, WIDTH_M, 0.05) - WIDTH_M / 2,
    )
    turn = math.radians(30)
    x, y = (
        30 + u * math.cos(turn) - v * math.sin(turn),
        30 + u * math.sin(turn) + v * math.cos(turn),
    )
    over_m = heights_m(ground, transform, x, y) - pad.finish.at_m(x, y)
    assert pad.cut_m3 == pytest.approx(np.maximum(over_m, 0).mean() * pad.area_m2, rel=0.003)
    assert pad.deepest_cut_m == pytest.approx(over_m.max(), abs=0.03)
    assert pad.highest_fill_m == pytest.approx(-over_m.min(), abs=0.03)


def test_a_height_that_is_asked_for_is_kept_and_does_not_balance():
    ground, transform = plane(0, 0)
    pad = level_pad(ground, transform, (30, 30, 0, 20, 10), grades_pct=(0,), height_m=300.5)
    assert (pad.cut_m3, pad.fill_m3) == pytest.approx((0, 100))
    assert pad.finish.height_m == 300.5


def test_a_polygon_is_the_rectangle_that_it_is():
    ground, transform = plane(5, 150, cell_m=1)
    rectangle = (30, 30, 25, LENGTH_M, WIDTH_M)
    as_numbers = level_pad(ground, transform, rectangle)
    as_polygon = level_pad(ground, transform, pad_polygon(rectangle).reverse())
    assert as_polygon.cut_m3 == pytest.approx(as_numbers.cut_m3)
    assert as_polygon.finish.height_m == pytest.approx(as_numbers.finish.height_m)


def test_the_pieces_of_an_l_make_up_its_area_and_centre():
    ground, transform = plane(5, 150, cell_m=1)
    outline = shapely.Polygon([(10.3, 10), (50, 10), (50, 30.2), (30, 30.2), (30, 50), (10.3, 50)])
    pieces = pad_pieces(ground, transform, outline)
    assert pieces.area_m2.sum() == pytest.approx(outline.area)
    assert np.average(pieces.x_m, weights=pieces.area_m2) == pytest.approx(0, abs=1e-9)
    assert np.average(pieces.y_m, weights=pieces.area_m2) == pytest.approx(0, abs=1e-9)


def test_large_coordinates_and_coarse_cells_cost_nothing():
    ground, transform = plane(5, 180, cell_m=5)
    near = level_pad(ground, transform, (30, 30, 0, LENGTH_M, WIDTH_M), compacted_to_bank=1)
    moved = transform.translation(4e6, 5e6) @ transform
    far = level_pad(ground, moved, (4e6 + 30, 5e6 + 30, 0, LENGTH_M, WIDTH_M), compacted_to_bank=1)
    assert far.cut_m3 == pytest.approx(near.cut_m3, rel=1e-6)
    assert near.cut_m3 == pytest.approx(LENGTH_M * 0.03 * WIDTH_M**2 / 8, rel=0.003)


def test_little_unknown_ground_is_scaled_up_and_much_is_no_result():
    ground, transform = plane(5, 180, cell_m=0.5)
    whole = level_pad(ground, transform, (30, 30, 0, LENGTH_M, WIDTH_M))
    ground[:, 58:62] = np.nan
    some = level_pad(ground, transform, (30, 30, 0, LENGTH_M, WIDTH_M))
    assert some.known_share == pytest.approx(1 - 2 / LENGTH_M)
    assert some.cut_m3 == pytest.approx(whole.cut_m3, rel=0.01)
    ground[:, 40:80] = np.nan
    assert level_pad(ground, transform, (30, 30, 0, LENGTH_M, WIDTH_M)) is None
    assert level_pad(ground, transform, (30, 30, 0, LENGTH_M, WIDTH_M), least_known=0.3)


def test_what_lies_off_the_raster_is_not_known():
    ground, transform = plane(5, 180)
    half_off = level_pad(ground, transform, (60, 30, 0, LENGTH_M, WIDTH_M), least_known=0)
    assert half_off.known_share == pytest.approx(0.5)
    assert level_pad(ground, transform, (60, 30, 0, LENGTH_M, WIDTH_M)) is None
    assert level_pad(ground, transform, (300, 30, 0, LENGTH_M, WIDTH_M), least_known=0) is None


@pytest.mark.parametrize(
    ("options", "says"),
    [
        ({"grades_pct": ()}, "grades"),
        ({"grades_pct": (-1,)}, "grades"),
        ({"compacted_to_bank": 0}, "Compacted to bank"),
        ({"height_m": math.nan}, "height"),
    ],
)
def test_figures_that_make_no_sense_are_refused(options, says):
    ground, transform = plane(5, 180, cell_m=1)
    with pytest.raises(ValueError, match=says):
        level_pad(ground, transform, (30, 30, 0, 20, 10), **options)


def test_what_is_no_pad_is_refused():
    ground, transform = plane(5, 180, cell_m=1)
    bow_tie = shapely.Polygon([(10, 10), (20, 20), (20, 10), (10, 20)])
    with pytest.raises(ValueError, match="self-intersection"):
        level_pad(ground, transform, bow_tie)
    with pytest.raises(ValueError, match="1 holes"):
        level_pad(ground, transform, shapely.box(10, 10, 30, 30) - shapely.box(15, 15, 20, 20))
    with pytest.raises(ValueError, match="above 0 m"):
        level_pad(ground, transform, (30, 30, 0, 20, 0))
