"""All that says how firm a ranking is, worked out once from scores, their intervals and weights."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import pandas as pd

from playsite.ranking.firmness import (
    VARIANT_COLUMNS,
    knots_moved,
    left_out,
    ranks_by_method,
    regrets,
    told_twice,
)
from playsite.ranking.lead_changes import lead_lost
from playsite.ranking.near_ties import askable, best_measurements, drawn_totals, score_intervals
from playsite.ranking.robustness import (
    FIRST,
    PAIR_COLUMNS,
    ROBUSTNESS_COLUMNS,
    foremost,
    pairs_table,
    robustness_table,
    usual_weight_sets,
)
from playsite.ranking.shares import all_weightings, rank_shares, weightings_around

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from playsite.criteria._curve import Curve

__all__ = ["NEXT_COLUMNS", "RANKS_TOLD", "Firm", "Scored", "how_firm"]

RANKS_TOLD = 5
"""Ranks of which the share of weightings is told; what is behind them is one share."""
NEXT_COLUMNS = ("ahead", "behind", "parcel_id", "criterion", "gain", "turns", "settles")


def _nothing(columns: Sequence[object]) -> pd.DataFrame:
    return pd.DataFrame(columns=list(columns))


@dataclass(frozen=True)
class Scored:
    """Ranked sites, best first, by criterion.

    Parameters
    ----------
    scores, low, high
        Score, and the least and the greatest that the interval of the value allows; NaN: unknown.
    reads
        What the curve reads.
    common
        What all sites share of each error, as in `drawn_totals`; absent: nothing.
    map_alone
        Criteria of which a visit can't make an unknown score known, as in `askable`.
    """

    scores: pd.DataFrame
    low: pd.DataFrame
    high: pd.DataFrame
    reads: pd.DataFrame
    common: pd.DataFrame | None = None
    map_alone: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Firm:
    """How firm a ranking is; empty where nothing is ranked.

    Parameters
    ----------
    scores, low, high, reads, common, map_alone
        As in `Scored`.
    robustness
        ``robustness.csv``: one row a ranked site.
    pairs
        ``pairs.csv``: near sites, two by two.
    shares
        Foremost sites: share of weightings around the given one in which they have rank 1 to 5.
    first_of_all
        The same sites: share of all weightings there are in which they come first.
    intervals
        The same sites: 5th and 95th percentile of the score, from measuring error and unknowns.
    lead_lost
        ``criterion, factor, weight, rival``: where the leader loses the lead.
    variants
        ``criterion, change, leader, present_leader_rank``: knots moved by a fifth, a criterion
        left out, a layer left out (then ``criterion`` is the layer's kind).
    methods
        Ranks by weighted sum, weighted product and worst criterion.
    told_twice
        ``one, other, correlation, sites``: criteria that order the sites alike.
    next_measurements
        Of each pair that can't be told apart, the one field measurement that would help most:
        ``ahead, behind, parcel_id, criterion, gain, turns, settles``.
    regret
        A column a weight set: points of score behind the best one under it.
    """

    scores: pd.DataFrame = field(default_factory=pd.DataFrame)
    low: pd.DataFrame = field(default_factory=pd.DataFrame)
    high: pd.DataFrame = field(default_factory=pd.DataFrame)
    reads: pd.DataFrame = field(default_factory=pd.DataFrame)
    common: pd.DataFrame | None = None
    map_alone: frozenset[str] = frozenset()
    robustness: pd.DataFrame = field(default_factory=lambda: _nothing(ROBUSTNESS_COLUMNS))
    pairs: pd.DataFrame = field(default_factory=lambda: _nothing(PAIR_COLUMNS))
    shares: pd.DataFrame = field(default_factory=lambda: _nothing(range(1, RANKS_TOLD + 1)))
    first_of_all: pd.Series[float] = field(default_factory=lambda: pd.Series(dtype=float))
    intervals: pd.DataFrame = field(default_factory=lambda: _nothing(("p5", "p95")))
    lead_lost: pd.DataFrame = field(
        default_factory=lambda: _nothing(("criterion", "factor", "weight", "rival"))
    )
    variants: pd.DataFrame = field(default_factory=lambda: _nothing(VARIANT_COLUMNS))
    methods: pd.DataFrame = field(default_factory=pd.DataFrame)
    told_twice: pd.DataFrame = field(
        default_factory=lambda: _nothing(("one", "other", "correlation", "sites"))
    )
    next_measurements: pd.DataFrame = field(default_factory=lambda: _nothing(NEXT_COLUMNS))
    regret: pd.DataFrame = field(default_factory=lambda: _nothing(("regret_max",)))


def how_firm(
    given: Scored,
    *,
    weights: Mapping[str, float],
    curves: Mapping[str, Curve],
    layers: Mapping[str, Sequence[str]],
    weight_sets: pd.DataFrame | None = None,
) -> Firm:
    """Work out how firm a ranking is.

    Parameters
    ----------
    weights, curves
        By criterion.
    layers
        By kind of layer, the criteria that need it.
    weight_sets
        Members' own weights, a row a member; else `usual_weight_sets`.
    """
    scores, low, high = given.scores, given.low, given.high
    if scores.empty:
        return Firm()
    around = weightings_around(weights)
    sites = foremost(scores, weights)
    near, ends = scores.loc[sites], (low.loc[sites], high.loc[sites])
    drawn = drawn_totals(near, *ends, weights, common=given.common)
    pairs = pairs_table(near, *ends, weights, drawn=drawn)
    shares = rank_shares(scores, around, depth=RANKS_TOLD)
    sets = usual_weight_sets(weights) if weight_sets is None else weight_sets
    return Firm(
        scores=scores,
        low=low,
        high=high,
        reads=given.reads,
        common=given.common,
        map_alone=given.map_alone,
        robustness=robustness_table(scores, weights, shares=shares, weight_sets=sets),
        pairs=pairs,
        shares=shares.loc[sites],
        first_of_all=rank_shares(scores, all_weightings(weights), depth=1).loc[sites, 1],
        intervals=score_intervals(drawn),
        lead_lost=lead_lost(scores, weights),
        variants=pd.concat(
            [
                knots_moved(given.reads, curves, weights),
                left_out(scores, weights),
                left_out(scores, weights, groups=layers),
            ],
            ignore_index=True,
        ),
        methods=ranks_by_method(scores, weights),
        told_twice=told_twice(scores, weights),
        next_measurements=_next_measurements(given, weights, pairs),
        regret=regrets(scores, sets),
    )


def _next_measurements(
    given: Scored, weights: Mapping[str, float], pairs: pd.DataFrame
) -> pd.DataFrame:
    first = foremost(given.scores, weights)[:FIRST]
    near, low, high = (each.loc[first] for each in (given.scores, given.low, given.high))
    tables = [_nothing(NEXT_COLUMNS)]
    for ahead, behind in pairs.loc[
        ~pairs["separable"].astype(bool), ["ahead", "behind"]
    ].to_numpy():
        if {ahead, behind} <= set(first):
            best = best_measurements(
                *(near, low, high, weights),
                ahead=ahead,
                behind=behind,
                common=given.common,
            )
            best = askable(best, near, given.map_alone)
            best = best.head(1).assign(ahead=ahead, behind=behind)
            tables.append(best[list(NEXT_COLUMNS)])
    kept = [table for table in tables if len(table)] or tables[:1]
    return pd.concat(kept, ignore_index=True)
