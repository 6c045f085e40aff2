import math

import numpy as np
import pytest
import shapely
from affine import Affine
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from playsite.terrain.levelling import Finish
from playsite.terrain.tie_in import tie_in

LENGTH_M, WIDTH_M = 31.6, 22.7
BANK = 1 / 4
PAD = (50, 50, 0, LENGTH_M, WIDTH_M)


def plane(grade_pct, direction_deg, *, cell_m=0.5, side_m=100.0):
    cells = round(side_m / cell_m)
    centres = (np.arange(cells) + 0.5) * cell_m - side_m / 2
    turn = math.radians(direction_deg)
    east, south = np.meshgrid(centres, centres)
    fall = east * math.sin(turn) - south * math.cos(turn)
    return 300 - grade_pct / 100 * fall, Affine(cell_m, 0, 0, 0, -cell_m, side_m)


def level(height_m):
    return Finish(0, 0, 300 + height_m, 50, 50)


def on_a_slope(slope, finish):
    """Fill of the banks of a pad with its length on the contour, by integrals over the strips."""
    difference = slope - finish
    edge_m = difference * WIDTH_M / 2
    long_side = LENGTH_M * edge_m**2 / (2 * (BANK - slope))
    # half of each short side is filled; the ground there runs level away from the pad
    short_sides = 2 * difference**2 * (WIDTH_M / 2) ** 3 / (6 * BANK)
    corner, _ = quad(lambda a: edge_m**3 / (6 * (BANK - slope * math.sin(a)) ** 2), 0, math.pi / 2)
    return long_side + short_sides + 2 * corner


@given(direction_deg=st.floats(0, 360), slope_pct=st.floats(3, 9))
@settings(max_examples=20, deadline=None)
def test_banks_on_a_slope_are_the_integrals_over_their_strips(direction_deg, slope_pct):
    ground, transform = plane(slope_pct, direction_deg)
    pad = (50, 50, 180 - direction_deg, LENGTH_M, WIDTH_M)
    banks = tie_in(ground, transform, pad, Finish(1.5, direction_deg, 300, 50, 50))
    expected_m3 = on_a_slope(slope_pct / 100, 0.015)
    assert banks.fill_m3 == pytest.approx(expected_m3, rel=0.005)
    assert banks.cut_m3 == pytest.approx(expected_m3, rel=0.005)
    assert banks.walls == ()
    assert banks.unknown_m == 0


@pytest.mark.parametrize("up", [1, -1])
def test_a_pad_above_or_below_level_ground_has_prisms_and_one_cone(up):
    ground, transform = plane(0, 0)
    banks = tie_in(ground, transform, PAD, level(up * 1.0))
    around_m = 2 * (LENGTH_M + WIDTH_M)
    volume_m3 = around_m * 2 + math.pi * 4**2 / 3
    assert (banks.fill_m3, banks.cut_m3)[:: int(up)] == pytest.approx((volume_m3, 0), rel=1e-6)
    assert banks.area_m2 == pytest.approx(around_m * 4 + math.pi * 4**2)
    assert banks.longest_run_m == pytest.approx(4)
    assert banks.footprint.area == pytest.approx(banks.area_m2 + LENGTH_M * WIDTH_M, rel=0.005)


def test_an_inner_corner_is_counted_once():
    ground, transform = plane(0, 0, cell_m=0.25)
    outline = shapely.Polygon([(30, 30), (70, 30), (70, 50), (50, 50), (50, 70), (30, 70)])
    banks = tie_in(ground, transform, outline, level(1.0))
    cone, lost = (math.pi / 2) * 4**2 / 6, 4**2 / 6
    assert banks.fill_m3 == pytest.approx(160 * 2 + 5 * cone - 2 * lost, rel=0.003)
    assert banks.walls == ()
    # the area by shapely's own offset
    assert banks.area_m2 == pytest.approx(outline.buffer(4).area - outline.area, rel=0.005)


def test_a_pad_on_the_ground_has_no_banks():
    ground, transform = plane(1.5, 200)
    banks = tie_in(ground, transform, PAD, Finish(1.5, 200, 300, 50, 50))
    assert banks.area_m2 == pytest.approx(0, abs=1e-6)
    assert banks.footprint.area == pytest.approx(LENGTH_M * WIDTH_M)


def land(south_m):
    """Land with this much room south of the pad and plenty elsewhere."""
    return shapely.box(10, 50 - WIDTH_M / 2 - south_m, 90, 90)


def test_with_too_little_room_the_bank_is_steeper_and_then_ends_in_a_wall():
    ground, transform = plane(0, 0)
    roomy = tie_in(ground, transform, PAD, level(1.0), land=land(4.1))
    assert (roomy.steeper_m, roomy.walls) == (0, ())
    steeper = tie_in(ground, transform, PAD, level(1.0), land=land(3.5))
    assert steeper.steeper_m == pytest.approx(LENGTH_M)
    assert steeper.walls == ()
    assert steeper.fill_m3 < roomy.fill_m3
    (wall,) = tie_in(ground, transform, PAD, level(1.0), land=land(2.0)).walls
    assert wall.kind == "fill"
    assert wall.height_m == pytest.approx(1 - 2 / 3)
    assert not wall.needs_permit
    # along the side, and about the corners on as far as the land is nearer than the bank is long:
    # at the angle a from the side's normal the land ends 2 / cos(a) away
    about_m = 2 * 2 * math.acos(2 / (3 * (1 - 0.15)))
    assert wall.length_m == pytest.approx(LENGTH_M + about_m, rel=0.05)
    assert wall.line.length == pytest.approx(wall.length_m, rel=0.1)
    assert wall.line.distance(shapely.LineString([(40, 36.65), (60, 36.65)])) < 1e-6


def test_at_the_land_s_edge_the_wall_is_as_high_as_the_pad_and_lower_is_a_curb():
    ground, transform = plane(0, 0)
    own = shapely.box(50 - LENGTH_M / 2, 50 - WIDTH_M / 2, 50 + LENGTH_M / 2, 50 + WIDTH_M / 2)
    around = tie_in(ground, transform, PAD, level(-1.5), land=own)
    (wall,) = around.walls
    assert (wall.kind, wall.needs_permit) == ("cut", True)
    assert wall.height_m == pytest.approx(1.5)
    assert wall.length_m == pytest.approx(2 * (LENGTH_M + WIDTH_M))
    assert wall.face_m2 == pytest.approx(1.5 * wall.length_m)
    assert around.cut_m3 == 0
    assert tie_in(ground, transform, PAD, level(0.1), land=own).walls == ()


def test_a_tree_in_the_way_is_held_by_a_short_wall_wherever_the_outline_starts():
    ground, transform = plane(0, 0)
    tree = shapely.Point(50, 50 - WIDTH_M / 2 - 3).buffer(2)
    for outline in (PAD, _starting_before_the_tree()):
        (wall,) = tie_in(ground, transform, outline, level(1.0), in_the_way=tree).walls
        assert 3 < wall.length_m < 4.2
        assert wall.height_m == pytest.approx(1 - 1 / 3, abs=0.01)


def _starting_before_the_tree():
    west, south = 50 - LENGTH_M / 2, 50 - WIDTH_M / 2
    east, north = 50 + LENGTH_M / 2, 50 + WIDTH_M / 2
    return shapely.Polygon(
        [(50.1, south), (east, south), (east, north), (west, north), (west, south)]
    )


def test_ground_that_falls_as_steeply_as_the_bank_is_never_met():
    ground, transform = plane(34, 180)
    banks = tie_in(ground, transform, PAD, level(0.0), reach_m=12)
    assert {wall.kind for wall in banks.walls} == {"fill", "cut"}
    highest_m = max(wall.height_m for wall in banks.walls)
    assert highest_m == pytest.approx(0.34 * WIDTH_M / 2 + (0.34 - 1 / 3) * 12, rel=0.01)


def test_a_bank_into_unknown_ground_is_told():
    ground, transform = plane(0, 0)
    ground[150:] = np.nan  # south of 25
    assert tie_in(ground, transform, PAD, level(1.0)).unknown_m == 0
    ground[125:] = np.nan  # south of 37.5, and so 1 m inside the pad
    assert tie_in(ground, transform, PAD, level(1.0)).unknown_m == pytest.approx(LENGTH_M, rel=0.1)


@pytest.mark.parametrize(
    "options",
    [{"run_per_rise": 2}, {"steepest_run_per_rise": 0}, {"reach_m": 0}, {"reach_m": math.nan}],
)
def test_figures_that_make_no_sense_are_refused(options):
    ground, transform = plane(0, 0)
    with pytest.raises(ValueError, match="Banks must be"):
        tie_in(ground, transform, PAD, level(1.0), **options)


def test_banks_that_are_dug_and_placed_are_drawn_apart():
    """Up the slope the banks are dug, down the slope placed; together they are all of them."""
    ground, transform = plane(8, 180)
    banks = tie_in(ground, transform, PAD, Finish(2, 180, 300, 50, 50))
    pad = shapely.box(50 - LENGTH_M / 2, 50 - WIDTH_M / 2, 50 + LENGTH_M / 2, 50 + WIDTH_M / 2)
    assert banks.cut_shape.centroid.y > 50 > banks.fill_shape.centroid.y
    for shape in (banks.cut_shape, banks.fill_shape):
        assert shape.intersection(pad).area < 0.1
    both = banks.cut_shape.area + banks.fill_shape.area
    assert both == pytest.approx(banks.area_m2, rel=0.02)
