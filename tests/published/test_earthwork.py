"""Earthwork against published worked examples, and against closed forms on planes."""

import math

import numpy as np
import pytest
from affine import Affine

from playsite.terrain.earthwork import (
    Allowances,
    Finish,
    average_end_area_volume,
    earthwork,
    grid_volume,
    haul_m3,
    level_pad,
    loose_m3,
    noise_volume_m3,
    prismoidal_volume,
    ramp_length_m,
    tie_in,
)

LENGTH_M, WIDTH_M = 31.6, 22.7
PAD = (30, 30, 0, LENGTH_M, WIDTH_M)
YD, FT = 0.9144, 0.3048


@pytest.fixture(scope="module")
def slope():
    """A plane of 5 % that falls to the south, cells of 0.25 m."""
    south = (np.arange(240) + 0.5) * 0.25
    return 100 - 0.05 * np.tile(south[:, None], (1, 240)), Affine(0.25, 0, 0, 0, -0.25, 60)


def test_end_areas_of_a_railway_cut():
    # Vose, "Handbook of Railroad Construction" (19th century), article 108: base 20, slopes
    # 1.5 to 1, cuts of 0, 5, 10, 15, 0 ft at 50 ft. He prints areas 0, 137, 350, 637, 0 and the
    # sum 56,200; unrounded it is 56,250. His prismoidal total could not be read: recomputed.
    def area(cut_ft):
        return cut_ft * (20 + 1.5 * cut_ft)

    ends = [area(cut_ft) for cut_ft in (0, 5, 10, 15, 0)]
    assert ends == pytest.approx([0, 137, 350, 637, 0], abs=0.51)
    assert average_end_area_volume(ends, spacing=50) == pytest.approx(56250)
    assert average_end_area_volume([0, 137, 350, 637, 0], spacing=50) == pytest.approx(56200)
    middles = [area(cut_ft) for cut_ft in (2.5, 7.5, 12.5, 7.5)]
    # he prints 236 for 234.375
    assert middles == pytest.approx([59, 236, 483, 236], abs=1.7)
    assert prismoidal_volume(ends, middles, spacing=50) == pytest.approx(52500)


def test_the_four_corners_of_a_square():
    # question-and-answer page in the style of an examination: 50 x 50 ft, corners 87.6, 87.6,
    # 87.6, 88.6 to grade 90: 199 cubic yards of fill; 199.07 recomputed
    cut, fill = grid_volume([[87.6, 87.6], [87.6, 88.6]], 90, spacing=50)
    assert (cut, fill / 27) == pytest.approx((0, 199.07), abs=0.005)


def test_sand_moved():
    # military soil conversion table (table 10-1, read as quoted): 100 cubic yards in place are
    # 111 loose and 95 compacted
    assert loose_m3(100, loose_to_bank=1.11) == pytest.approx(111)
    brought_in, taken_away = haul_m3(100, 95, compacted_to_bank=0.95)
    assert (brought_in, taken_away) == pytest.approx((0, 0))


@pytest.mark.parametrize(
    ("grade_pct", "direction_deg", "cut_m3"),
    [
        (1.5, 180.0, 71.24),  # W |s - g| L^2 / 8, L along the fall
        (1.5, 90.0, 107.69),  # L W (p / 4 + q^2 / (12 p)), finish across the fall
    ],
)
def test_a_pad_on_a_plane(slope, grade_pct, direction_deg, cut_m3):
    # derived; the trade's own worked example says 71
    pad = level_pad(
        *slope, PAD, grades_pct=(grade_pct,), directions_deg=(direction_deg,), compacted_to_bank=1
    )
    assert pad.cut_m3 == pytest.approx(cut_m3, rel=0.005)
    assert pad.fill_m3 == pytest.approx(cut_m3, rel=0.005)
    assert pad.finish.height_m == pytest.approx(98.5, abs=1e-4)


def test_a_pad_turned_down_the_slope_costs_more(slope):
    # the trade's own worked example: 100 m3 and 0.55 m instead of 71 m3 and 0.40 m
    across, down = (
        level_pad(
            *slope,
            (30, 30, turn, LENGTH_M, WIDTH_M),
            grades_pct=(1.5,),
            directions_deg=(180.0,),
            compacted_to_bank=1,
        )
        for turn in (0, 90)
    )
    assert down.cut_m3 == pytest.approx(0.035 * WIDTH_M * LENGTH_M**2 / 8, rel=0.005)
    assert (round(across.cut_m3), round(down.cut_m3, -1)) == (71, 100)
    assert across.deepest_cut_m == pytest.approx(0.40, abs=0.01)
    assert down.deepest_cut_m == pytest.approx(0.55, abs=0.01)


def test_shrinking_earth_lowers_the_pad(slope):
    # a = H (sqrt f - 1) / (sqrt f + 1), H = |d| L / 2; cut = W (H - a)^2 / (2 |d|): derived
    pad = level_pad(*slope, PAD, grades_pct=(1.5,), directions_deg=(180.0,), compacted_to_bank=0.9)
    assert pad.finish.height_m - 98.5 == pytest.approx(-0.0105, abs=5e-5)
    assert pad.cut_m3 == pytest.approx(75.04, rel=0.005)
    assert pad.fill_m3 == pytest.approx(67.54, rel=0.005)


@pytest.mark.parametrize(("ground_pct", "cut_yd3"), [(2, 13), (5, 93), (8, 174)])
def test_levelling_of_the_trade_s_worked_example(ground_pct, cut_yd3):
    # 104 x 74.5 ft, finish 1.5 % with the fall: 13 cubic yards at 2 %, 93 at 5 %, 174 at 8 %
    south = (np.arange(240) + 0.5) * 0.25
    ground = 100 - ground_pct / 100 * np.tile(south[:, None], (1, 240))
    pad = level_pad(
        ground,
        Affine(0.25, 0, 0, 0, -0.25, 60),
        (30, 30, 0, 104 * FT, 74.5 * FT),
        grades_pct=(1.5,),
        directions_deg=(180.0,),
        compacted_to_bank=1,
    )
    assert pad.cut_m3 / YD**3 == pytest.approx(cut_yd3, abs=0.55)


def test_banks_on_a_plane(slope):
    # run e / (1/4 - s), prism e^2 / (2 (1/4 - s)): 0.40 m on 5 % gives 2.0 m and 0.40 m3 a metre,
    # 12.6 m3 on each long side: derived
    grade_pct = 5 - 100 * 0.40 / (WIDTH_M / 2)
    banks = tie_in(*slope, PAD, Finish(grade_pct, 180, 98.5, 30, 30))
    # the corners' fans start square to the side, where the run is the side's own
    assert banks.longest_run_m == pytest.approx(2.0, abs=0.005)
    difference = 0.40 / (WIDTH_M / 2)
    short_sides_m3 = 2 * difference**2 * (WIDTH_M / 2) ** 3 / (6 / 4)
    angle = (np.arange(1000) + 0.5) / 1000 * math.pi / 2
    corners_m3 = 2 * np.mean(0.4**3 / (6 * (0.25 - 0.05 * np.sin(angle)) ** 2)) * math.pi / 2
    long_side_m3 = banks.fill_m3 - short_sides_m3 - corners_m3
    assert long_side_m3 == pytest.approx(12.64, rel=0.005)
    assert banks.cut_m3 == pytest.approx(banks.fill_m3, rel=0.005)
    assert long_side_m3 / 71.24 == pytest.approx(0.18, abs=0.005)


def test_topsoil_and_box_out_of_the_trade_s_worked_example(slope):
    # 7,740 square feet: 143 cubic yards of topsoil at half a foot; 5,140 square feet of surfacing:
    # 254 cubic yards at 16 in
    pad_m2, surfacing_m2 = 7740 * FT**2, 5140 * FT**2
    pad = (30, 30, 0, LENGTH_M, pad_m2 / LENGTH_M)
    add = Allowances(topsoil_m=FT / 2, surfacing_m2=surfacing_m2, box_out_m=16 / 12 * FT)
    whole = earthwork(*slope, pad, allowances=add)
    on_pad_m3 = whole.topsoil.m3 - add.topsoil_m * whole.banks.area_m2
    assert on_pad_m3 / YD**3 == pytest.approx(143, abs=0.5)
    assert whole.box_out.m3 / YD**3 == pytest.approx(254, abs=0.5)


def test_the_error_of_a_volume():
    # derived: 5 cm on 719 m2, correlated over 5 m, is 17 m3; all in one direction 36 m3
    area_m2 = LENGTH_M * WIDTH_M
    assert noise_volume_m3(area_m2, noise_m=0.05, noise_length_m=5) == pytest.approx(17, abs=0.5)
    assert noise_volume_m3(area_m2, noise_m=0.05, noise_length_m=1e3) == pytest.approx(36, abs=0.5)


@pytest.mark.parametrize(("rise_m", "length_m"), [(1, 16.6), (2, 30.1), (3, 43.6)])
def test_ramps_with_their_landings(rise_m, length_m):
    # ADA Standards (2010), 405 (from memory): 1 in 12, 30 in at the most between landings of 60 in
    assert ramp_length_m(rise_m) == pytest.approx(length_m, abs=0.05)
