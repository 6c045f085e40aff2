"""How far a probability can be taken at its word; the aims were set before it was written."""

import numpy as np
import pytest

from playsite.terrain import reliability
from playsite.terrain.reliability import Judged, conditional, judged, noise_added

NOISE = {"noise_m": 0.05}


def test_the_measures_are_those_of_the_books():
    # Brier (1950): mean of (p - o)^2; by hand
    four = Judged(np.array([1.0, 0.7, 0.3, 0.0]), np.array([True, False, True, False]))
    assert four.brier == pytest.approx((0 + 0.49 + 0.49 + 0) / 4)
    assert four.real_share == 0.5
    rows = four.bins()
    assert [row[2] for row in rows] == [1, 1, 0, 1, 1]
    assert rows[1][3:] == (pytest.approx(0.3), 1.0)
    assert np.isnan(rows[2][3])


def test_made_up_windows_are_what_they_say():
    windows = [
        reliability.made_up(seed, slope=0.01, noise_m=0.05, noise_length_m=4) for seed in range(8)
    ]
    error = np.array([window.observed_m - window.truth_m for window in windows])
    assert error.std() == pytest.approx(0.05, rel=0.1)
    relief = np.array([w.truth_m - 0.01 * np.arange(96)[:, None] for w in windows])
    assert relief.std() == pytest.approx(0.12, rel=0.1)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("noise_length_m", "most_brier", "least_real"), [(0.0, 0.10, 0.88), (4.0, 0.18, 0.75)]
)
def test_probabilities_are_calibrated_over_200_surfaces(noise_length_m, most_brier, least_real):
    found = judged(conditional, windows=200, noise_length_m=noise_length_m, **NOISE)
    assert found.brier <= most_brier
    assert found.real_share >= least_real
    for low, high, count, told, real in found.bins():
        if count >= 30:
            assert abs(told - real) <= 0.15, (low, high, count, told, real)
    assert sum(row[2] >= 30 for row in found.bins()) == 5


@pytest.mark.slow
def test_adding_noise_is_not_calibrated():
    # why the other way is taken: most of its sure spots are the noise's own
    found = judged(noise_added, windows=40, noise_length_m=0, **NOISE)
    assert found.real_share < 0.6
    assert found.brier > 0.25
