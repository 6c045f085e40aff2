"""Two tables that say how firm a ranking is: one row a site, one row a pair of near sites."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from playsite.ranking.dominance import dominators
from playsite.ranking.firmness import regrets, weakest_links
from playsite.ranking.lead_changes import lead_changes, nearest_changes
from playsite.ranking.near_ties import DRAWS, SEPARABLE, drawn_totals, probability_ahead
from playsite.ranking.rank_order import centroid_weights
from playsite.ranking.scores import totals
from playsite.ranking.shares import COUNT, SPREAD, rank_shares, weightings_around

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = [
    "FIRST",
    "PAIR_COLUMNS",
    "ROBUSTNESS_COLUMNS",
    "foremost",
    "pairs_table",
    "robustness_table",
    "usual_weight_sets",
]

ROBUSTNESS_COLUMNS = (
    "parcel_id",
    "rank_1_share",
    "top_3_share",
    "dominated_by",
    "weakest",
    "regret_max",
)
PAIR_COLUMNS = ("ahead", "behind", "probability", "separable", "lead_changes_at")

FIRST = 12
"""Sites of which every pair is looked at."""
NEIGHBOURS = 100
"""Sites of which each is looked at with the next one."""


def usual_weight_sets(weights: Mapping[str, float]) -> pd.DataFrame:
    """Weight sets for the regret where no members' own are known.

    The given ones; all equal; and those that keep only the order (rank-order centroid).
    """
    given = pd.Series(dict(weights), dtype=float)
    given = given[given > 0]
    return pd.DataFrame({"given": given, "equal": 1.0, "order": centroid_weights(weights)}).T


def foremost(scores: pd.DataFrame, weights: Mapping[str, float]) -> list[str]:
    """First sites, best first: as many as are looked at two by two."""
    score = totals(scores, weights)["score"]
    order = np.argsort(-score.to_numpy(float), kind="stable")[: NEIGHBOURS + 1]
    return [str(site) for site in scores.index[order]]


def robustness_table(
    scores: pd.DataFrame,
    weights: Mapping[str, float],
    *,
    weight_sets: pd.DataFrame | None = None,
    shares: pd.DataFrame | None = None,
    spread: float = SPREAD,
    count: int = COUNT,
    seed: int = 0,
) -> pd.DataFrame:
    """How firm the place of each site is.

    Parameters
    ----------
    scores
        One row a ranked site, index its id, one column a criterion, 0 to 1; NaN: unknown.
    weights
        Weight of each column; their scale does not matter.
    weight_sets
        Members' own weights, a row a member; else `usual_weight_sets`.
    shares
        As `rank_shares` gives them, where the caller has them at hand; then the next three count
        for nothing.
    spread, count, seed
        As in `weightings_around`: the shares are over weightings around the given one.

    Returns
    -------
    pd.DataFrame
        ``ROBUSTNESS_COLUMNS``, in the order of ``scores``. Shares 0 to 1 vary weights alone:
        what is unknown stays at its middle. ``dominated_by``: the best site that is at least as
        good on everything, missing where there is none; ``weakest``: the criterion it is worst
        on; ``regret_max``: most points of score that it lies behind the best under any weight set.
    """
    weights = {str(name): float(weights[str(name)]) for name in scores.columns}
    if shares is None:
        around = weightings_around(weights, spread=spread, count=count, seed=seed)
        shares = rank_shares(scores, around)
    sets = usual_weight_sets(weights) if weight_sets is None else weight_sets
    table = {
        "parcel_id": scores.index.to_series(),
        "rank_1_share": shares[1],
        "top_3_share": shares[[1, 2, 3]].sum(axis=1, skipna=False),
        "dominated_by": dominators(scores, weights),
        "weakest": weakest_links(scores, weights)["weakest"],
        "regret_max": regrets(scores, sets)["regret_max"],
    }
    return pd.DataFrame(table, columns=list(ROBUSTNESS_COLUMNS)).reset_index(drop=True)


def pairs_table(
    scores: pd.DataFrame,
    low: pd.DataFrame | None,
    high: pd.DataFrame | None,
    weights: Mapping[str, float],
    *,
    drawn: pd.DataFrame | None = None,
    common: pd.DataFrame | None = None,
    count: int = DRAWS,
    seed: int = 0,
) -> pd.DataFrame:
    """Which sites can be told apart, and what it would take to turn their order.

    Every pair of the first 12 sites, and each of the first 100 with the next one.

    Parameters
    ----------
    scores, weights
        As in `robustness_table`.
    drawn
        As `drawn_totals` gives it for `foremost`, where the caller has it at hand.
    low, high, common, count, seed
        As in `drawn_totals`: 5th and 95th percentile of each score.

    Returns
    -------
    pd.DataFrame
        ``PAIR_COLUMNS``, best sites first. ``probability`` that the one ahead is truly ahead, by
        joint draws; ``separable``: it is 0.75 or more; ``lead_changes_at``: the criteria that
        turn the order alone, and how many times as much as now they would have to count: "shade x
        2.4; grade x 0.35", the nearest above 1 and below; empty where no one alone does.
    """
    sites = foremost(scores, weights)
    near = scores.loc[sites]
    if drawn is None:
        drawn = drawn_totals(near, low, high, weights, common=common, count=count, seed=seed)
    among = itertools.combinations(range(min(FIRST, len(sites))), 2)
    pairs = sorted({*among, *itertools.pairwise(range(len(sites)))})
    rows = []
    for one, other in pairs:
        ahead, behind = sites[one], sites[other]
        changes = lead_changes(near, weights, ahead=ahead, behind=behind)
        chance = probability_ahead(drawn, ahead, behind)
        rows.append((ahead, behind, chance, chance >= SEPARABLE, nearest_changes(changes)))
    return pd.DataFrame(rows, columns=list(PAIR_COLUMNS))
