import numpy as np
import pytest

from playsite.terrain.pad_plane import cells_a_piece


def brute_force(length_m, width_m, noise_length_m):
    """Variance of the slope along the length over that with white noise, from w' C w itself."""
    x, y = np.meshgrid(np.arange(length_m) + 0.5, np.arange(width_m) + 0.5)
    x, y = x.ravel() - length_m / 2, y.ravel()
    alike = np.exp(-((x[:, None] - x) ** 2 + (y[:, None] - y) ** 2) / (2 * noise_length_m**2))
    return x @ alike @ x / (x @ x)


@pytest.mark.parametrize("noise_length_m", [1, 2, 4, 8])
def test_the_integral_is_the_variance_of_the_sum(noise_length_m):
    sides = brute_force(32, 22, noise_length_m), brute_force(22, 32, noise_length_m)
    pieces = cells_a_piece((16, 11), noise_length_m=noise_length_m, cell_area_m2=1)
    assert pieces == pytest.approx(max(sides), rel=0.02)


def test_short_noise_counts_by_the_integral_of_its_correlation():
    pieces = cells_a_piece((160, 110), noise_length_m=2, cell_area_m2=1)
    assert pieces == pytest.approx(2 * np.pi * 2**2, rel=0.05)


@pytest.mark.parametrize("noise_length_m", [0, 0.01, 0.2])
def test_noise_within_a_cell_is_independent(noise_length_m):
    assert cells_a_piece((16, 11), noise_length_m=noise_length_m, cell_area_m2=1) == 1
