"""False friends of the ground: figures that look right and are not."""

import numpy as np
import pytest
from affine import Affine
from scipy import ndimage

from playsite.terrain.flat_water import level_patches
from playsite.terrain.grade import cell_grade_pct, pad_grade
from playsite.terrain.low_spots import filled, low_spot_share_pct, low_spots
from playsite.terrain.noise import white_noise_m

CELLS = 200
METRE = Affine(1, 0, 0, 0, -1, CELLS)
PAD = {"length_m": 32, "width_m": 22}


def places(step=20, turned=30):
    x, y = np.meshgrid(np.arange(30, 171, step), np.arange(30, 171, step))
    return np.column_stack([x.ravel(), y.ravel(), np.full(x.size, float(turned))])


def lawn(grade_pct, *, noise_m=0.05, seed=0):
    noise = np.random.default_rng(seed).normal(0, noise_m, (CELLS, CELLS))
    return noise + grade_pct / 100 * np.arange(CELLS)


def test_the_mean_of_cell_grades_makes_level_noisy_ground_steep():
    found = pad_grade(lawn(0), METRE, places(), **PAD, noise_m=0.05, with_cells=True)
    assert found.cell_mean_pct.mean() == pytest.approx(2.7, abs=0.05)
    assert (found.grade_pct < 0.1).all()
    assert np.median(found.grade_pct) < 0.05
    assert (found.low_pct == 0).mean() > 0.75  # pads overlap: 0.9 on the whole


def test_noise_that_is_correlated_tilts_a_pad_more_and_the_interval_says_so():
    noise = ndimage.gaussian_filter(lawn(0), 4 / np.sqrt(2), mode="wrap")
    noise *= 0.05 / noise.std()
    found = pad_grade(noise, METRE, places(), **PAD, noise_m=0.05, noise_length_m=4)
    assert np.mean(found.grade_pct) == pytest.approx(0.26, abs=0.1)
    assert (found.low_pct == 0).mean() > 0.75  # pads overlap: 0.9 on the whole
    assert (found.high_pct > 0.25).all()


def test_degrees_are_not_per_cent():
    five_degrees = np.tile(np.tan(np.radians(5)) * np.arange(CELLS), (CELLS, 1))
    found = pad_grade(five_degrees, METRE, places(), **PAD)
    np.testing.assert_allclose(found.grade_pct, 8.7489, atol=1e-4)
    assert cell_grade_pct(five_degrees, cell_m=1)[50, 50] == pytest.approx(8.7489, abs=1e-4)


def test_five_per_cent_is_five_per_cent_with_its_aspect():
    found = pad_grade(lawn(5, noise_m=0), METRE, places(), **PAD)
    np.testing.assert_allclose(found.grade_pct, 5, atol=0.01)
    np.testing.assert_allclose(found.aspect_deg, 270)


def test_the_terrace_on_a_steep_parcel_is_found_and_the_mean_slope_hides_it():
    rows, columns = np.indices((CELLS, CELLS))
    ground = 0.12 * columns.astype(float)
    terrace = (np.abs(columns - 99.5) < 17.5) & (np.abs(rows - 119.5) < 12.5)
    ground[terrace] = 12
    x, y = np.meshgrid(np.arange(30, 171, 2), np.arange(30, 171, 2))
    where = np.column_stack([x.ravel(), y.ravel(), 0 * x.ravel()])
    found = pad_grade(ground, METRE, where, **PAD)
    best = np.nanargmin(found.grade_pct)
    assert where[best].tolist() == [100, 80, 0]
    assert found.grade_pct[best] < 1
    assert np.nanmean(cell_grade_pct(ground, cell_m=1)) > 10


def with_lake(level_m=1.0):
    ground = lawn(2)
    lake = np.hypot(*(np.indices(ground.shape) - 100)) < 40
    ground[lake] = level_m
    return ground, lake


def test_a_flattened_lake_is_the_levelest_place_until_it_is_masked():
    ground, lake = with_lake()
    in_lake = [[100, 100, 0]]
    assert pad_grade(ground, METRE, in_lake, **PAD).grade_pct[0] == 0
    water = level_patches(ground, METRE) > 0
    assert water[lake].all()
    masked = np.where(water, np.nan, ground)
    found = pad_grade(masked, METRE, places(5), **PAD)
    wet = np.hypot(*(places(5)[:, :2] - 100).T) < 45
    assert np.isnan(found.grade_pct[wet]).all()
    assert np.isnan(pad_grade(masked, METRE, in_lake, **PAD).grade_pct[0])
    assert np.isfinite(found.grade_pct).any()


def test_a_masked_lake_drains_what_lies_around_it_and_is_no_low_spot():
    ground, lake = with_lake(level_m=0.5)
    assert low_spots(ground, METRE, noise_m=0.05).area_m2.max() > 1000
    masked = np.where(lake, np.nan, ground)
    spots = low_spots(masked, METRE, noise_m=0.05)
    assert spots.area_m2.sum() < 20
    share_pct = low_spot_share_pct(spots.labels, METRE, [[100, 100, 0]], **PAD)
    assert np.isnan(share_pct[0])


@pytest.mark.parametrize("seed", range(4))
def test_pits_of_noise_on_a_sloping_lawn_are_not_low_spots(seed):
    ground = lawn(2, seed=seed)
    wet = filled(ground) > ground
    _, raw_pits = ndimage.label(wet, np.ones((3, 3)))
    assert raw_pits > 1000
    assert wet.mean() > 0.06
    assert len(low_spots(ground, METRE, noise_m=0.05).id) == 0


def test_correlated_noise_that_is_taken_for_independent_makes_low_spots():
    found = {"white": 0, "correlated": 0}
    for seed in range(5):
        noise = ndimage.gaussian_filter(lawn(0, seed=seed), 4 / np.sqrt(2), mode="wrap")
        noise *= 0.05 / noise.std()
        found["white"] += len(low_spots(noise, METRE, noise_m=0.05).id)
        found["correlated"] += len(low_spots(noise, METRE, noise_m=0.05, noise_length_m=4).id)
    assert found["white"] > 20
    assert found["correlated"] <= 5


def bowl_in_a_slope():
    rows, columns = np.indices((CELLS, CELLS)) - 100.0
    dug = 0.30 * np.maximum(1 - (rows**2 + columns**2) / 6.9**2, 0)
    return 0.02 * columns - dug


def test_a_bowl_in_a_slope_holds_less_than_it_was_dug_deep():
    # derived: the slope opens the downhill rim; spill -0.138, bottom -0.316, 0.18 m closed
    spots = low_spots(bowl_in_a_slope(), METRE, noise_m=0.0)
    assert spots.depth_m == pytest.approx([0.178], abs=0.01)
    assert spots.spill_m == pytest.approx([-0.138], abs=0.01)


@pytest.mark.parametrize("seed", range(4))
def test_the_bowl_is_found_under_noise(seed):
    ground = bowl_in_a_slope() + lawn(0, seed=seed)
    spots = low_spots(ground, METRE, noise_m=0.05)
    assert spots.depth_m == pytest.approx([0.178], abs=0.06)
    assert (spots.labels[94:107, 94:107] == 1).any()


def test_the_bowl_cannot_be_told_from_noise_that_is_correlated():
    spots = low_spots(bowl_in_a_slope() + lawn(0), METRE, noise_m=0.06, noise_length_m=4)
    assert spots.threshold_m > 0.178
    assert len(spots.id) == 0


def test_heights_of_a_mountain_in_32_bits_keep_their_grade():
    ground = (3000 + lawn(2, noise_m=0)).astype(np.float32)
    np.testing.assert_allclose(pad_grade(ground, METRE, places(), **PAD).grade_pct, 2, atol=1e-3)
    inner = cell_grade_pct(ground, cell_m=1)[1:-1, 1:-1]
    assert inner.mean() == pytest.approx(2, abs=1e-3)


def test_noise_is_read_from_noisy_ground_and_not_from_its_slope():
    assert white_noise_m(lawn(10), cell_m=1) == pytest.approx(0.05, rel=0.1)
