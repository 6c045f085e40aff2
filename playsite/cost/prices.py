"""The book of prices: the shipped file, a study's own file over it, local bids over both."""

from __future__ import annotations

import csv
import functools
import io
import math
import tomllib
from dataclasses import dataclass, replace
from importlib import resources
from statistics import median
from typing import TYPE_CHECKING

from pydantic import ValidationError

from playsite.cost._price_tables import SI_OF_UNIT, PriceFile
from playsite.cost.factors import escalation
from playsite.problems import nearest_word

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from playsite._cost_settings import CostTable
    from playsite.cost._price_tables import (
        EventTable,
        InstallationTable,
        PriceTable,
        StepTable,
        SurfacingTable,
        UpkeepTable,
    )
    from playsite.problems import Problems

__all__ = ["BID_COLUMNS", "Price", "PriceBook", "price_book", "shipped_book"]

BID_COLUMNS = ("line", "unit", "price", "year")
_ONE_BID = 0.15
"""How far a price may be off where one bid is all there is; common practice, no source."""
_BIDS_GROW = 0.045
"""Yearly growth that brings bids of several years to the latest: the middle of the shipped range."""

_MOST, _FIRST_YEAR, _LAST_YEAR = 1e9, 1980, 2100


@dataclass(frozen=True)
class Price:
    """A price as a range, by the unit used inside.

    Parameters
    ----------
    name
        Of the line that it prices.
    unit
        m, m2, m3, each, lump or share.
    low, likely, high
        In the currency of the book, by one of the unit.
    year
        In money of.
    source
        Who says so.
    """

    name: str
    unit: str
    low: float
    likely: float
    high: float
    year: float
    currency: str
    source: str


@dataclass(frozen=True)
class PriceBook:
    """All that an estimate starts from."""

    currency: str
    year: int
    kind: str
    low_pct: tuple[float, float]
    high_pct: tuple[float, float]
    kind_source: str
    prices: Mapping[str, Price]
    surfacing: Mapping[str, SurfacingTable]
    installation: Mapping[str, InstallationTable]
    events: Mapping[str, EventTable]
    steps: tuple[StepTable, ...]
    own: tuple[str, ...] = ()
    """Names of the prices that the study's own files gave."""


def shipped_book() -> PriceBook:
    """The book that comes with the package: United States, 2025."""
    return _shipped()


@functools.cache
def _shipped() -> PriceBook:
    text = resources.files("playsite.cost").joinpath("prices.toml").read_text("utf-8")
    read = PriceFile.model_validate(tomllib.loads(text))
    if read.estimate is None:
        raise ValueError("the shipped prices name no class of estimate")
    return PriceBook(
        currency=read.currency,
        year=read.year,
        kind=read.estimate.kind,
        low_pct=read.estimate.low_pct,
        high_pct=read.estimate.high_pct,
        kind_source=read.estimate.source,
        prices=_prices(read),
        surfacing=read.surfacing,
        installation=read.installation,
        events=read.events,
        steps=tuple(read.steps),
    )


def price_book(cost: CostTable, folder: Path, problems: Problems) -> PriceBook:
    """Read a study's book of prices.

    The shipped prices are brought into the study's currency and to its place; what the study's
    own file names replaces them, and the lines of its table of bids replace both: those are
    local, and are taken as they are.

    Parameters
    ----------
    cost
        What the study says of its prices.
    folder
        Of the study file.
    problems
        Takes what is wrong, with file, line or entry, and remedy.
    """
    book = shipped_book()
    if cost.currency != book.currency and cost.exchange is None:
        problems.add(
            f"the shipped prices are in {book.currency}, the study is in {cost.currency}.",
            f"Say how many {cost.currency} one {book.currency} is: exchange = 1.37.",
            key="cost.currency",
        )
    book = _brought_here(book, cost)
    if cost.prices is not None:
        book = _with_own(book, folder / cost.prices, cost.currency, problems)
    return book if cost.bids is None else _with_bids(book, folder / cost.bids, problems)


def _brought_here(book: PriceBook, cost: CostTable) -> PriceBook:
    """All amounts of money times exchange and place factor; shares stay."""
    exchange = 1.0 if cost.currency == book.currency else cost.exchange or math.nan
    factor = exchange * cost.place_factor
    if factor == 1.0:
        return book
    said = [f"times {exchange:g} {cost.currency}"] if exchange != 1.0 else []
    said += [f"times {cost.place_factor:g} for the place"] if cost.place_factor != 1.0 else []
    tail = f"; {', '.join(said)}"
    prices = {
        name: _moved(price, factor, cost.currency, tail) for name, price in book.prices.items()
    }
    surfacing = {
        name: kind.model_copy(update={"upkeep": [_dearer(each, factor) for each in kind.upkeep]})
        for name, kind in book.surfacing.items()
    }
    events = {name: _dearer_event(event, factor) for name, event in book.events.items()}
    return replace(book, currency=cost.currency, prices=prices, surfacing=surfacing, events=events)


def _moved(price: Price, factor: float, currency: str, tail: str) -> Price:
    if price.unit == "share":
        return price
    return replace(
        price,
        low=price.low * factor,
        likely=price.likely * factor,
        high=price.high * factor,
        currency=currency,
        source=price.source + tail,
    )


def _dearer(each: UpkeepTable, factor: float) -> UpkeepTable:
    if each.unit == "share":
        return each
    likely = None if each.likely is None else each.likely * factor
    return each.model_copy(
        update={"low": each.low * factor, "likely": likely, "high": each.high * factor}
    )


def _dearer_event(event: EventTable, factor: float) -> EventTable:
    if event.low is None or event.high is None:
        return event
    return event.model_copy(update={"low": event.low * factor, "high": event.high * factor})


def _prices(read: PriceFile) -> dict[str, Price]:
    return {
        name: _price(name, table, read.year, read.currency) for name, table in read.prices.items()
    }


def _price(name: str, table: PriceTable, year: int, currency: str) -> Price:
    unit, of_si = SI_OF_UNIT[table.unit]
    ends = (table.low / of_si, table.middle / of_si, table.high / of_si)
    return Price(name, unit, *ends, float(table.year or year), currency, table.source)


def _with_own(book: PriceBook, file: Path, currency: str, problems: Problems) -> PriceBook:
    text = _text(file, problems)
    try:
        read = PriceFile.model_validate(tomllib.loads(text)) if text is not None else None
    except tomllib.TOMLDecodeError as error:
        problems.add(f"is not valid TOML: {error}.", file=str(file))
        return book
    except ValidationError as error:
        for fault in error.errors():
            key = ".".join(str(part) for part in fault["loc"])
            problems.add(
                f"{fault['msg'].removeprefix('Value error, ')}; given {str(fault['input'])[:60]}.",
                "See the shipped prices.toml for the form.",
                file=str(file),
                key=key,
            )
        return book
    if read is None:
        return book
    if read.currency != currency:
        what = f"is in {read.currency}, the study is in {currency}."
        problems.add(what, "Give both in one currency.", file=str(file), key="currency")
    prices = _prices(read)
    for name, price in prices.items():
        known = book.prices.get(name)
        if known is not None and known.unit != price.unit:
            what = f'"{name}" is priced by another kind of unit than is measured ({known.unit}).'
            problems.add(what, f"{_units_for(known.unit)}", file=str(file), key=f"prices.{name}")
    known_kind = read.estimate
    return replace(
        book,
        kind=known_kind.kind if known_kind else book.kind,
        low_pct=known_kind.low_pct if known_kind else book.low_pct,
        high_pct=known_kind.high_pct if known_kind else book.high_pct,
        kind_source=known_kind.source if known_kind else book.kind_source,
        prices={**book.prices, **prices},
        surfacing={**book.surfacing, **read.surfacing},
        installation={**book.installation, **read.installation},
        events={**book.events, **read.events},
        steps=tuple(read.steps) or book.steps,
        own=tuple(prices),
    )


def _units_for(unit: str) -> str:
    return f"Known here: {', '.join(name for name, (si, _) in SI_OF_UNIT.items() if si == unit)}."


def _with_bids(book: PriceBook, file: Path, problems: Problems) -> PriceBook:
    text = _text(file, problems)
    if text is None:
        return book
    rows = csv.DictReader(io.StringIO(text))
    absent = [name for name in BID_COLUMNS if name not in (rows.fieldnames or ())]
    if absent:
        problems.add(
            f"has no column {', '.join(absent)}.",
            f"Expected the columns {', '.join(BID_COLUMNS)}; others are left alone.",
            file=str(file),
        )
        return book
    bids: dict[str, list[tuple[float, float]]] = {}
    for row in rows:
        got = _bid(row, book, file, rows.line_num, problems)
        if got is not None:
            bids.setdefault(row["line"].strip(), []).append(got)
    found = {name: _from_bids(book.prices[name], given, file.name) for name, given in bids.items()}
    return replace(book, prices={**book.prices, **found}, own=(*book.own, *found))


def _bid(
    row: dict[str, str], book: PriceBook, file: Path, line: int, problems: Problems
) -> tuple[float, float] | None:
    """Price by the unit used inside, and its year; None where the row is at fault."""
    name, unit = (row["line"] or "").strip(), (row["unit"] or "").strip()
    place = {"file": str(file), "line": line}
    if name not in book.prices:
        problems.add(
            f'"{name}" is no line of the estimate.', nearest_word(name, book.prices), **place
        )
        return None
    known = book.prices[name]
    if unit not in SI_OF_UNIT or SI_OF_UNIT[unit][0] != known.unit:
        problems.add(f'"{unit}" is no unit for "{name}".', _units_for(known.unit), **place)
        return None
    price = _number((row["price"] or "").replace("$", "").replace(",", ""))
    year = _number(row["year"] or "")
    if not (0 < price < _MOST and _FIRST_YEAR <= year <= _LAST_YEAR):
        what = f'price "{row["price"]}" and year "{row["year"]}" are not an amount and a year.'
        problems.add(what, "Expected such as 42.50 and 2024.", **place)
        return None
    return price / SI_OF_UNIT[unit][1], year


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return math.nan


def _from_bids(known: Price, bids: list[tuple[float, float]], file: str) -> Price:
    """Least, middle and most of the bids, in money of the latest year."""
    latest, first = max(year for _, year in bids), min(year for _, year in bids)
    prices = sorted(price * escalation(_BIDS_GROW, latest - year) for price, year in bids)
    one = len(prices) == 1
    spread = (1 - _ONE_BID, 1 + _ONE_BID) if one else (1.0, 1.0)
    when = f"{first:.0f}" if first == latest else f"{first:.0f} to {latest:.0f}"
    counted = "1 local bid" if one else f"{len(prices)} local bids"
    off = f", taken as off by {_ONE_BID:.0%} either way" if one else ""
    return replace(
        known,
        low=prices[0] * spread[0],
        likely=median(prices),
        high=prices[-1] * spread[1],
        year=latest,
        source=f"{counted} of {when}, {file}{off}",
    )


def _text(file: Path, problems: Problems) -> str | None:
    try:
        return file.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        problems.add("there is no such file.", "Mend its path in [cost].", file=str(file))
    except UnicodeDecodeError as error:
        problems.add(f"is not UTF-8 text ({error.reason}).", "Save it as UTF-8.", file=str(file))
    except OSError as error:
        problems.add(f"can't be read: {error.strerror}.", file=str(file))
    return None
