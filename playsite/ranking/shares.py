"""Would other priorities change it? Share of weightings in which each site has each rank."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from playsite.ranking._share_search import leaders
from playsite.ranking.draws import even
from playsite.ranking.scores import PLACES

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy.typing as npt

    from playsite.ranking._share_search import Array

__all__ = ["COUNT", "SPREAD", "all_weightings", "rank_shares", "share_ahead", "weightings_around"]

COUNT = 10_000
"""Weightings drawn: a share then has an error of half a percent at most, so print whole percents."""
SPREAD = 0.5
"""How far a weight is moved up or down, as a share of itself (common practice, no source)."""
MIDDLE = 0.5
"""Score of what is unknown: shares of weightings vary weights alone."""


def weightings_around(
    weights: Mapping[str, float], *, spread: float = SPREAD, count: int = COUNT, seed: int = 0
) -> pd.DataFrame:
    """Chance weightings around given weights.

    Each weight is multiplied by a factor drawn evenly from 1 - ``spread`` to 1 + ``spread``,
    apart from the others; then all are scaled to add up to 1. A weight of 0 stays 0. The factors of
    a criterion belong to its name, whatever else counts.

    Parameters
    ----------
    weights
        By criterion; their scale does not matter.
    spread
        0 to 1.

    Returns
    -------
    pd.DataFrame
        One row a weighting, one column a criterion of more weight than 0. Equal seeds, equal rows.
    """
    given = _in_use(weights)
    moved = [even(seed, f"weight\n{name}", count) for name in given.index]
    drawn = given.to_numpy() * (1 - spread + 2 * spread * np.column_stack(moved))
    return pd.DataFrame(drawn / drawn.sum(axis=1, keepdims=True), columns=given.index)


def all_weightings(
    weights: Mapping[str, float], *, count: int = COUNT, seed: int = 0
) -> pd.DataFrame:
    """Chance weightings over all there are: evenly over the simplex of the criteria in use.

    Exponential draws scaled to add up to 1 (Devroye 1986, Non-Uniform Random Variate Generation,
    chapter V.2, from memory). Only criteria with more weight than 0 take part.
    """
    names = _in_use(weights).index
    drawn = np.random.default_rng(seed).exponential(size=(count, len(names)))
    return pd.DataFrame(drawn / drawn.sum(axis=1, keepdims=True), columns=names)


def _in_use(weights: Mapping[str, float]) -> pd.Series[float]:
    given = pd.Series(dict(weights), dtype=float)
    given = given[given > 0]
    return given / given.sum()


def rank_shares(
    scores: pd.DataFrame, weightings: pd.DataFrame, *, depth: int = 3, batch: int = COUNT
) -> pd.DataFrame:
    """Share of weightings in which each site has each of the first ranks.

    Scores are rounded to 9 places, as totals are. Equal sites share a rank, as in `ranks`, so
    that a column may add up to more than 1. What is unknown stands at its middle, 0.5. A share p
    of n weightings has the standard error sqrt(p (1 - p) / n).

    Parameters
    ----------
    scores
        One row a site, one column a criterion, 0 to 1; NaN: unknown.
    weightings
        One row a weighting, adding up to 1; its columns are among those of ``scores``.
    depth
        Ranks told, 1 to ``depth``.
    batch
        Weightings looked at together. No table of sites by weightings is kept: memory is the
        scores' own and ``batch`` x ``depth``.

    Returns
    -------
    pd.DataFrame
        Index of ``scores``, columns 1 to ``depth``: shares, 0 to 1.

    Examples
    --------
    >>> scores = pd.DataFrame({"shade": [1.0, 0.6], "quiet": [0.0, 0.6]}, index=["A", "B"])
    >>> sure = pd.DataFrame({"shade": [0.5, 0.7], "quiet": [0.5, 0.3]})
    >>> rank_shares(scores, sure, depth=2)[1].to_dict()
    {'A': 0.5, 'B': 0.5}
    """
    told = pd.RangeIndex(1, depth + 1)
    if not len(scores) or not len(weightings):
        return pd.DataFrame(np.nan, index=scores.index, columns=told)
    given = scores[list(weightings.columns)].fillna(MIDDLE).round(PLACES)
    group = given.groupby(list(given.columns), sort=False).ngroup().to_numpy()
    alike = np.bincount(group)
    rows = given.to_numpy(float)[~pd.Series(group).duplicated().to_numpy()]
    deep = min(depth, len(rows))
    counted = np.zeros((len(rows), depth))
    drawn = weightings.to_numpy(float)
    for start in range(0, len(drawn), batch):
        first = leaders(rows, drawn[start : start + batch], depth=deep)
        # equal sites take as many places as they are
        rank = np.cumsum(alike[first], axis=1) - alike[first]
        kept = rank < depth
        counted += np.bincount(first[kept] * depth + rank[kept], minlength=counted.size).reshape(
            counted.shape
        )
    return pd.DataFrame(counted[group] / len(drawn), index=scores.index, columns=told)


def share_ahead(one: npt.ArrayLike, other: npt.ArrayLike) -> float:
    """Share of all weightings, evenly over the simplex, in which one site is ahead of another.

    Exact. With d = one - other, x_h its positive parts and y_k the sizes of its negative parts:
    A_0 = 0, A_k = 1; for each x, k = 1..K: A_k <- (y_k A_k + x A_(k-1)) / (x + y_k); the share
    is 1 - A_K. All terms are positive, so nothing cancels. Equal sites are ahead for half.

    Source: Varsi 1973, The multidimensional content of the frustum of the simplex, Pacific
    Journal of Mathematics 46; Ali 1973, Content of the frustum of a simplex, the same 48.

    Parameters
    ----------
    one, other
        Scores on the same criteria, nothing missing.

    Examples
    --------
    >>> round(share_ahead([1.0, 0.0], [0.6, 0.6]), 12)
    0.4
    """
    gap: Array = np.asarray(one, dtype=float) - np.asarray(other, dtype=float)
    if np.isnan(gap).any():
        raise ValueError("what is unknown has no exact share: fill it with its middle first")
    more, less = gap[gap > 0], -gap[gap < 0]
    if not len(more) and not len(less):
        return 0.5
    behind = np.r_[0.0, np.ones(len(less))]
    for x in more:
        for k, y in enumerate(less, start=1):
            behind[k] = (y * behind[k] + x * behind[k - 1]) / (x + y)
    return float(1 - behind[-1])
