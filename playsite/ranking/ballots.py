"""What residents said: ballots and comments, counted beside the score and never in it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import pandas as pd

from playsite.ranking.ballot_counts import (
    first_choices,
    majority_cycles,
    pairwise_majority,
    pairwise_winner,
    positional_points,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

__all__ = ["BALLOT_COLUMNS", "CHILD", "Ballot", "Ballots", "Count", "counted"]

BALLOT_COLUMNS = (
    *("group", "parcel_id", "ballots", "approvals", "first_choices"),
    *("points", "wins", "losses"),
)
CHILD = "child"


@dataclass(frozen=True)
class Ballot:
    """One ballot: sites approved, sites in order, where its voter lives, and who that is."""

    approves: tuple[str, ...]
    order: tuple[str, ...]
    place: str = ""
    age_group: str = ""


@dataclass(frozen=True)
class Count:
    """The ballots of one group, counted.

    Parameters
    ----------
    table
        Index: the sites on any ballot. Columns ``approvals, first_choices, points, wins, losses``:
        wins and losses two by two; a column is missing where no ballot says anything of it.
    approving, ordering
        Ballots that approve any site; that order any.
    winner
        Site that beats every other one; None where there is none.
    cycles
        Groups of sites that beat one another in a ring.
    before
        How many put the site of the row before that of the column.
    """

    ballots: int
    approving: int
    ordering: int
    table: pd.DataFrame
    winner: str | None
    cycles: tuple[tuple[str, ...], ...]
    before: pd.DataFrame


@dataclass(frozen=True)
class Ballots:
    """All that residents said.

    Parameters
    ----------
    counts
        By group: ``all``, and ``children`` where any ballot is a child's.
    again
        Ballots left out because their number was there before.
    places
        Where voters live, and how many of each; empty text: not said.
    comments
        ``parcel_id, criterion, comment``; the criterion may be empty.
    invited
        How many people were asked, where the study says it.
    again_otherwise
        Those of ``again`` that said something else than the first of their number, which counts.
    """

    counts: Mapping[str, Count]
    again: int
    places: pd.Series[int]
    comments: pd.DataFrame = field(
        default_factory=lambda: pd.DataFrame(columns=["parcel_id", "criterion", "comment"])
    )
    invited: int | None = None
    again_otherwise: int = 0

    @property
    def table(self) -> pd.DataFrame:
        """Rows of ``ballots.csv``."""
        tables = [
            count.table.rename_axis("parcel_id")
            .reset_index()
            .assign(group=group, ballots=count.ballots)
            for group, count in self.counts.items()
        ]
        return pd.concat(tables, ignore_index=True)[list(BALLOT_COLUMNS)]


def counted(ballots: Sequence[Ballot]) -> Count:
    """Count ballots by approval, by positional points and two by two."""
    approving = [ballot for ballot in ballots if ballot.approves]
    orders = [ballot.order for ballot in ballots if ballot.order]
    votes = [1.0] * len(orders)
    named = {site for ballot in ballots for site in (*ballot.approves, *ballot.order)}
    sites = sorted(named)
    table = pd.DataFrame(index=sites, columns=list(BALLOT_COLUMNS[3:]), dtype=float)
    if approving:
        table["approvals"] = [
            float(sum(site in ballot.approves for ballot in approving)) for site in sites
        ]
    before = pairwise_majority(orders, votes, sites) if orders else pd.DataFrame()
    if orders:
        table["first_choices"] = first_choices(orders, votes, sites)
        table["points"] = positional_points(orders, votes, sites)
        wins = before.to_numpy() > before.to_numpy().T
        table["wins"], table["losses"] = wins.sum(axis=1), wins.sum(axis=0)
    return Count(
        ballots=len(ballots),
        approving=len(approving),
        ordering=len(orders),
        table=table,
        winner=pairwise_winner(before) if len(before) > 1 else None,
        cycles=tuple(map(tuple, majority_cycles(before))) if orders else (),
        before=before,
    )
