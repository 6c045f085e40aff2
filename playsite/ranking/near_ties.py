"""Can two sites be told apart on present data? If not, which field measurement helps most."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from scipy.special import ndtr, ndtri

from playsite.ranking.draws import even, normal

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

    from playsite.ranking._share_search import Array

__all__ = [
    "DRAWS",
    "SEPARABLE",
    "askable",
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
    common: pd.DataFrame | None = None,
    count: int = DRAWS,
    seed: int = 0,
) -> pd.DataFrame:
    """Weighted scores of all sites, drawn together from the interval of each single score.

    A known score is drawn from two half normal laws that meet at it, with the 5th and the 95th
    percentile at ``low`` and ``high``, cut off at 0 and 1; an unknown one evenly from ``low`` to
    ``high``, or from 0 to 1. What all sites share of an error is drawn once for all of them, the
    rest for each. The draws of a site depend on its name, not on who else is there.

    Parameters
    ----------
    scores, low, high
        One row a site, one column a criterion, 0 to 1; NaN: unknown, or no interval is known.
    weights
        By criterion; their scale does not matter.
    common
        Like ``scores``, -1 to 1: the root of the part of the error's variance that all sites
        share in a criterion, since one survey or one rule made it, with the sign in which the
        score moves when the value rises. At two sites the errors have the product of both as their
        correlation. Absent, NaN, or an unknown score: 0, which is on the side of "not separable".

    Returns
    -------
    pd.DataFrame
        One row a draw, one column a site: ``count`` x sites numbers, so give the few that matter.
    """
    names = [name for name in scores.columns if weights.get(name, 0) > 0]
    least, most = _bounds(scores, low, high)
    whole = sum(float(weights[name]) for name in names)
    parts = _parts(scores, common)
    given = {site: np.zeros(count) for site in scores.index}
    for name in names:
        of_all = normal(seed, name, count) if parts[name].any() else np.zeros(count)
        rows = zip(scores[name], least[name], most[name], parts[name], strict=True)
        for site, (score, low_end, high_end, part) in zip(scores.index, rows, strict=True):
            value = score
            if np.isnan(score):
                value = low_end + (high_end - low_end) * even(seed, f"{site}\n{name}", count)
            elif low_end < high_end:
                own = normal(seed, f"{site}\n{name}", count)
                z = part * of_all + np.sqrt(1 - part * part) * own
                reach = np.where(z > 0, high_end - score, score - low_end)
                value = np.clip(score + reach * z / Z95, 0, 1)
            given[site] += float(weights[name]) / whole * value
    return pd.DataFrame(given, columns=scores.index)


def _parts(scores: pd.DataFrame, common: pd.DataFrame | None) -> pd.DataFrame:
    """Give the root of what is shared of each error; nothing where the score is unknown."""
    given = scores * 0.0 if common is None else common.reindex_like(scores)
    return given.where(scores.notna(), 0.0).fillna(0.0)


def _bounds(
    scores: pd.DataFrame, low: pd.DataFrame | None, high: pd.DataFrame | None
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Give an interval to each score: none where none is known, all where the score is unknown."""
    least = scores.fillna(0.0) if low is None else low.reindex_like(scores).fillna(scores)
    most = scores.fillna(1.0) if high is None else high.reindex_like(scores).fillna(scores)
    least, most = least.fillna(0.0), most.fillna(1.0)
    return least.clip(upper=scores.fillna(np.inf)), most.clip(lower=scores.fillna(-np.inf))


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
    return float(ndtr(gap / np.sqrt(variance)))


def best_measurements(
    scores: pd.DataFrame,
    low: pd.DataFrame | None,
    high: pd.DataFrame | None,
    weights: Mapping[str, float],
    *,
    ahead: str,
    behind: str,
    common: pd.DataFrame | None = None,
    hours: Mapping[str, float] | None = None,
) -> pd.DataFrame:
    """What one field measurement at one of two sites would do, the best first.

    With D the expected gap, S its standard deviation, and s^2 the variance that it loses when the
    value is known: gain = s (phi(D/s) - |D|/s Phi(-|D|/s)), the expected score won by choosing after
    measuring; the chance that the order turns is Phi(-D/s). After measuring r^2 = S^2 - s^2 is
    left, and one of the two is ahead with 0.75 or more where the new gap is at least z r, z the
    normal law's 75th percentile: the chance of that is Phi((D - z r)/s) + Phi((-D - z r)/s).

    Source: Raiffa and Schlaifer 1961, Applied Statistical Decision Theory (from memory); the last
    formula follows from the same normal law of the gap that is to come.

    Parameters
    ----------
    common
        As in `drawn_totals`: what is found out of a shared error is found out at both sites.
    hours
        By criterion, hours that the measurement takes; absent: 1. Sorted by gain per hour.

    Returns
    -------
    pd.DataFrame
        Columns ``parcel_id, criterion, gain, turns, settles, hours, gain_per_hour``: only
        measurements whose value is in doubt.
    """
    names = [name for name in scores.columns if weights.get(name, 0) > 0]
    whole = sum(float(weights[name]) for name in names)
    least, most = _bounds(scores, low, high)
    pair = [ahead, behind]
    share = np.array([float(weights[name]) / whole for name in names])
    expected, error = _laws(*(table.loc[pair, names] for table in (scores, least, most)))
    gap = float((expected[0] - expected[1]) @ share)
    parts = _parts(scores.loc[pair, names], common).to_numpy(float)
    alike = parts[0] * parts[1]
    both = error[0] ** 2 + error[1] ** 2 - 2 * alike * error[0] * error[1]
    whole_error = float(np.sqrt((share**2 * both).sum()))
    rows = []
    for k, name in enumerate(names):
        for site, own, other in ((ahead, 0, 1), (behind, 1, 0)):
            # of a sure value nothing is learnt
            s = float(share[k] * abs(error[own, k] - alike[k] * error[other, k]))
            if s > 0 and error[own, k] > 0:
                worth = _worth(gap, s, whole_error)
                rows.append((site, name, *worth, (hours or {}).get(name, 1.0)))
    columns = ["parcel_id", "criterion", "gain", "turns", "settles", "hours"]
    table = pd.DataFrame(rows, columns=columns)
    table["gain_per_hour"] = table["gain"] / table["hours"]
    return table.sort_values("gain_per_hour", ascending=False, kind="stable", ignore_index=True)


def askable(
    measurements: pd.DataFrame, scores: pd.DataFrame, map_alone: Collection[str]
) -> pd.DataFrame:
    """Rows of `best_measurements` that a visit can answer.

    Parameters
    ----------
    map_alone
        Criteria whose score needs what only a map tells beside the value: a visit can move a
        known one, and can't make an unknown one known.
    """
    rows = zip(measurements["parcel_id"], measurements["criterion"], strict=True)
    closed = [name in map_alone and np.isnan(scores.loc[site, name]) for site, name in rows]
    return measurements[~np.array(closed, dtype=bool)].reset_index(drop=True)


def _worth(gap: float, s: float, whole: float) -> tuple[float, float, float]:
    """Gain, chance that the order turns, and chance that the two can then be told apart."""
    turns = float(ndtr(-gap / s))
    due = ndtri(SEPARABLE) * np.sqrt(max(whole**2 - s**2, 0.0))
    settles = float(ndtr((gap - due) / s) + ndtr((-gap - due) / s))
    gain = s * np.exp(-((gap / s) ** 2) / 2) / np.sqrt(2 * np.pi) - abs(gap) * ndtr(-abs(gap) / s)
    return float(gain), turns, settles


def _laws(scores: pd.DataFrame, least: pd.DataFrame, most: pd.DataFrame) -> tuple[Array, Array]:
    """Give mean and standard deviation of each score as it is drawn, but for the cut at 0 and 1."""
    given, low, high = (table.to_numpy(float) for table in (scores, least, most))
    down, up, unknown = (given - low) / Z95, (high - given) / Z95, np.isnan(given)
    mean = np.where(unknown, (low + high) / 2, given + (up - down) / np.sqrt(2 * np.pi))
    known = np.sqrt((down**2 + up**2) / 2 - (up - down) ** 2 / (2 * np.pi))
    return mean, np.where(unknown, (high - low) / np.sqrt(12), known)
