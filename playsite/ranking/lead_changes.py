"""How much more one criterion would have to count before another site draws level: exact."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from playsite.ranking.scores import PLACES, ranks, totals
from playsite.ranking.shares import MIDDLE

if TYPE_CHECKING:
    from collections.abc import Mapping

    from playsite.ranking._share_search import Array

__all__ = ["lead_changes", "lead_lost", "nearest_changes", "nearest_two"]


def lead_changes(
    scores: pd.DataFrame, weights: Mapping[str, float], *, ahead: str, behind: str
) -> pd.DataFrame:
    """At which weight of each criterion, the others' proportions kept, two sites draw level.

    The one behind draws level when criterion k counts m times as much:
    m = sum of w_i (a_i - b_i) over the others / (w_k (b_k - a_k)); never where m is 0 or less.
    The weight is then m w_k / (m w_k + 1 - w_k) of all.

    Parameters
    ----------
    scores
        One row a site, one column a criterion, 0 to 1; what is unknown stands at 0.5.
    weights
        By criterion; their scale does not matter.

    Returns
    -------
    pd.DataFrame
        Columns ``criterion, factor, weight``: "only if shade counts 2.5 times as much"; in the
        order of the criteria. Empty where nothing alone changes the order, and for a tie.

    Examples
    --------
    >>> scores = pd.DataFrame(
    ...     {"grade": [0.9, 0.5], "shade": [0.4, 0.8], "quiet": [0.6, 0.6]}, index=["A", "B"]
    ... )
    >>> weights = {"grade": 0.5, "shade": 0.2, "quiet": 0.3}
    >>> lead_changes(scores, weights, ahead="A", behind="B").round(4).to_dict("records")
    [{'criterion': 'grade', 'factor': 0.4, 'weight': 0.2857}, {'criterion': 'shade', 'factor': 2.5, 'weight': 0.3846}]
    """
    names, share = _shares(scores, weights)
    given = scores[names].fillna(MIDDLE)
    gap = given.loc[ahead].to_numpy(float) - given.loc[behind].to_numpy(float)
    factor = _factors(gap[None, :], share)[0]
    table = pd.DataFrame({"criterion": names, "factor": factor, "weight": _weight(factor, share)})
    return table[table["factor"].notna()].reset_index(drop=True)


def _shares(scores: pd.DataFrame, weights: Mapping[str, float]) -> tuple[list[str], Array]:
    names = [str(name) for name in scores.columns if weights.get(name, 0) > 0]
    given = np.array([weights[name] for name in names], dtype=float)
    return names, given / given.sum()


def _factors(gaps: Array, share: Array) -> Array:
    """Give m for each rival (rows) and criterion, NaN where the order stays."""
    whole = (gaps @ share)[:, None]
    own = gaps * share
    with np.errstate(divide="ignore", invalid="ignore"):
        factor = (whole - own) / -own
    good = (factor > 0) & np.isfinite(factor) & (np.abs(whole) >= 0.5 * 10.0**-PLACES)
    return np.where(good, factor, np.nan)


def _weight(factor: Array, share: Array) -> Array:
    return factor * share / (factor * share + 1 - share)


def nearest_two(changes: pd.DataFrame) -> pd.DataFrame:
    """Rows of the least factor above 1 and of the greatest below, as far as there are any."""
    up = changes[changes["factor"] > 1].nsmallest(1, "factor")
    down = changes[changes["factor"] < 1].nlargest(1, "factor")
    return pd.concat([each for each in (up, down) if len(each)] or [changes.iloc[:0]])


def nearest_changes(changes: pd.DataFrame) -> str:
    """Say the two nearest of `lead_changes` in words: the least factor above 1, the greatest below.

    Examples
    --------
    >>> changes = pd.DataFrame({"criterion": ["grade", "shade"], "factor": [0.4, 2.5]})
    >>> nearest_changes(changes)
    'shade x 2.5; grade x 0.4'
    """
    rows = nearest_two(changes)
    pairs = zip(rows["criterion"], rows["factor"], strict=True)
    return "; ".join(f"{name} x {factor:.3g}" for name, factor in pairs)


def lead_lost(scores: pd.DataFrame, weights: Mapping[str, float]) -> pd.DataFrame:
    """Where the site in the lead loses it, criterion by criterion, to whichever rival comes first.

    Returns
    -------
    pd.DataFrame
        Columns ``criterion, factor, weight, rival``: up to two rows a criterion, the least factor
        above 1 and the greatest below. Empty where the lead is shared or nobody can take it.
    """
    names, share = _shares(scores, weights)
    first = ranks(totals(scores[names], weights)["score"])
    rows: list[tuple[object, ...]] = []
    if (first == 1).sum() == 1:
        leader = int((first == 1).to_numpy(bool).argmax())
        given = scores[names].fillna(MIDDLE).to_numpy(float)
        factor = _factors(np.delete(given[leader] - given, leader, axis=0), share)
        rows = _nearest_rivals(factor, names, share, scores.index.delete(leader))
    table = pd.DataFrame(rows, columns=["criterion", "factor", "weight", "rival"])
    return table.astype({"factor": float, "weight": float})


def _nearest_rivals(
    factor: Array, names: list[str], share: Array, rivals: pd.Index[Any]
) -> list[tuple[object, ...]]:
    """Give the rival who comes first upward, and the one downward, for each criterion."""
    rows: list[tuple[object, ...]] = []
    if not len(factor):
        return rows
    for k, name in enumerate(names):
        up = np.where(factor[:, k] > 1, factor[:, k], np.inf)
        down = np.where(factor[:, k] < 1, factor[:, k], -np.inf)
        for at, value in ((up.argmin(), up.min()), (down.argmax(), down.max())):
            if np.isfinite(value):
                rows.append((name, value, _weight(value, share[k]), rivals[int(at)]))
    return rows
