"""What the words on how firm a ranking is are made from: names of sites, near-ties, shares."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from playsite.ranking.pair import pair_of
from playsite.ranking.scores import PLACES

if TYPE_CHECKING:
    import pandas as pd

    from playsite.ranking.pair import Pair
    from playsite.result import Result

__all__ = [
    "MOST_TOLD",
    "FirmFacts",
    "chance_text",
    "criterion_name",
    "factor_text",
    "points_text",
    "rows_of",
    "share_text",
    "times_text",
]

MOST_TOLD = 3
"""Names in one sentence; the others are counted."""


@dataclass(frozen=True)
class FirmFacts:
    """How firm a result's ranking is, by parcel; each thing is looked up once."""

    result: Result

    @cached_property
    def names(self) -> dict[str, str]:
        """Name of each ranked site in a sentence: "Site 4"."""
        ranked = self.result.ranked
        numbers = zip(ranked["parcel_id"], ranked["site_no"], strict=True)
        return {str(parcel): f"Site {number}" for parcel, number in numbers}

    @cached_property
    def rank(self) -> dict[str, int]:
        """Rank of each ranked site, best first."""
        ranked = self.result.ranked
        return dict(zip(ranked["parcel_id"], ranked["rank"].astype(int), strict=True))

    @cached_property
    def leader(self) -> str | None:
        """Parcel of the one site in the lead; None where the lead is shared or no order is given."""
        first = [parcel for parcel, rank in self.rank.items() if rank == 1]
        return first[0] if len(first) == 1 and self.result.shows_order else None

    @cached_property
    def shares(self) -> dict[str, list[float]]:
        """Shares of weightings of the foremost sites, best first: rank 1, 2 and so on."""
        shares = self.result.firm.shares
        rows = zip(shares.index, shares.to_numpy(float), strict=True)
        return {str(parcel): [float(share) for share in row] for parcel, row in rows}

    @cached_property
    def robustness(self) -> dict[str, dict[Any, Any]]:
        """Rows of ``robustness.csv`` by parcel."""
        return {
            str(row["parcel_id"]): row for row in self.result.firm.robustness.to_dict("records")
        }

    @cached_property
    def near_pairs(self) -> list[dict[Any, Any]]:
        """Pairs that can't be told apart on present data, the foremost first; ties are none."""
        pairs = self.result.firm.pairs
        rows = pairs[~pairs["separable"].astype(bool)].to_dict("records")
        return [row for row in rows if self.rank[row["ahead"]] != self.rank[row["behind"]]]

    @cached_property
    def too_close(self) -> list[str]:
        """Parcels too close to the one site in the lead to call; none where the lead is shared."""
        return [str(row["behind"]) for row in self.near_pairs if row["ahead"] == self.leader]

    @cached_property
    def member_ranks(self) -> pd.DataFrame:
        """Rank of each ranked site under each member's own weights; no columns without members."""
        regret = self.result.firm.regret
        members = list(self.result.members.index)
        return regret[members].round(PLACES).rank(method="min").astype(int)

    def pair(self, one: str, other: str) -> Pair:
        """Two ranked sites side by side."""
        weights = {each.name: each.weight for each in self.result.criteria}
        return pair_of(self.result.firm, weights, one, other)


def criterion_name(name: object) -> str:
    """Name of a criterion as people write it."""
    return str(name).replace("_", " ")


def share_text(share: float) -> str:
    """Share of weightings in whole percents: chance draws know no more.

    Examples
    --------
    >>> [share_text(share) for share in (0, 0.001, 0.624, 0.999, 1)]
    ['none', 'under 1%', '62%', 'over 99%', 'all']
    """
    if share in {0, 1}:
        return "all" if share else "none"
    whole = round(100 * share)
    return "under 1%" if whole < 1 else "over 99%" if whole > 99 else f"{whole}%"


def chance_text(chance: float) -> str:
    """Chance in whole percents; none is ever sure.

    Examples
    --------
    >>> [chance_text(chance) for chance in (0.0, 0.334, 1.0)]
    ['under 1%', '33%', 'over 99%']
    """
    return share_text(min(max(chance, 1e-9), 1 - 1e-9))


_LEAST_FACTOR = 0.005  # less would read "0.00 times as much"


def factor_text(factor: float) -> str:
    """How many times as much: two figures that mean something.

    Examples
    --------
    >>> [factor_text(factor) for factor in (2.4412, 23.16, 0.352, 1.043, 0.003)]
    ['2.4', '23', '0.35', '1.04', 'under 0.01']
    """
    if factor < _LEAST_FACTOR:
        return "under 0.01"
    if factor >= 10:
        return f"{factor:,.0f}"
    return f"{factor:.2f}" if factor < 1.1 else f"{factor:.1f}"


def times_text(name: object, factor: float) -> str:
    """How many times as much a criterion would have to count."""
    return f"{criterion_name(name)} counts {factor_text(factor)} times as much as now"


def points_text(share: float) -> str:
    """Difference of scores in whole points."""
    whole = math.floor(round(100 * share, 7) + 0.5)
    return "less than a point" if whole < 1 else f"{whole} point{'s' if whole > 1 else ''}"


def rows_of(table: pd.DataFrame) -> list[dict[Any, Any]]:
    """Rows of a table by name of column."""
    return list(table.to_dict("records"))
