"""Whether the order holds when curves, criteria, the method or the people's weights change."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from playsite.ranking.scores import ranks, totals
from playsite.ranking.shares import MIDDLE

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from playsite.criteria._contract import Measured
    from playsite.criteria._curve import Curve
    from playsite.criteria._registry import Chosen

__all__ = [
    "LAYER_OUT",
    "TOLD_TWICE",
    "VARIANT_COLUMNS",
    "knots_moved",
    "left_out",
    "ranks_by_method",
    "regrets",
    "score_bounds",
    "shared_errors",
    "told_twice",
    "weakest_links",
]

TOLD_TWICE = 0.8
"""Rank correlation above which two criteria may tell the same story (common practice, no source)."""
LAYER_OUT = "layer left out"
_LEAST_SITES = 4
VARIANT_COLUMNS = ["criterion", "change", "leader", "present_leader_rank"]


def score_bounds(
    measured: Mapping[str, Measured], chosen: Sequence[Chosen]
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Least and greatest score that the interval of each measured value allows, as two tables.

    Where the curve reads something else than the value, that is taken to move in the same
    proportion as the value. Missing where no interval is known.
    """
    least, most = {}, {}
    for each in chosen:
        least[each.name], most[each.name] = _between(each.curve, *_ends(measured[each.name]))
    return pd.DataFrame(least), pd.DataFrame(most)


def shared_errors(measured: Mapping[str, Measured], chosen: Sequence[Chosen]) -> pd.DataFrame:
    """What all sites share of the error of each score, as `near_ties.drawn_totals` reads it.

    The root of the criterion's share of the variance; with a minus where the score falls as the
    value rises, 0 where it is the same at both ends of the interval.
    """
    columns = {}
    for each in chosen:
        low, high = _ends(measured[each.name])
        rises = np.sign(each.curve.score(high) - each.curve.score(low))
        columns[each.name] = pd.Series(np.sqrt(each.shared_error) * rises, index=low.index)
    return pd.DataFrame(columns).fillna(0.0)


def _ends(got: Measured) -> list[pd.Series[float]]:
    """Both ends of what the curve reads."""
    value = got.value.to_numpy(float)
    reads = value if got.reads is None else got.reads.to_numpy(float)
    ends = []
    for given in (got.low, got.high):
        end = value if given is None else given.to_numpy(float)
        moves = np.isfinite(value) & np.isfinite(end) & (value != 0)
        part = np.divide(end, value, out=np.ones_like(value), where=moves)
        own = np.where(np.isnan(value) | (reads == value), end, reads * part)
        ends.append(pd.Series(own, index=got.value.index))
    return ends


def _between(
    curve: Curve, low: pd.Series[float], high: pd.Series[float]
) -> tuple[pd.Series[float], pd.Series[float]]:
    """Least and greatest score of a curve between two values: at the ends or at a knot."""
    ends = np.array([curve.score(low), curve.score(high)])
    least, most = ends.min(axis=0), ends.max(axis=0)
    for knot in curve.knots:
        inside = ((low < knot.at) & (knot.at < high)).to_numpy(bool)
        least = np.where(inside, np.minimum(least, knot.score), least)
        most = np.where(inside, np.maximum(most, knot.score), most)
    return pd.Series(least, index=low.index), pd.Series(most, index=low.index)


def knots_moved(
    reads: pd.DataFrame,
    curves: Mapping[str, Curve],
    weights: Mapping[str, float],
    *,
    by: float = 0.2,
) -> pd.DataFrame:
    """Who leads when all knots of one curve are moved by a fifth, down and up; a knot at 0 stays.

    Parameters
    ----------
    reads
        What each curve reads; one row a site, one column a criterion; NaN: unknown.
    curves, weights
        By criterion.
    by
        Share by which the knots are moved.

    Returns
    -------
    pd.DataFrame
        Columns ``criterion, change, leader, present_leader_rank``. The present leader is named as
        long as it has rank 1, shared or not.
    """
    columns = {name: curves[name].score(reads[name]) for name in reads.columns}
    scores = pd.DataFrame(columns, index=reads.index)
    present = _order(scores, weights)
    rows: list[tuple[object, ...]] = []
    for name in scores.columns if len(scores) else ():
        for change in (-by, by):
            at = {knot.name: knot.at * (1 + change) for knot in curves[name].knots}
            moved = curves[name].with_knots(at, source="moved to see what holds")
            now = _order(scores.assign(**{str(name): moved.score(reads[name])}), weights)
            rows.append((name, f"knots {100 * change:+.0f} %", *_leader(now, present)))
    return pd.DataFrame(rows, columns=VARIANT_COLUMNS)


def left_out(
    scores: pd.DataFrame,
    weights: Mapping[str, float],
    *,
    groups: Mapping[str, Sequence[str]] | None = None,
) -> pd.DataFrame:
    """Who leads when one criterion is left out, the others' proportions kept.

    Parameters
    ----------
    groups
        What is left out together, by name: all criteria that need one layer. Absent: each
        criterion alone.

    Returns
    -------
    pd.DataFrame
        As `knots_moved`, with the group's name for the criterion's; a group that leaves nothing
        to rank by, or holds nothing in use, is passed over.
    """
    used = [str(name) for name in scores.columns if weights[str(name)] > 0]
    present = _order(scores[used], weights) if used and len(scores) else None
    each = {name: [name] for name in used} if groups is None else groups
    change = "left out" if groups is None else LAYER_OUT
    rows = []
    for name, some in each.items():
        rest = [other for other in used if other not in some]
        if present is not None and rest and len(rest) < len(used):
            rows.append((name, change, *_leader(_order(scores[rest], weights), present)))
    return pd.DataFrame(rows, columns=VARIANT_COLUMNS)


def _order(scores: pd.DataFrame, weights: Mapping[str, float]) -> pd.Series[int]:
    return ranks(totals(scores, weights)["score"])


def _leader(now: pd.Series[int], present: pd.Series[int]) -> tuple[str, int]:
    before = str(present.idxmin())
    there = int(now.loc[before])
    return (before if there == 1 else str(now.idxmin())), there


def ranks_by_method(scores: pd.DataFrame, weights: Mapping[str, float]) -> pd.DataFrame:
    """Ranks by the weighted sum, by the weighted product and by the worst criterion alone.

    The product lets a score near 0 pull the whole down; the worst criterion lets nothing make up
    for it. What is unknown stands at its middle, 0.5.

    Returns
    -------
    pd.DataFrame
        Index of ``scores``, columns ``weighted_sum, weighted_product, worst_criterion``.

    Examples
    --------
    >>> scores = pd.DataFrame({"a": [1.0, 0.5], "b": [0.05, 0.5]}, index=["A", "B"])
    >>> ranks_by_method(scores, {"a": 1, "b": 1}).loc["A"].to_dict()
    {'weighted_sum': 1, 'weighted_product': 2, 'worst_criterion': 2}
    """
    given, share = _in_use(scores, weights)
    product = np.prod(given.to_numpy(float) ** share.to_numpy(float), axis=1)
    table = {
        "weighted_sum": given @ share,
        "weighted_product": pd.Series(product, index=scores.index),
        "worst_criterion": given.min(axis=1),
    }
    return pd.DataFrame({name: ranks(score) for name, score in table.items()})


def _in_use(
    scores: pd.DataFrame, weights: Mapping[str, float]
) -> tuple[pd.DataFrame, pd.Series[float]]:
    share = pd.Series({name: float(weights[str(name)]) for name in scores.columns})
    share = share[share > 0]
    return scores[share.index].fillna(MIDDLE), share / share.sum()


def weakest_links(scores: pd.DataFrame, weights: Mapping[str, float]) -> pd.DataFrame:
    """Criterion on which each site is worst, of those in use and known; of equal ones the heaviest.

    Returns
    -------
    pd.DataFrame
        Index of ``scores``, columns ``weakest`` and ``weakest_score``; missing: nothing is known.
    """
    used = sorted((n for n in scores.columns if weights[n] > 0), key=lambda n: -weights[n])
    known = scores[used].dropna(how="all")
    table = pd.DataFrame({"weakest": known.idxmin(axis=1).astype("str")})
    table["weakest_score"] = known.min(axis=1)
    return table.reindex(scores.index)


def told_twice(
    scores: pd.DataFrame, weights: Mapping[str, float], *, at_least: float = TOLD_TWICE
) -> pd.DataFrame:
    """Criteria that order the sites alike or in reverse, so that one story may be counted twice.

    Parameters
    ----------
    at_least
        Spearman's rank correlation, up or down, from which a pair is told.

    Returns
    -------
    pd.DataFrame
        Columns ``one, other, correlation, sites``: sites known on both, at least 4; the closest
        pair first.
    """
    used = scores[[name for name in scores.columns if weights[name] > 0]]
    known = used.notna().to_numpy(float)
    sites = (known.T @ known).astype(int)
    told = used.corr(method="spearman", min_periods=_LEAST_SITES).to_numpy()
    one, other = np.nonzero(np.triu(~np.isnan(told), k=1))
    columns = {
        "one": used.columns[one],
        "other": used.columns[other],
        "correlation": told[one, other],
        "sites": sites[one, other],
    }
    table = pd.DataFrame(columns)
    table = table[table["correlation"].abs() >= at_least]
    return table.sort_values(
        "correlation", key=lambda c: -c.abs(), kind="stable", ignore_index=True
    )


def regrets(scores: pd.DataFrame, weight_sets: pd.DataFrame) -> pd.DataFrame:
    """How far each site is from the best one under each of several weight sets.

    Parameters
    ----------
    weight_sets
        One row a set (a member, a group), one column a criterion; their scale does not matter.

    Returns
    -------
    pd.DataFrame
        Index of ``scores``, a column a set, and ``regret_max``: choose a low one when people
        disagree. In points of score, 0 to 1; what is unknown stands at 0.5.
    """
    table = {}
    for name, weights in weight_sets.iterrows():
        score = totals(scores[list(weights.index)], {str(k): float(v) for k, v in weights.items()})
        table[name] = score["score"].max() - score["score"]
    regret = pd.DataFrame(table, index=scores.index)
    return regret.assign(regret_max=regret.max(axis=1))
