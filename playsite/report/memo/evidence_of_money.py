"""Rows of the evidence table on money and time: cost, surfacings, the charter, the calendar."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.report.memo.evidence import Entry
from playsite.report.money import money_text
from playsite.report.people_units import distance_text
from playsite.report.plain_text import one_line
from playsite.report.plan_words import (
    calendar_rows,
    charter_items,
    currency_of,
    deadline_sentences,
    ticket_sentence,
)
from playsite.report.wording import records

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playsite.report.memo.readings import Readings, Row

__all__ = ["charter_entries", "money_entries", "time_entries"]


def money_entries(readings: Readings) -> Iterator[Entry]:
    """Give cost of the study as a whole, and of surfacings over their lives."""
    costs, made_on = readings.result.costs, readings.result.study.made_on
    if costs is None or costs.sites.empty:
        return

    def entry(
        what: str, value: str, how: str, source: str = "costs.csv; prices.toml and the study"
    ) -> Entry:
        return Entry("C", what, value, how, source, made_on)

    book = costs.book

    def amount(given: float) -> str:
        return money_text(given, costs.currency)

    yield entry(
        "money, surfacing, way of installing",
        f"{costs.money_of}; {costs.surfacing}; {costs.installation}",
        "as the study says",
    )
    spread = float(costs.sites["above_least_p50"].max())
    yield entry(
        "the same at any site, even odds; budget",
        f"{amount(costs.common_p50)}; {amount(costs.common_p80)}",
        "quantities times prices, drawn together",
    )
    yield entry("from the least to the most dear site", amount(spread), "difference of draws")
    yield entry(
        "sites priced",
        f"{len(costs.sites)}; efficient: {int(costs.sites['is_efficient'].sum())}",
        "no other scores as well for as little",
    )
    for row in records(costs.programs):
        told = f"even odds {amount(row['p50'])}; budget {amount(row['p80'])}"
        yield entry(f"program {one_line(str(row['program']))}", told, "without what a site adds")
    low, high = book.low_pct, book.high_pct
    span = f"{abs(low[1]):g} to {abs(low[0]):g}% less, {high[0]:g} to {high[1]:g}% more"
    yield entry(
        f"class of the estimate: {book.kind}", span, "as such estimates are off", book.kind_source
    )
    for note in costs.notes:
        yield entry("prices and how they move", note, "as used", "prices.toml and the study")
    for life in costs.lives:
        low_worth, worth, high_worth = (amount(each) for each in life.worth)
        terms = f"over {life.years} years at {100 * life.rate:g}% a year, money of {book.year}"
        yield entry(
            f"surfacing {life.name}",
            f"{amount(life.first[1])} at first; {amount(life.a_year[1])} a year; worth today {worth}, "
            f"likely {low_worth} to {high_worth}, {terms}; wheels: {life.accessible}",
            "present worth (ASTM E917)",
        )
        if life.name == costs.surfacing:
            for work in life.works:
                yield entry(
                    f"{life.name}: {work.what}",
                    f"{amount(work.each[1])} every {f'{work.every} years' if work.every > 1 else 'year'}",
                    "upkeep",
                    work.source,
                )
            yield entry(f"{life.name}: who lays it", life.laid_by, "upkeep", "prices.toml")
    if costs.too_shallow:
        fall = distance_text(costs.highest_fall_m, readings.result.study.units)
        yield entry("highest fall", fall, "of the pieces", "CPSC Pub. 325, Table 2")


def charter_entries(readings: Readings) -> Iterator[Entry]:
    """Give the charter as written."""
    plan = readings.result.plan
    if plan is None or plan.charter is None:
        return
    for item in charter_items(plan.charter, currency_of(readings.result)):
        what, _, value = item.partition(": ")
        yield Entry(
            "H", what, value, "as written", "the study's [charter]", readings.result.study.made_on
        )


def time_entries(readings: Readings, site: Row) -> Iterator[Entry]:
    """Give the calendar of a site."""
    plan, made_on = readings.result.plan, readings.result.study.made_on
    parcel = str(site["parcel_id"])
    if plan is None or parcel not in plan.calendars:
        return
    calendar, key = plan.calendars[parcel], f"T{site['site_no']}"
    how, source = "durations drawn, step after step", "[schedule]; prices.toml"
    yield Entry(key, "opens by", " ".join(deadline_sentences(plan, parcel)), how, source, made_on)
    first = plan.calendars.get(str(readings.short_list[0]["parcel_id"]))
    if site is not readings.short_list[0] and calendar == first:
        return  # its steps are those of the first site
    yield Entry(
        key,
        "one-call tickets",
        ticket_sentence(calendar),
        "business days before digging",
        source,
        made_on,
    )
    for name, who, *days in calendar_rows(calendar):
        yield Entry(key, f"{name}; {who}", "; ".join(days), how, source, made_on)
