"""Sites that another one beats or equals on everything: they need no discussion of weights."""

# numba's decorator carries no types: the kernel's signature is annotated by hand
# mypy: allow-untyped-decorators

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

import numpy as np
import pandas as pd
from numba import njit

from playsite.ranking.shares import MIDDLE

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from playsite.ranking._share_search import Array, Places

    Marks: TypeAlias = NDArray[np.int64]

__all__ = ["dominators", "has_more_of"]


def dominators(scores: pd.DataFrame, weights: Mapping[str, float]) -> pd.Series[str]:
    """Name of the best site that is at least as good on every criterion and better on one.

    Only criteria in use (weight over 0) that are known somewhere are compared. What is unknown at
    one site is there counted against the dominance: 0 for the better one, 1 for the worse.

    Parameters
    ----------
    scores
        One row a site, one column a criterion, 0 to 1; NaN: unknown.
    weights
        By criterion; of several that dominate, the one of the highest score is named.

    Returns
    -------
    pd.Series
        Index of ``scores``; missing where no site dominates.

    Examples
    --------
    >>> scores = pd.DataFrame({"a": [0.9, 0.5, 0.2], "b": [0.4, 0.4, 0.8]}, index=["A", "B", "C"])
    >>> dominators(scores, {"a": 1, "b": 1}).fillna("").tolist()
    ['', 'A', '']
    """
    names = [n for n in scores.columns if weights.get(n, 0) > 0 and scores[n].notna().any()]
    given = scores[names].round(9)
    share = np.array([float(weights[name]) for name in names])
    order = np.argsort(-(given.fillna(MIDDLE).to_numpy(float) @ share), kind="stable")
    low = np.ascontiguousarray(given.fillna(0.0).to_numpy(float)[order])
    high = np.ascontiguousarray(given.fillna(1.0).to_numpy(float)[order])
    found = np.full(len(scores), -1)
    if names:
        found[order] = _first_dominators(low, high, *_marks(low, high))
    by = pd.Series(scores.index[order].take(np.maximum(found, 0)), index=scores.index, dtype="str")
    return by.where(found >= 0)


def _marks(low: Array, high: Array) -> tuple[Marks, Marks]:
    """Mark in one number which of a few levels each row reaches on each criterion.

    A row can only dominate another if it has all of its marks: one look spares most comparisons.
    """
    levels = max(1, 62 // low.shape[1])
    marks = np.zeros((2, len(low)), np.int64)
    for k in range(min(low.shape[1], 62)):
        middle = (low[:, k] + high[:, k]) / 2
        for level in np.quantile(middle, np.arange(1, levels + 1) / (levels + 1)):
            marks = 2 * marks + np.array([low[:, k] >= level, high[:, k] >= level])
    return marks[0], marks[1]


@njit(cache=True, nogil=True)
def _first_dominators(low: Array, high: Array, has: Marks, must: Marks) -> Places:
    """Give the first row that dominates each; rows come best first, and only free ones are asked.

    Who is dominated by a dominated row is dominated by a free one as well, which has more.
    """
    count, criteria = low.shape
    by = np.full(count, -1, np.intp)
    free = np.empty(count, np.intp)
    free_has = np.empty(count, np.int64)
    frees = 0
    for i in range(count):
        for f in range(frees):
            if must[i] & ~free_has[f]:
                continue
            other, better, k = free[f], False, 0
            while k < criteria and low[other, k] >= high[i, k]:
                better = better or low[other, k] > high[i, k]
                k += 1
            if k == criteria and better:
                by[i] = other
                break
        if by[i] < 0:
            free[frees], free_has[frees] = i, has[i]
            frees += 1
    return by


def has_more_of(
    scores: pd.DataFrame, weights: Mapping[str, float], *, one: str, other: str
) -> pd.DataFrame:
    """What one site has that another has not: where it scores more, what weighs most first.

    Returns
    -------
    pd.DataFrame
        Columns ``criterion, one, other, lead, points``: both scores, their difference, and the
        difference times the weight's share. Where either is unknown nothing is said.
    """
    whole = sum(weights.values())
    rows = []
    pairs = zip(scores.loc[one].to_numpy(float), scores.loc[other].to_numpy(float), strict=True)
    for name, (here, there) in zip(scores.columns, pairs, strict=True):
        if here > there and weights.get(name, 0) > 0:
            lead = here - there
            rows.append((name, here, there, lead, lead * weights[name] / whole))
    table = pd.DataFrame(rows, columns=["criterion", "one", "other", "lead", "points"])
    return table.sort_values("points", ascending=False, kind="stable", ignore_index=True)
