"""Why one site stands before another: where each scores higher, how sure it is, what would turn it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from playsite.ranking.dominance import has_more_of
from playsite.ranking.lead_changes import lead_changes
from playsite.ranking.near_ties import askable, best_measurements, drawn_totals, probability_ahead
from playsite.ranking.scores import totals
from playsite.ranking.shares import MIDDLE, share_ahead

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd

    from playsite.ranking.firm import Firm

__all__ = ["Pair", "pair_of"]


@dataclass(frozen=True)
class Pair:
    """Two ranked sites, the one with the higher score first.

    Parameters
    ----------
    lead
        Difference of the scores, 0 to 1.
    more, less
        As `has_more_of` gives them: where the first has more than the second, and where less.
    unknown
        Criteria in use of which one of the two is not known.
    probability
        That the first is truly ahead.
    changes
        As `lead_changes` gives them.
    share
        Share of all weightings there are in which the first is ahead.
    measurements
        As `best_measurements` gives them.
    """

    ahead: str
    behind: str
    lead: float
    more: pd.DataFrame
    less: pd.DataFrame
    unknown: tuple[str, ...]
    probability: float
    changes: pd.DataFrame
    share: float
    measurements: pd.DataFrame


def pair_of(firm: Firm, weights: Mapping[str, float], one: str, other: str) -> Pair:
    """Set two ranked sites side by side, in the order of their scores."""
    near, low, high = (table.loc[[one, other]] for table in (firm.scores, firm.low, firm.high))
    score = totals(near, weights)["score"]
    ahead, behind = (one, other) if score[one] >= score[other] else (other, one)
    used = [name for name in near.columns if weights.get(str(name), 0) > 0]
    filled = near[used].fillna(MIDDLE).round(9)
    drawn = drawn_totals(near, low, high, weights, common=firm.common)
    return Pair(
        ahead=ahead,
        behind=behind,
        lead=float(score[ahead] - score[behind]),
        more=has_more_of(near, weights, one=ahead, other=behind),
        less=has_more_of(near, weights, one=behind, other=ahead),
        unknown=tuple(str(name) for name in used if near[name].isna().sum() == 1),
        probability=probability_ahead(drawn, ahead, behind),
        changes=lead_changes(near, weights, ahead=ahead, behind=behind),
        share=share_ahead(filled.loc[ahead], filled.loc[behind]),
        measurements=askable(
            best_measurements(
                near, low, high, weights, ahead=ahead, behind=behind, common=firm.common
            ),
            near,
            firm.map_alone,
        ),
    )
