"""Scores and ranks: a weighted sum over fixed curves, with what is unknown kept as an interval."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from playsite.criteria._contract import Measured
    from playsite.criteria._registry import Chosen

__all__ = ["PLACES", "criterion_scores", "is_enough", "ranks", "totals"]

PLACES = 9
"""Totals are rounded to this many places before they are compared: ties are real."""


def criterion_scores(measured: Mapping[str, Measured], chosen: Sequence[Chosen]) -> pd.DataFrame:
    """Score of each pad on each criterion, 0 to 1; NaN where it is unknown.

    Parameters
    ----------
    measured
        What each criterion gave back, by name; all with the pads' own index.
    chosen
        The criteria with the curves in use.
    """
    columns = {}
    for each in chosen:
        got = measured[each.name]
        reads = got.value if got.reads is None else got.reads
        columns[each.name] = pd.Series(each.curve.score(reads), index=reads.index)
    return pd.DataFrame(columns)


def totals(scores: pd.DataFrame, weights: Mapping[str, float]) -> pd.DataFrame:
    """Weighted score of each pad, from low to high, and the share of weight that is known.

    Parameters
    ----------
    scores
        One row a pad, one column a criterion, 0 to 1; NaN: unknown.
    weights
        Weight of each column; normalised here, so that ten times all weights change nothing.

    Returns
    -------
    pd.DataFrame
        ``score_low`` counts what is unknown at 0, ``score_high`` at 1, ``score`` is the middle of
        the two; ``known_share`` is the share of weight with a known value. Rounded to 9 places.

    Examples
    --------
    >>> table = pd.DataFrame({"a": [1.0], "b": [np.nan]})
    >>> totals(table, {"a": 3, "b": 1}).iloc[0].to_dict()
    {'score': 0.875, 'score_low': 0.75, 'score_high': 1.0, 'known_share': 0.75}
    """
    weight = np.array([weights[name] for name in scores.columns], dtype=float)
    share = weight / weight.sum()
    given = scores.to_numpy(float)
    known = ~np.isnan(given)
    low = (np.where(known, given, 0.0) * share).sum(axis=1)
    high = low + (~known * share).sum(axis=1)
    table = {
        "score": (low + high) / 2,
        "score_low": low,
        "score_high": high,
        "known_share": (known * share).sum(axis=1),
    }
    return pd.DataFrame(table, index=scores.index).round(PLACES)


def is_enough(known_share: pd.Series[float], least_known_pct: float) -> pd.Series[bool]:
    """Whether so much of the weight is known of each site that it may be ranked; NaN: nothing is.

    Examples
    --------
    >>> is_enough(pd.Series([0.6, 0.59, float("nan")]), 60).tolist()
    [True, False, False]
    """
    return known_share.fillna(0) * 100 >= least_known_pct - 1e-9


def ranks(score: pd.Series[float]) -> pd.Series[int]:
    """Rank of each score, best first; equal scores share a rank: 1, 1, 3.

    Examples
    --------
    >>> ranks(pd.Series([0.5, 0.75, 0.75])).tolist()
    [3, 1, 1]
    """
    return score.round(PLACES).rank(method="min", ascending=False).astype("Int64")
