"""A surfacing over its life: first cost, upkeep and inspection, as one worth today.

Costs of a year fall at its end; money is of today, the rate is real (ASTM E917). What is due in
the last year of the study, such as a new wear layer, is left out: it would serve the years after.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from playsite.cost.factors import capital_recovery, escalation, single_present_value
from playsite.program.surfacing import SURFACINGS, depth

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from playsite._cost_settings import CostTable
    from playsite.cost._price_tables import UpkeepTable
    from playsite.cost.prices import PriceBook
    from playsite.program import RequiredPad

__all__ = ["Life", "Upkeep", "life_of", "lives_of", "not_enough", "pays_back_in", "present_worth"]

Range = tuple[float, float, float]


@dataclass(frozen=True)
class Upkeep:
    """One thing that a surfacing asks for: how often, what each time, and its worth today."""

    what: str
    every: int
    each: Range
    worth: Range
    source: str


@dataclass(frozen=True)
class Life:
    """A surfacing over the years of a study; ranges are low, likely, high.

    Parameters
    ----------
    first, upkeep, inspection, worth
        First cost; worth today of its upkeep; of the yearly inspection, which is the same for
        all; and of all three.
    a_year
        What upkeep and inspection come to as an even amount a year.
    """

    name: str
    years: int
    rate: float
    first: Range
    upkeep: Range
    inspection: Range
    worth: Range
    a_year: Range
    works: tuple[Upkeep, ...]
    accessible: str
    laid_by: str
    kept_by: str


def present_worth(first: float, by_year: Sequence[float], rate: float) -> float:
    """Worth today of a first cost and of what each year costs, at its end.

    Examples
    --------
    >>> round(present_worth(100.0, [10.0, 10.0], 0.05), 4)
    118.5941
    """
    later = (
        amount * single_present_value(rate, year) for year, amount in enumerate(by_year, start=1)
    )
    return first + sum(later)


def pays_back_in(
    dearer: tuple[float, Sequence[float]], cheaper: tuple[float, Sequence[float]], rate: float
) -> int | None:
    """Year in which what costs more at first has come to cost no more; None if it never does.

    Parameters
    ----------
    dearer, cheaper
        First cost, and the cost of each year.

    Examples
    --------
    >>> pays_back_in((100.0, [0.0] * 5), (70.0, [10.0] * 5), 0.0)
    3
    """
    years = min(len(dearer[1]), len(cheaper[1]))
    for year in range(years + 1):
        worths = [present_worth(first, by[:year], rate) for first, by in (dearer, cheaper)]
        if worths[0] <= worths[1] + 1e-9:
            return year
    return None


def life_of(name: str, area_m2: float, cost: CostTable, book: PriceBook) -> Life:
    """Life of one surfacing over an area."""
    rate, growth = cost.rate_pct / 100, cost.upkeep_growth_pct / 100
    kind, price = book.surfacing[name], book.prices[name]
    first = _three(price.low * area_m2, price.likely * area_m2, price.high * area_m2)
    works = tuple(_work(each, first, area_m2, (rate, growth, cost.years)) for each in kind.upkeep)
    upkeep = _three(*(sum(work.worth[end] for work in works) for end in range(3)))
    yearly = book.prices["inspection a year"]
    factor = _worth(1, rate, growth, cost.years)
    inspection = _three(*(end * factor for end in (yearly.low, yearly.likely, yearly.high)))
    recovery = capital_recovery(rate, cost.years)
    return Life(
        name=name,
        years=cost.years,
        rate=rate,
        first=first,
        upkeep=upkeep,
        inspection=inspection,
        worth=_three(*(first[end] + upkeep[end] + inspection[end] for end in range(3))),
        a_year=_three(*((upkeep[end] + inspection[end]) * recovery for end in range(3))),
        works=works,
        accessible=kind.accessible,
        laid_by=kind.laid_by,
        kept_by=kind.kept_by,
    )


def not_enough(pad: RequiredPad, names: Iterable[str]) -> tuple[float | None, tuple[str, ...]]:
    """Highest fall that is known, m, and the surfacings that the handbook gives no depth for under it."""
    zones = () if pad.worked is None else pad.worked.zones
    falls = [zone.fall_height_m for zone in zones if zone.fall_height_m is not None]
    highest_m = max(falls, default=None)
    listed = [name for name in names if name in SURFACINGS]
    return highest_m, tuple(name for name in listed if depth(name, highest_m).enough is False)


def lives_of(area_m2: float, cost: CostTable, book: PriceBook) -> tuple[Life, ...]:
    """Lives of all surfacings that are priced, the cheapest over the years first."""
    lives = [life_of(name, area_m2, cost, book) for name in book.surfacing if name in book.prices]
    return tuple(sorted(lives, key=lambda life: life.worth[1]))


def _work(
    table: UpkeepTable, first: Range, area_m2: float, terms: tuple[float, float, int]
) -> Upkeep:
    ends = (table.low, table.middle, table.high)
    square_foot_m2 = 0.3048**2
    if table.unit == "share":
        # a share of the likeliest first cost: low upkeep is not that of a dear surfacing
        each = _three(*(end * first[1] for end in ends))
    elif table.unit == "lump":
        each = _three(*ends)
    else:
        per = area_m2 / (square_foot_m2 if table.unit == "sq ft" else 1.0)
        each = _three(*(end * per for end in ends))
    factor = _worth(table.every, *terms)
    return Upkeep(table.what, table.every, each, _three(*(e * factor for e in each)), table.source)


def _worth(every: int, rate: float, growth: float, years: int) -> float:
    """Worth today of 1 (in money of today) every so many years."""
    due = range(every, years + 1 if every == 1 else years, every)
    return sum(escalation(growth, year) * single_present_value(rate, year) for year in due)


def _three(low: float, likely: float, high: float) -> Range:
    return low, likely, high
