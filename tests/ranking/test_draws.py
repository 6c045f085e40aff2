"""Chance numbers by name: of the law they claim, and of one name apart from those of another."""

import numpy as np
from scipy.stats import kstest

from playsite.ranking.draws import NORMAL, even, normal

COUNT = 10_000
ROWS = [f"{site}-001\n{name}" for site in range(100, 120) for name in ("grade", "shade", "fit")]


def test_each_row_follows_its_law():
    # Kolmogorov and Smirnov's test, scipy's: of 60 rows the least chance is seldom under 1 in 6,000
    least = min(kstest(even(0, name, COUNT), "uniform").pvalue for name in ROWS)
    assert least > 1e-4
    drawn = np.array([normal(0, name, COUNT) for name in ROWS])
    assert np.abs(drawn.mean(axis=1)).max() < 4.5 / np.sqrt(COUNT)
    assert np.abs((drawn**2).mean(axis=1) - 1).max() < 4.5 * np.sqrt(2 / COUNT) + 1e-3
    assert abs(drawn.mean()) < 4 / np.sqrt(drawn.size)


def test_the_table_is_the_normal_law():
    assert np.array_equal(NORMAL, -NORMAL[::-1])
    assert abs((NORMAL**2).mean() - 1) < 1e-3
    # from tables of the normal law: a twentieth lies below -1.645, and 2.0627 is the mean of it
    twentieth = NORMAL[: round(0.05 * len(NORMAL))]
    assert abs(twentieth.max() + 1.645) < 0.01
    assert abs(twentieth.mean() + 2.0627) < 0.01


def test_rows_of_different_names_have_nothing_to_do_with_each_other():
    drawn = np.array([normal(0, name, COUNT) for name in [*ROWS, "grade", "shade", "fit"]])
    apart = np.corrcoef(drawn)[np.triu_indices(len(drawn), k=1)]
    assert np.abs(apart).max() < 5 / np.sqrt(COUNT)
    lagged = [np.corrcoef(row[:-lag], row[lag:])[0, 1] for row in drawn for lag in (1, 2, 3)]
    assert np.abs(lagged).max() < 4.5 / np.sqrt(COUNT)


def test_a_row_is_the_same_each_time_and_begins_alike_however_long():
    assert np.array_equal(even(3, "é", 5), even(3, "é", 50)[:5])
    assert not np.array_equal(even(3, "é", 5), even(4, "é", 5))
    assert not np.array_equal(even(3, "e", 5), even(3, "é", 5))
