"""Can two sites be told apart on present data? If not, which field measurement helps most."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from scipy.stats import norm

if TYPE_CHECKING:
    from collections.abc import Mapping

    from playsite.ranking._share_search import Array

__all__ = [
    "DRAWS",
    "SEPARABLE",
    "best_measurements",
    "drawn_totals",
    "normal_probability_ahead",
    "probability_ahead",
    "score_intervals",
]

DRAWS = 10_000
SEPARABLE = 0.75
"""Below this probability the order is not separable on present data (common practice, no source)."""
Z95 = 1.6448536269514722
"""The 95th percentile of the normal law: low and high are the 5th and the 95th."""


def drawn_totals(
    scores: pd.DataFrame,
    low: pd.DataFrame | None,
    high: pd.DataFrame | None,
    weights: Mapping[str, float],
    *,
    shared: Mapping[str, float] | None = None,
    count: int = DRAWS,
    seed: int = 0,
) -> pd.DataFrame:
    """Weighted scores of all sites, drawn together from the interval of each single score.

    A known score is drawn from two half normal laws that meet at it, with the 5th and the 95th
    percentile at ``low`` and ``high``, cut off at 0 and 1; an unknown one evenly from ``low`` to
    ``high``, or from 0 to 1. The draws of a site depend on its name, not on who else is there.

    Parameters
    ----------
    scores, low, high
        One row a site, one column a criterion, 0 to 1; NaN: unknown, or no interval is known.
    weights
        By criterion; their scale does not matter.
    shared
        By criterion, the correlation of the error at any two sites, 0 to 1: what comes from one
        survey of one date is wrong in the same way everywhere. Absent: 0, which is on the side
        of "not separable".

    Returns
    -------
    pd.DataFrame
        One row a draw, one column a site: ``count`` x sites numbers, so give the few that matter.
    """
    names = [name for name in scores.columns if weights.get(name, 0) > 0]
    least, most = _bounds(scores, low, high)
    whole = sum(float(weights[name]) for name in names)
    given = {site: np.zeros(count) for site in scores.index}
    for name in names:
        common, part = _normal(seed, name, count), (shared or {}).get(name, 0.0)
        column = scores[name].to_numpy(float)
        for at, site in enumerate(scores.index):
            ends = (float(least[name].iloc[at]), float(most[name].iloc[at]))
            own = _normal(seed, f"{site}\n{name}", count)
            if np.isnan(column[at]):
                value = ends[0] + (ends[1] - ends[0]) * norm.cdf(own)
            elif ends[0] == ends[1]:
                value = column[at]
            else:
                z = np.sqrt(part) * common + np.sqrt(1 - part) * own
                reach = np.where(z > 0, ends[1] - column[at], column[at] - ends[0])
                value = np.clip(column[at] + reach * z / Z95, 0, 1)
            given[site] += float(weights[name]) / whole * value
    return pd.DataFrame(given, columns=scores.index)


def _bounds(
    scores: pd.DataFrame, low: pd.DataFrame | None, high: pd.DataFrame | None
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Give an interval to each score: none where none is known, all where the score is unknown."""
    least = scores.fillna(0.0) if low is None else low.reindex_like(scores).fillna(scores)
    most = scores.fillna(1.0) if high is None else high.reindex_like(scores).fillna(scores)
    least, most = least.fillna(0.0), most.fillna(1.0)
    return least.clip(upper=scores.fillna(np.inf)), most.clip(lower=scores.fillna(-np.inf))


def _normal(seed: int, name: str, count: int) -> Array:
    """Draws that belong to a name, whatever else is drawn."""
    key = int.from_bytes(hashlib.blake2b(name.encode(errors="replace"), digest_size=8).digest())
    return np.random.default_rng([seed, key]).standard_normal(count)


def score_intervals(drawn: pd.DataFrame) -> pd.DataFrame:
    """5th and 95th percentile of each site's drawn score: columns ``p5`` and ``p95``."""
    ends = drawn.quantile([0.05, 0.95]).T
    return ends.set_axis(["p5", "p95"], axis=1)


def probability_ahead(drawn: pd.DataFrame, ahead: str, behind: str) -> float:
    """Share of joint draws in which one site is ahead of another; equal ones count half.

    Examples
    --------
    >>> drawn = pd.DataFrame({"A": [0.7, 0.6, 0.5, 0.5], "B": [0.5, 0.5, 0.5, 0.6]})
    >>> probability_ahead(drawn, "A", "B")
    0.625
    """
    gap = (drawn[ahead] - drawn[behind]).round(9)
    return float((gap > 0).mean() + (gap == 0).mean() / 2)


def normal_probability_ahead(
    gap: float, *, error_ahead: float, error_behind: float, correlation: float = 0.0
) -> float:
    """Probability that one site is ahead, where both errors are normal.

    P = Phi(gap / sqrt(s1^2 + s2^2 - 2 r s1 s2)); common knowledge, no source.

    Parameters
    ----------
    gap
        Score of the one less score of the other.
    error_ahead, error_behind
        Standard deviations of the scores.

    Examples
    --------
    >>> errors = {"error_ahead": 0.05, "error_behind": 0.04}
    >>> round(normal_probability_ahead(0.03, **errors, correlation=0.6), 3)
    0.767
    """
    variance = error_ahead**2 + error_behind**2 - 2 * correlation * error_ahead * error_behind
    if variance <= 0:
        return 0.5 if gap == 0 else float(gap > 0)
    return float(norm.cdf(gap / np.sqrt(variance)))


def best_measurements(
    scores: pd.DataFrame,
    low: pd.DataFrame | None,
    high: pd.DataFrame | None,
    weights: Mapping[str, float],
    *,
    ahead: str,
    behind: str,
    shared: Mapping[str, float] | None = None,
    hours: Mapping[str, float] | None = None,
) -> pd.DataFrame:
    """What one field measurement at one of two sites would do, the best first.

    With s the standard deviation that the gap loses when the value is known, and D the gap:
    gain = s (phi(D/s) - (D/s) Phi(-D/s)), the expected score won by choosing after measuring;
    the chance that the order turns is Phi(-D/s).

    Source: Raiffa and Schlaifer 1961, Applied Statistical Decision Theory (from memory).

    Parameters
    ----------
    hours
        By criterion, hours that the measurement takes; absent: 1. Sorted by gain per hour.

    Returns
    -------
    pd.DataFrame
        Columns ``parcel_id, criterion, gain, turns, hours, gain_per_hour``: only measurements
        whose value is in doubt.
    """
    names = [name for name in scores.columns if weights.get(name, 0) > 0]
    whole = sum(float(weights[name]) for name in names)
    least, most = _bounds(scores, low, high)
    pair = [ahead, behind]
    middle = scores.loc[pair, names].fillna((least + most).loc[pair, names] / 2).to_numpy(float)
    share = np.array([float(weights[name]) / whole for name in names])
    gap = abs(float((middle[0] - middle[1]) @ share))
    error = _errors(scores.loc[pair, names], least.loc[pair, names], most.loc[pair, names])
    both = scores.loc[pair, names].notna().all().to_numpy()
    rows = []
    for k, name in enumerate(names):
        part = (shared or {}).get(name, 0.0) if both[k] else 0.0
        for site, own, other in ((ahead, 0, 1), (behind, 1, 0)):
            s = float(share[k] * abs(error[own, k] - part * error[other, k]))
            if s > 0:
                rows.append((site, name, *_worth(gap, s), (hours or {}).get(name, 1.0)))
    table = pd.DataFrame(rows, columns=["parcel_id", "criterion", "gain", "turns", "hours"])
    table["gain_per_hour"] = table["gain"] / table["hours"]
    return table.sort_values("gain_per_hour", ascending=False, kind="stable", ignore_index=True)


def _worth(gap: float, s: float) -> tuple[float, float]:
    turns = float(norm.cdf(-gap / s))
    return float(s * norm.pdf(gap / s) - gap * turns), turns


def _errors(scores: pd.DataFrame, least: pd.DataFrame, most: pd.DataFrame) -> Array:
    """Give the standard deviation of each score; what is cut off at 0 and 1 is left out of it."""
    down = ((scores - least) / Z95).to_numpy(float)
    up = ((most - scores) / Z95).to_numpy(float)
    known = np.sqrt((down**2 + up**2) / 2 - (up - down) ** 2 / (2 * np.pi))
    even = (most - least).to_numpy(float) / np.sqrt(12)
    error: Array = np.where(np.isnan(scores.to_numpy(float)), even, known)
    return error
