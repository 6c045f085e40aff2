import math

import numpy as np
import pytest
from affine import Affine

from playsite.terrain._spectrum import (
    deviations,
    drawn_fields,
    fitted_spectrum,
    gaussian_power,
    likeliest_ground,
)
from playsite.terrain.credible import credible_low_spots
from playsite.terrain.filling import filled

CELLS = 96
ROWS, COLUMNS = np.indices((CELLS, CELLS))
BOWL = np.minimum(0, 0.30 * (((ROWS - 48) ** 2 + (COLUMNS - 48) ** 2) / 6.9**2 - 1))
"""Golden 9: 0.30 m deep, radius 6.9 m; in a slope of 2 % closed to 0.175 m."""


def square(cells=CELLS, cell_m=1.0):
    return Affine(cell_m, 0, 430_000, 0, -cell_m, 5_150_000 + cells * cell_m)


def slope(grade=0.02):
    return 100 + grade * ROWS[::-1].astype(float)


def noise(seed, length_m=0.0, *, sd_m=0.05, cells=CELLS):
    wide = (2 * cells, 2 * cells)
    drawn = drawn_fields(
        gaussian_power(wide, 1.0, sd_m, length_m), count=1, rng=np.random.default_rng(seed)
    )
    return next(drawn)[:cells, :cells]


def found(ground, **options):
    return credible_low_spots(ground, square(len(ground)), **({"noise_m": 0.05} | options))


# --- Golden tests of the trade ----------------------------------------------------------------


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("length_m", [0, 4])
@pytest.mark.parametrize("grade", [0.02, 0.003])
def test_a_noisy_slope_without_hollows_shows_none(grade, length_m, seed):
    # golden 8
    spots = found(slope(grade) + noise(seed, length_m), noise_length_m=length_m)
    assert len(spots.id) == 0
    assert not spots.labels.any()
    assert spots.resolvable is (length_m == 0)


def test_the_bowls_closed_depth_is_less_than_its_depth():
    ground = slope() + BOWL
    assert (filled(ground) - ground).max() == pytest.approx(0.175, abs=0.001)


@pytest.mark.parametrize("seed", range(8))
def test_a_bowl_in_a_slope_is_found_in_independent_noise(seed):
    # golden 9: P > .95, closed depth 0.18 +- 0.06
    spots = found(slope() + BOWL + noise(seed))
    assert spots.standing == ("credible",)
    assert spots.probability[0] > 0.95
    low, middle, high = spots.depth_m[0]
    assert low <= middle <= high
    assert middle == pytest.approx(0.175, abs=0.06)
    assert spots.labels[48, 48] == 1
    assert spots.resolvable


@pytest.mark.parametrize("seed", range(8))
def test_a_bowl_in_a_slope_cannot_be_told_in_noise_correlated_over_4_m(seed):
    # golden 9: the right answer is to say so
    spots = found(slope() + BOWL + noise(seed, 4), noise_length_m=4)
    assert not spots.resolvable
    assert spots.resolvable_probability < 0.6
    assert "credible" not in spots.standing


# --- Figures ----------------------------------------------------------------------------------


def test_a_sharp_hollow_has_the_figures_of_its_shape():
    # 2 % slope of 96 m; a pit of 11 x 11 cells, 1 m below its lower rim: known by counting
    ground = slope()
    ground[40:51, 30:41] = ground[51, 30] - 1
    spots = found(ground, noise_m=0.002)
    assert spots.probability == [1.0]
    np.testing.assert_allclose(spots.depth_m, 1.0, atol=0.03)
    np.testing.assert_allclose(spots.spill_m, ground[51, 30], atol=0.03)
    np.testing.assert_allclose(spots.area_m2, 121, atol=12)
    np.testing.assert_allclose(spots.volume_m3, 121, rtol=0.05)
    east, north = spots.spill_point[0]
    assert 430_029 < east < 430_042
    assert north == pytest.approx(5_150_000 + CELLS - 51.5, abs=1.1)
    # what lies straight above it, and some from beside; the window's edge cuts it
    assert 11 * 51 - 22 < spots.catchment_m2[0] < 2 * 11 * 51
    assert spots.catchment_cut[0]


def test_the_same_input_gives_the_same_output():
    ground = slope() + BOWL + noise(3)
    one, two = found(ground), found(ground)
    for name, value in vars(one).items():
        np.testing.assert_array_equal(value, getattr(two, name))
    other = found(ground, seed=1)
    assert (other.depth_m != one.depth_m).any()


def test_heights_far_from_nothing_and_turned_round_change_nothing_that_matters():
    ground = slope() + BOWL + noise(4)
    one, high = found(ground), found(ground + 3000)
    turned = found(np.rot90(ground).copy())
    np.testing.assert_allclose(one.probability, high.probability, atol=0.01)
    np.testing.assert_allclose(one.depth_m, high.depth_m, atol=1e-4)
    np.testing.assert_allclose(one.depth_m, turned.depth_m, atol=0.03)


def test_missing_cells_stay_missing_and_take_water_away():
    ground = slope() + BOWL + noise(5)
    ground[:, :20] = np.nan
    ground[70:74, 60:64] = np.nan
    spots = found(ground)
    np.testing.assert_array_equal(spots.labels == -1, np.isnan(ground))
    np.testing.assert_array_equal(np.isnan(spots.likeliest_m), np.isnan(ground))
    assert spots.standing == ("credible",)
    ground[46:51, 46:51] = np.nan
    assert "credible" not in found(ground).standing


@pytest.mark.parametrize("kind", [np.float32, np.float64])
def test_32_bit_heights_do(kind):
    assert found((slope() + BOWL + noise(6)).astype(kind)).standing == ("credible",)


@pytest.mark.parametrize(
    "ground",
    [np.zeros((15, 40)), np.full((40, 40), np.nan), np.where(COLUMNS < 50, np.nan, 1.0)],
)
def test_too_little_known_says_so(ground):
    spots = credible_low_spots(ground, square(len(ground)), noise_m=0.05)
    assert len(spots.id) == len(spots.depth_m) == len(spots.standing) == 0
    assert not spots.resolvable
    assert math.isnan(spots.resolvable_probability)
    np.testing.assert_array_equal(spots.labels == -1, np.isnan(ground))


def test_level_ground_without_any_noise_is_no_trouble():
    spots = found(np.full((40, 40), 5.0), noise_m=None)
    assert len(spots.id) == 0
    assert spots.noise_m < 0.01


def test_coarse_cells_tell_no_bowl_of_that_size():
    rng = np.random.default_rng(0)
    spots = credible_low_spots(rng.normal(0, 0.05, (40, 40)), square(40, 10.0), noise_m=0.05)
    assert not spots.resolvable


@pytest.mark.parametrize(
    ("options", "told"),
    [
        ({"noise_m": -0.1}, "noise must be 0 or more"),
        ({"noise_length_m": math.nan}, "noise's length must be 0 or more"),
        ({"depth_m": math.inf}, "depth must be 0 or more"),
        ({"realisations": 0}, "At least one ground"),
        ({"noise_m": None, "noise_length_m": 4}, "Correlated noise can't be told"),
    ],
)
def test_what_makes_no_sense_is_refused(options, told):
    with pytest.raises(ValueError, match=told):
        found(slope(), **options)


# --- Spectra ----------------------------------------------------------------------------------


def test_independent_noise_is_read_off_the_window():
    # tried beforehand: 0.0498 +- 0.0008 for a true 0.05, on relief of 0.12 m over 7 m
    read = []
    for seed in range(10):
        relief = noise(100 + seed, 7, sd_m=0.12)
        spectrum = fitted_spectrum(relief + noise(seed), 1.0, noise_m=None, noise_length_m=0)
        read.append(spectrum.noise_m)
    assert np.mean(read) == pytest.approx(0.05, abs=0.001)
    assert np.std(read) < 0.0015


@pytest.mark.parametrize("length_m", [0.0, 1.0, 4.0])
def test_drawn_fields_have_the_variance_and_correlation_they_should(length_m):
    # the covariance asked for: s^2 exp(-d^2 / (2 L^2))
    power = gaussian_power((256, 256), 1.0, 0.05, length_m)
    fields = np.array(list(drawn_fields(power, count=21, rng=np.random.default_rng(0))))
    assert fields.shape == (21, 256, 256)
    assert fields.std() == pytest.approx(0.05, rel=0.02)
    lag = (fields[:, :, 4:] * fields[:, :, :-4]).mean() / 0.05**2
    expected = math.exp(-(4**2) / (2 * length_m**2)) if length_m else 0
    assert lag == pytest.approx(expected, abs=0.02)


def test_possible_grounds_scatter_as_far_as_the_likeliest_misses_the_truth():
    # the law of conditional simulation: mean square error = variance of the draws
    missed, scatter = [], []
    for seed in range(12):
        truth = noise(200 + seed, 7, sd_m=0.12)
        observed = truth + noise(seed)
        spectrum = fitted_spectrum(observed, 1.0, noise_m=0.05, noise_length_m=0)
        error = likeliest_ground(observed, 1.0, spectrum) - truth
        missed.append((error[12:-12, 12:-12] ** 2).mean())
        rng = np.random.default_rng(seed)
        draws = deviations(truth.shape, 1.0, spectrum, count=6, rng=rng)
        scatter.append(np.mean([draw.var() for draw in draws]))
    assert np.mean(missed) == pytest.approx(np.mean(scatter), rel=0.15)
    assert np.sqrt(np.mean(missed)) < 0.02
