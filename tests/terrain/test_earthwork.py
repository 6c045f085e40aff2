import dataclasses
import math

import numpy as np
import pytest
import shapely
from affine import Affine
from hypothesis import given
from hypothesis import strategies as st
from scipy import ndimage

from playsite.terrain.earthwork import (
    Allowances,
    Finish,
    Volume,
    average_end_area_volume,
    earthwork,
    grid_volume,
    haul_m3,
    noise_volume_m3,
    prismoidal_volume,
    ramp_length_m,
    section,
    two_levels,
)
from playsite.terrain.pad_pieces import pad_polygon

LENGTH_M, WIDTH_M = 31.6, 22.7
PAD = (40, 40, 0, LENGTH_M, WIDTH_M)


def falling_south(grade_pct, *, cell_m=0.5, side_m=80.0):
    south = (np.arange(round(side_m / cell_m)) + 0.5) * cell_m
    ground = 100 - grade_pct / 100 * np.tile(south[:, None], (1, len(south)))
    return ground, Affine(cell_m, 0, 0, 0, -cell_m, side_m)


# --- The whole ----------------------------------------------------------------------------


def test_the_whole_is_the_sum_of_its_parts():
    add = Allowances(surfacing_m2=477, box_out_m=0.4, unsuitable_share=0.1)
    whole = earthwork(*falling_south(5), PAD, allowances=add, noise_m=0.05)
    assert whole.disturbed_m2 == pytest.approx(whole.levelled.area_m2 + whole.banks.area_m2)
    assert whole.topsoil.m3 == pytest.approx(0.15 * whole.disturbed_m2)
    assert whole.box_out.m3 == pytest.approx(0.4 * 477)
    dug_m3 = whole.cut.m3 + whole.bank_cut.m3 + whole.box_out.m3
    placed_m3 = whole.fill.m3 + whole.bank_fill.m3
    assert whole.unsuitable.m3 == pytest.approx(0.1 * dug_m3)
    # what is dug and brought in is placed or taken away, in its bed
    assert dug_m3 + whole.brought_in.m3 / 0.9 == pytest.approx(
        placed_m3 / 0.9 + whole.taken_away.m3
    )
    assert whole.taken_away_loose_m3 == pytest.approx(1.25 * whole.taken_away.m3)


def test_the_box_out_is_more_than_the_levelling_on_a_gentle_site():
    add = Allowances(surfacing_m2=477)
    gentle, steep = (earthwork(*falling_south(s), PAD, allowances=add) for s in (2, 12))
    assert gentle.box_out.m3 > 5 * gentle.cut.m3
    assert steep.box_out.m3 < steep.cut.m3


def test_each_volume_has_its_error_and_none_where_the_noise_is_not_known():
    known = earthwork(*falling_south(5), PAD, noise_m=0.05)
    unknown = earthwork(*falling_south(5), PAD)
    area_m2 = LENGTH_M * WIDTH_M
    assert known.cut.plus_minus_m3 == pytest.approx(
        area_m2 * 0.05 * math.sqrt(50 * math.pi / area_m2)
    )
    assert known.cut.at_most_m3 == pytest.approx(area_m2 * 0.05)
    for name, volume in dataclasses.asdict(known).items():
        if isinstance(getattr(known, name), Volume):
            assert 0 <= volume["plus_minus_m3"] <= volume["at_most_m3"], name
    assert math.isnan(unknown.cut.plus_minus_m3)
    assert math.isnan(unknown.taken_away.at_most_m3)
    assert unknown.cut.m3 == known.cut.m3


def test_a_pad_raised_out_of_the_wet_needs_earth_from_elsewhere():
    whole = earthwork(*falling_south(0), PAD, grades_pct=(1.0,), height_m=100.5)
    assert whole.brought_in.m3 == pytest.approx(0.5 * LENGTH_M * WIDTH_M + whole.bank_fill.m3)
    assert whole.taken_away.m3 == 0


def test_unknown_ground_is_no_result():
    ground, transform = falling_south(5)
    assert earthwork(np.full_like(ground, np.nan), transform, PAD) is None


# --- Volumes ------------------------------------------------------------------------------


@given(st.floats(0, 1e4), st.floats(0, 1e4), st.floats(0.7, 1.4), st.floats(0, 1))
def test_earth_is_neither_made_nor_lost(cut_m3, fill_m3, factor, share):
    in_m3, out_m3 = haul_m3(cut_m3, fill_m3, compacted_to_bank=factor, unsuitable_share=share)
    assert cut_m3 + in_m3 / factor == pytest.approx(fill_m3 / factor + out_m3, abs=1e-6)
    assert out_m3 >= share * cut_m3 - 1e-9
    assert in_m3 >= 0


def test_the_error_is_that_of_simulated_noise():
    # an independent check: the sum over 32 x 22 cells of 1 m of smoothed white noise
    rng = np.random.default_rng(3)
    length_m = 2.0
    fields = ndimage.gaussian_filter(
        rng.normal(size=(4000, 64, 64)),
        (0, length_m / math.sqrt(2), length_m / math.sqrt(2)),
        mode="wrap",
    )
    fields *= 0.05 / fields.std()
    sums_m3 = fields[:, 10:32, 10:42].sum(axis=(1, 2))
    formula_m3 = noise_volume_m3(32 * 22, noise_m=0.05, noise_length_m=length_m, cell_m=1)
    # the formula leaves out that noise at the edge has no partners beyond: it says too much
    assert 0.85 < sums_m3.std() / formula_m3 < 1


def test_the_error_of_independent_noise_counts_cells_and_never_passes_the_limit():
    assert noise_volume_m3(400, noise_m=0.1, noise_length_m=0, cell_m=2) == pytest.approx(
        0.1 * 4 * math.sqrt(100)
    )
    assert noise_volume_m3(400, noise_m=0.1, noise_length_m=100) == pytest.approx(40)
    assert noise_volume_m3(0, noise_m=0.1, noise_length_m=5) == 0


def test_end_areas_agree_with_the_prismoid_where_areas_change_evenly():
    areas, middles = [0, 10, 20], [5, 15]
    assert average_end_area_volume(areas, spacing=7) == pytest.approx(
        prismoidal_volume(areas, middles, spacing=7)
    )
    # a pyramid: a third of base times height
    assert prismoidal_volume([9, 0], [9 / 4], spacing=5) == pytest.approx(15)


@pytest.mark.parametrize(
    "call",
    [
        lambda: average_end_area_volume([1], spacing=5),
        lambda: average_end_area_volume([1, 2], spacing=0),
        lambda: prismoidal_volume([1, 2], [1, 2], spacing=5),
        lambda: grid_volume([[1, 2]], 0, spacing=5),
        lambda: haul_m3(1, 1, compacted_to_bank=0.9, unsuitable_share=1.1),
        lambda: noise_volume_m3(-1, noise_m=0.1, noise_length_m=1),
        lambda: ramp_length_m(-1),
    ],
)
def test_figures_that_make_no_sense_are_refused(call):
    with pytest.raises(ValueError):
        call()


# --- Two levels ---------------------------------------------------------------------------


@pytest.mark.parametrize(("rotation_deg", "along_m"), [(0, WIDTH_M), (90, LENGTH_M)])
def test_two_levels_save_half_of_the_cut_on_a_plane(rotation_deg, along_m):
    ground, transform = falling_south(8)
    pad = (40, 40, rotation_deg, LENGTH_M, WIDTH_M)
    both = two_levels(ground, transform, pad, grades_pct=(2.0,), compacted_to_bank=1)
    one_m3 = 0.06 * LENGTH_M * WIDTH_M * along_m / 8
    assert both.cut_m3 == pytest.approx(one_m3 / 2, rel=0.005)
    assert both.cut_saved_m3 == pytest.approx(one_m3 / 2, rel=0.005)
    # each finish meets the ground at its own middle
    assert both.step_m == pytest.approx(0.06 * along_m / 2, rel=1e-3)
    assert both.ramp_m == pytest.approx(ramp_length_m(both.step_m))
    assert both.bank_m == pytest.approx(4 * both.step_m)
    assert both.upper_pad.centroid.y > 40 > both.lower_pad.centroid.y
    assert both.upper_pad.area == pytest.approx(both.lower_pad.area)


def test_level_or_unknown_ground_asks_for_no_second_level():
    ground, transform = falling_south(0)
    assert two_levels(ground, transform, PAD) is None
    assert two_levels(np.full_like(ground, np.nan), transform, PAD) is None


def test_a_pad_that_a_line_cuts_in_three_has_no_two_levels():
    ground, transform = falling_south(8)
    legs = shapely.box(20, 20, 60, 60) - shapely.box(30, 20, 50, 50)
    assert two_levels(ground, transform, legs) is None


@pytest.mark.parametrize(("rise_m", "runs"), [(0.762, 1), (2 * 0.762, 2), (0.77, 2)])
def test_a_ramp_has_a_landing_after_each_run(rise_m, runs):
    assert ramp_length_m(rise_m) == pytest.approx(12 * rise_m + 1.525 * (runs + 1))


def test_no_rise_no_ramp():
    assert ramp_length_m(0) == 0


# --- Section ------------------------------------------------------------------------------


def test_a_section_shows_ground_pad_and_banks():
    ground, transform = falling_south(5)
    cut = section(ground, transform, PAD, Finish(1.5, 180, 98, 40, 40), beyond_m=5)
    assert cut.distance_m[[0, -1]] == pytest.approx([-5 - WIDTH_M / 2, 5 + WIDTH_M / 2])
    np.testing.assert_allclose(cut.ground_m, 98 - 0.05 * cut.distance_m)
    pad = np.abs(cut.distance_m) < WIDTH_M / 2
    np.testing.assert_allclose(cut.finish_m[pad], 98 - 0.015 * cut.distance_m[pad])
    bank = ~pad & np.isfinite(cut.finish_m)
    # each bank is 0.397 / (0.25 - 0.05) = 1.99 m wide
    width_m = np.abs(cut.distance_m[bank]).max() - WIDTH_M / 2
    assert 1.99 <= width_m <= 1.99 + 0.25
    ends = np.flatnonzero(np.isfinite(cut.finish_m))[[0, -1]]
    np.testing.assert_array_equal(cut.finish_m[ends], cut.ground_m[ends])
    steps = np.diff(cut.finish_m) / np.diff(cut.distance_m)
    inner = steps[ends[0] + 1 : ends[1] - 1]
    assert set(np.round(inner, 3)) == {-0.015, -0.25}
    assert np.isnan(cut.finish_m[[0, -1]]).all()


def test_a_section_across_the_fall_is_level():
    ground, transform = falling_south(5)
    across = section(
        ground, transform, PAD, Finish(1.5, 180, 98, 40, 40), direction_deg=90, beyond_m=2
    )
    np.testing.assert_allclose(across.ground_m, 98)
    np.testing.assert_allclose(across.finish_m[np.abs(across.distance_m) < LENGTH_M / 2], 98)


def test_unknown_ground_ends_a_bank():
    ground, transform = falling_south(5)
    ground[105:] = np.nan  # south of 27.5, a metre beyond the pad
    cut = section(ground, transform, PAD, Finish(1.5, 180, 98, 40, 40), beyond_m=5)
    assert np.isnan(cut.finish_m[cut.distance_m > 12.6]).all()
    assert np.isnan(cut.ground_m[cut.distance_m > 12.6]).all()
    assert np.isfinite(cut.finish_m[np.abs(cut.distance_m - 11.6) < 0.2]).all()


def test_a_bank_without_room_is_steeper_and_then_ends_at_a_wall():
    """The lower edge lies 0.397 m up: at 3:1 on a fall of 5 % that takes 0.397 / (1/3 - 0.05) m."""
    ground, transform = falling_south(5)
    finish, pad = Finish(1.5, 180, 98, 40, 40), pad_polygon(PAD)

    def ending_m(room_m):
        own = pad.buffer(room_m, join_style="mitre").union(shapely.box(0, 40, 80, 80))
        cut = section(ground, transform, PAD, finish, footprint=own, beyond_m=5)
        last = np.flatnonzero(np.isfinite(cut.finish_m))[-1]
        off_m = float(cut.finish_m[last] - cut.ground_m[last])
        return float(cut.distance_m[last]) - WIDTH_M / 2, off_m

    far_m, off_m = ending_m(3.0)
    assert (far_m, off_m) == (pytest.approx(1.99, abs=0.25), 0)
    far_m, off_m = ending_m(1.45)
    assert (far_m, off_m) == (pytest.approx(0.397 / (1 / 3 - 0.05), abs=0.25), 0)
    far_m, off_m = ending_m(0.5)
    assert far_m == pytest.approx(0.5, abs=0.26)
    assert off_m == pytest.approx(0.397 - far_m * (1 / 3 - 0.05), abs=0.01)


def test_a_bank_crossed_aslant_falls_less_along_the_section():
    """A section at 45 degrees to the edge meets a bank of 4:1 as one of 4 sqrt(2) : 1 (geometry)."""
    ground, transform = falling_south(0)
    low = Finish(0.0, 0.0, float(ground[0, 0]) + 0.5, 40, 40)
    cut = section(ground, transform, PAD, low, direction_deg=135, beyond_m=4)
    steps = np.diff(cut.finish_m) / np.diff(cut.distance_m)
    sloped = steps[np.isfinite(steps) & (np.abs(steps) > 1e-9)]
    assert np.abs(sloped)[5:-5] == pytest.approx(1 / (4 * np.sqrt(2)), rel=0.01)
