import numpy as np
import pytest
from scipy.ndimage import gaussian_filter

from playsite.terrain.noise import white_noise_m

CELLS = 400


def noisy(sd_m, seed=0, *, correlated_over=0.0):
    white = np.random.default_rng(seed).normal(size=(CELLS, CELLS))
    if correlated_over:
        white = gaussian_filter(white, correlated_over)
        white /= white.std()
    return sd_m * white


GROUNDS = {
    "level": 0 * noisy(1),
    "slope": np.add.outer(0.08 * np.arange(CELLS), 0.03 * np.arange(CELLS)),
    "hills": noisy(3, 9, correlated_over=15),
    "terraces": np.floor(np.add.outer(np.arange(CELLS), np.zeros(CELLS)) / 12),
}


@pytest.mark.parametrize("ground", GROUNDS)
@pytest.mark.parametrize("sd_m", [0.02, 0.05, 0.15])
def test_independent_noise_is_recovered_within_a_tenth(ground, sd_m):
    found_m = white_noise_m(GROUNDS[ground] + noisy(sd_m), cell_m=1)
    assert found_m == pytest.approx(sd_m, rel=0.1)


def test_missing_and_flattened_ground_does_not_count():
    ground = noisy(0.05)
    ground[:250] = 7
    ground[300:, 200:] = np.nan
    assert white_noise_m(ground, cell_m=1) == pytest.approx(0.05, rel=0.1)


def test_noise_that_is_correlated_is_read_too_low():
    assert white_noise_m(noisy(0.05, correlated_over=2), cell_m=1) < 0.02


def test_a_plane_has_no_noise():
    assert white_noise_m(GROUNDS["slope"], cell_m=1) == pytest.approx(0, abs=1e-12)


def test_a_large_raster_is_sampled():
    rng = np.random.default_rng(3)
    found_m = white_noise_m(rng.normal(0, 0.05, (2600, 2100)).astype(np.float32), cell_m=0.5)
    assert found_m == pytest.approx(0.05, rel=0.02)


@pytest.mark.parametrize(
    ("ground", "cell_m"),
    [
        (noisy(0.05), 10),
        (noisy(0.05)[:10, :10], 1),
        (noisy(0.05)[:2], 1),
        (np.full((50, 50), np.nan), 1),
        (np.zeros((50, 50)), 1),
    ],
)
def test_cells_too_coarse_or_too_few_give_no_estimate(ground, cell_m):
    assert white_noise_m(ground, cell_m=cell_m) is None


def test_a_cell_of_no_size_is_refused():
    with pytest.raises(ValueError, match="above 0 m, but it is 0"):
        white_noise_m(noisy(0.05), cell_m=0)
