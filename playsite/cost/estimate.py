"""From lines to money: joint draws of prices, quantities and events; percentiles of the whole.

Base = sum of quantity times price. Construction = base and mobilization. Project = construction
with design, permits and inspections, studies, and what the ground may hold; all brought to the
middle of construction. Everything a site shares with the others is drawn once.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from playsite._cost_settings import year_of
from playsite.cost.draws import occurs, percentiles, shares, triangular

if TYPE_CHECKING:
    from collections.abc import Sequence

    from playsite._cost_settings import CostTable
    from playsite.cost.draws import Draws
    from playsite.cost.lines import Line, SiteFacts
    from playsite.cost.prices import Price, PriceBook

__all__ = ["Counted", "Estimate", "Estimator", "Row"]

NOTHING = (math.nan,) * 4
_MOBILIZATION = "mobilization and bonds"
_SOFT = "design, permits, inspections, safety audit"
_GROWTH = "escalation a year"


@dataclass(frozen=True)
class Row:
    """One line with its money.

    Parameters
    ----------
    quantity
        The likeliest; NaN where it is not known.
    prices
        Low, likely, high by one of the unit; NaN where there are none.
    money
        10th, 50th, 80th and 90th percentile.
    differs
        ``yes``, ``no``, or ``partly`` for shares of both.
    """

    name: str
    quantity: float
    unit: str
    prices: tuple[float, float, float]
    money: tuple[float, ...]
    differs: str
    source: str
    basis: str


@dataclass(frozen=True)
class Estimate:
    """Cost of one program, or of one program at one site.

    Parameters
    ----------
    rows
        Every line, known or not; percentiles of lines don't add up to those of the whole.
    draws
        Of the whole.
    own
        Draws of what differs from other sites, with its share of all that is put on top.
    """

    rows: tuple[Row, ...]
    draws: Draws
    own: Draws

    @property
    def unknown(self) -> tuple[str, ...]:
        """Lines that are not known, and so are in no sum."""
        return tuple(row.name for row in self.rows if math.isnan(row.money[1]))


@dataclass(frozen=True)
class _Sum:
    """Draws added up: in money of the prices' years, and of the middle of construction."""

    now: Draws
    then: Draws

    def __add__(self, other: _Sum) -> _Sum:
        return _Sum(self.now + other.now, self.then + other.then)


@dataclass(frozen=True)
class Counted:
    """Lines with their money, and the draws of work and of studies."""

    rows: tuple[Row, ...]
    work: _Sum
    studies: _Sum


class Estimator:
    """Draws of one study: prices, shares and escalation, the same for every site and program."""

    def __init__(self, cost: CostTable, book: PriceBook) -> None:
        self.cost, self.book = cost, book
        self._correlation = cost.correlation_pct / 100
        self._zero = np.zeros_like(shares(_SOFT))
        self._kept: dict[Price, Draws] = {}
        self._mobilized = 1 + self._plain(book.prices[_MOBILIZATION])
        self._designed = 1 + self._plain(book.prices[_SOFT])
        self._growth = 1 + self._escalation()
        self._factors: dict[float, Draws] = {}

    def estimate(
        self, common: Counted, own: Sequence[Line] = (), facts: SiteFacts | None = None
    ) -> Estimate:
        """Estimate of a program that was counted, and of a site's lines where there is one."""
        rows = list(common.rows)
        site, site_studies = self._none(), self._none()
        if facts is not None:
            counted = self.counted(own, facts.parcel_id)
            rows += counted.rows
            site, site_studies = counted.work, counted.studies + self._events(facts, rows)
        mobilized, designed = self._mobilized, self._designed
        base, on_top = common.work + site, common.studies + site_studies
        construction = base.now * mobilized
        rows.append(self._share_row(_MOBILIZATION, base.now * (mobilized - 1), "of all work"))
        rows.append(self._share_row(_SOFT, construction * (designed - 1), "of construction"))
        now = construction * designed + on_top.now
        then = base.then * mobilized * designed + on_top.then
        if self.cost.built is not None:
            rows.append(self._escalated(then - now))
        own_then = site.then * mobilized * designed + site_studies.then
        rows.append(self._total(then, rows))
        return Estimate(tuple(rows), then, own_then)

    def _none(self) -> _Sum:
        return _Sum(self._zero, self._zero)

    def counted(self, lines: Sequence[Line], at: str = "") -> Counted:
        """Count some lines once, for one site or for all; installation comes with the equipment."""
        rows: list[Row] = []
        sums = {"work": self._none(), "study": self._none(), "equipment": self._none()}
        for line in lines:
            drawn = self._drawn(line, at)
            rows.append(_row(line, drawn))
            if drawn is not None and line.price is not None:
                sums[line.kind] += _Sum(drawn, drawn * self._until_built(line.price.year))
        if any(line.kind == "equipment" for line in lines):
            known = all(line.quantity is not None for line in lines if line.kind == "equipment")
            sums["work"] += self._installed(sums["equipment"], known=known, rows=rows)
        return Counted(tuple(rows), sums["work"] + sums["equipment"], sums["study"])

    def _drawn(self, line: Line, at: str) -> Draws | None:
        if line.price is None or line.quantity is None:
            return None
        amount = line.quantity
        if amount.low == amount.high:
            return amount.likely * self._price(line.price)
        even = shares(f"{at}\n{line.name}\nquantity")
        return triangular(even, amount.low, amount.likely, amount.high) * self._price(line.price)

    def _price(self, price: Price) -> Draws:
        if price not in self._kept:
            even = shares(price.name, correlation=self._correlation)
            self._kept[price] = triangular(even, price.low, price.likely, price.high)
        return self._kept[price]

    @staticmethod
    def _plain(price: Price) -> Draws:
        return triangular(shares(price.name), price.low, price.likely, price.high)

    def _escalation(self) -> Draws:
        if self.cost.escalation_pct is not None:
            return np.full_like(self._zero, self.cost.escalation_pct / 100)
        return self._plain(self.book.prices[_GROWTH])

    def _until_built(self, year: float) -> Draws:
        """What a price of that year has become by the middle of construction."""
        built = self.cost.built
        if built is None:
            return self._zero + 1
        if year not in self._factors:
            index, start, factor = self.cost.index, year, 1.0
            if index is not None and year == self.book.year:
                start, factor = year_of(index.now_is), index.now / index.then
            self._factors[year] = factor * self._growth ** max(year_of(built) - start, 0.0)
        return self._factors[year]

    def installations(self, common: Sequence[Line]) -> pd.DataFrame:
        """What putting the equipment together costs by then, way by way: ``way, p50, p80``."""
        lines = [line for line in common if line.kind == "equipment"]
        equipment, known = self._zero, True
        for line in lines:
            drawn = self._drawn(line, "")
            known = known and drawn is not None
            if drawn is not None and line.price is not None:
                equipment = equipment + drawn * self._until_built(line.price.year)
        rows = []
        for way in self.book.installation:
            money = percentiles(equipment * self._share_of(way)) if known else NOTHING
            rows.append((way, money[1], money[2]))
        return pd.DataFrame(rows, columns=["way", "p50", "p80"])

    def _share_of(self, way: str) -> Draws:
        table = self.book.installation[way].share
        even = shares(f"installation, {way}", correlation=self._correlation)
        return triangular(even, table.low, table.middle, table.high)

    def _installed(self, equipment: _Sum, *, known: bool, rows: list[Row]) -> _Sum:
        way = self.cost.installation
        table, drawn = self.book.installation[way].share, self._share_of(way)
        rows.append(
            Row(
                name=f"installation, {way}",
                quantity=1.0 if known else math.nan,
                unit="share of equipment",
                prices=(table.low, table.middle, table.high),
                money=percentiles(equipment.now * drawn) if known else NOTHING,
                differs="no",
                source=table.source,
                basis="share of the equipment",
            )
        )
        return _Sum(equipment.now * drawn, equipment.then * drawn) if known else self._none()

    def _events(self, facts: SiteFacts, rows: list[Row]) -> _Sum:
        """What the ground may hold, each with its chance."""
        total = self._none()
        dug_m3 = _dug_m3(facts)
        for name, event in self.book.events.items():
            value = facts.value(event.by)
            reached = [
                chance for least, chance in event.steps if value is not None and value >= least
            ]
            chance = reached[-1] if reached else event.unknown
            happens = occurs(f"{facts.parcel_id}\n{name}", chance)
            even = shares(f"{facts.parcel_id}\n{name}\namount", correlation=self._correlation)
            year = float(self.book.year)
            if event.share_of_dug is not None and dug_m3 is None:
                drawn = None
            elif event.share_of_dug is not None and dug_m3 is not None:
                low, high = event.share_of_dug
                price = self.book.prices["rock or unsuitable soil"]
                part = triangular(even, low, (low + high) / 2, high)
                drawn, year = happens * part * dug_m3 * self._price(price), price.year
            else:
                low, high = event.low or 0.0, event.high or 0.0
                drawn = happens * triangular(even, low, (low + high) / 2, high)
            rows.append(_event_row(name, chance, value, drawn, event.source, event.low, event.high))
            if drawn is not None:
                total += _Sum(drawn, drawn * self._until_built(year))
        return total

    def _share_row(self, name: str, drawn: Draws, of: str) -> Row:
        price = self.book.prices[name]
        prices = (price.low, price.likely, price.high)
        return Row(name, 1.0, f"share {of}", prices, percentiles(drawn), "partly", price.source, of)

    def _escalated(self, drawn: Draws) -> Row:
        price = self.book.prices[_GROWTH]
        given = self.cost.escalation_pct
        prices = (price.low, price.likely, price.high) if given is None else (given / 100,) * 3
        source = price.source if given is None else self.cost.escalation_source or "the study's own"
        if self.cost.index is not None:
            source = f"{self.cost.index.source}; from then on {source}"
        years = 0.0 if self.cost.built is None else year_of(self.cost.built) - self.book.year
        basis = f"to the middle of construction, {self.cost.built:%B %Y}"
        return Row(
            "escalation", years, "a year", prices, percentiles(drawn), "partly", source, basis
        )

    def _total(self, drawn: Draws, rows: Sequence[Row]) -> Row:
        unknown = [row.name for row in rows if math.isnan(row.money[1])]
        source = "sum of the lines above" if not unknown else (
            f"sum of the lines that are known; not in it: {', '.join(unknown)}"
        )  # fmt: skip
        return Row(
            "total",
            math.nan,
            self.cost.currency,
            (math.nan,) * 3,
            percentiles(drawn),
            "partly",
            source,
            "",
        )


def _row(line: Line, drawn: Draws | None) -> Row:
    price, quantity = line.price, line.quantity
    return Row(
        name=line.name,
        quantity=math.nan if quantity is None else quantity.likely,
        unit="" if price is None else price.unit,
        prices=(math.nan,) * 3 if price is None else (price.low, price.likely, price.high),
        money=NOTHING if drawn is None else percentiles(drawn),
        differs="yes" if line.differs else "no",
        source="" if price is None else f"{price.source} ({price.year:.0f})",
        basis=line.basis,
    )


def _event_row(
    name: str,
    chance: float,
    value: float | None,
    drawn: Draws | None,
    source: str,
    low: float | None,
    high: float | None,
) -> Row:
    ends = (math.nan,) * 3 if low is None or high is None else (low, (low + high) / 2, high)
    seen = "nothing was measured" if value is None else "by what was measured"
    basis = f"a chance of {chance:.0%}, {seen}"
    money = NOTHING if drawn is None else percentiles(drawn)
    return Row(f"risk: {name}", chance, "chance", ends, money, "yes", source, basis)


def _dug_m3(facts: SiteFacts) -> float | None:
    return None if facts.ground is None else facts.ground.cut_m3 + facts.ground.boxout_m3
