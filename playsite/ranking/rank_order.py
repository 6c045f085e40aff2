"""Weights where people could only say an order, and how far the orders of several people agree."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy.typing as npt

__all__ = ["centroid_weights", "concordance", "rank_order_centroid"]


def rank_order_centroid(count: int) -> npt.NDArray[np.float64]:
    """Weights of criteria of which only the order is known, the most important first.

    w_k = (1/k + 1/(k+1) + ... + 1/n) / n: the mean of all weightings that have this order.

    Source: Barron and Barrett 1996, Decision Quality Using Ranked Attribute Weights, Management
    Science 42(11).

    Examples
    --------
    >>> rank_order_centroid(3).round(4).tolist()
    [0.6111, 0.2778, 0.1111]
    """
    return np.cumsum(1 / np.arange(count, 0, -1))[::-1] / count


def centroid_weights(weights: Mapping[str, float]) -> pd.Series[float]:
    """Keep of weights their order alone; equal ones share what their places would have had.

    Examples
    --------
    >>> centroid_weights({"shade": 9, "quiet": 2, "grade": 2}).round(4).tolist()
    [0.6111, 0.1944, 0.1944]
    """
    given = pd.Series(dict(weights), dtype=float)
    given = given[given > 0].sort_values(ascending=False, kind="stable")
    placed = pd.Series(rank_order_centroid(len(given)), index=given.index)
    shared: pd.Series[float] = placed.groupby(given).transform("mean")
    return shared.reindex([name for name in weights if name in shared.index])


def concordance(ranks: npt.ArrayLike) -> float:
    """Kendall's W: how far several judges agree on the order of some items; 1 agree, 0 not at all.

    W = 12 S / (m^2 (n^3 - n)), S the squared deviations of the rank sums from their mean.
    No correction for ties.

    Source: Kendall and Babington Smith 1939, The Problem of m Rankings, Annals of Mathematical
    Statistics 10(3) (from memory).

    Parameters
    ----------
    ranks
        One row a judge, one column an item, ranks from 1.

    Examples
    --------
    >>> concordance([[1, 2, 3], [1, 2, 3]])
    1.0
    """
    given: npt.NDArray[np.float64] = np.asarray(ranks, dtype=float)
    judges, items = given.shape
    sums = given.sum(axis=0)
    squares = float(((sums - sums.mean()) ** 2).sum())
    return float(12 * squares / (judges**2 * (items**3 - items)))
