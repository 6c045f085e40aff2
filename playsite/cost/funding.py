"""Who pays: what each source can give at a cost, and the gap that is left."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from playsite._cost_settings import FundTable

__all__ = ["Given", "Paid", "paid_by"]


@dataclass(frozen=True)
class Given:
    """What one source gives, and what bounds it: its amount, its share, the match, or the need."""

    name: str
    state: str
    amount: float
    bound: str


@dataclass(frozen=True)
class Paid:
    """A cost and who pays it.

    Parameters
    ----------
    gap
        What nobody pays; 0 where all is paid.
    gap_in_hand
        The same if only what is in hand counts.
    """

    cost: float
    given: tuple[Given, ...]
    gap: float
    gap_in_hand: float


def paid_by(cost: float, funds: Sequence[FundTable]) -> Paid:
    """Pay a cost from sources in their order.

    A source that asks for a match of m pays at most 1 - m of the cost, and at most (1 - m) / m of
    what the other sources can bring; nobody pays more than is still due.

    Parameters
    ----------
    cost
        What is to be paid.
    funds
        In the order in which they are used.

    Examples
    --------
    >>> from playsite._cost_settings import FundTable
    >>> own = FundTable(name="own", amount=150_000, state="in hand")
    >>> grant = FundTable.model_validate({"name": "grant", "amount": 300_000, "match": "50 %"})
    >>> paid = paid_by(500_000, [own, grant])
    >>> [(each.amount, each.bound) for each in paid.given], paid.gap, paid.gap_in_hand
    ([(150000.0, 'all that it has'), (150000.0, 'its match')], 200000.0, 350000.0)
    """
    due, given = cost, []
    for fund in funds:
        match = fund.match_pct / 100
        others = sum(other.amount for other in funds if other is not fund)
        matched = others * (1 - match) / match if match else math.inf
        bounds = {
            "all that it has": fund.amount,
            "its share of the cost": (1 - match) * cost if match else math.inf,
            "its match": matched,
            "no more is due": due,
        }
        bound = min(bounds, key=lambda name: bounds[name])
        given.append(Given(fund.name, fund.state, bounds[bound], bound))
        due -= bounds[bound]
    in_hand = [fund for fund in funds if fund.state == "in hand"]
    alone = due if len(in_hand) == len(funds) else paid_by(cost, in_hand).gap
    return Paid(cost, tuple(given), due, alone)
