"""Money on the terminal: sites, lines of one site, programs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.errors import InputError
from playsite.problems import Problem, nearest_word
from playsite.report.cost_words import (
    COST_CAUTION,
    class_sentence,
    differs_sentence,
    least_sentence,
    not_in_it_sentence,
    site_costs,
    total_sentence,
    unlike_sentence,
)
from playsite.report.life_words import (
    INSTALLERS,
    fall_sentence,
    installation_rows,
    life_rows,
    life_sentences,
    upkeep_sentence,
)
from playsite.report.money import money_text, price_text, quantity_text
from playsite.report.plain_text import one_line
from playsite.report.plan_words import (
    calendar_rows,
    charter_items,
    check_text,
    currency_of,
    deadline_sentences,
    funding_rows,
    funding_sentences,
    ticket_sentence,
)
from playsite.report.wording import in_readers_units, is_missing, records, site_title

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from playsite.cost.record import Costs
    from playsite.report.wording import Row
    from playsite.result import Result

__all__ = ["cost_lines"]


def cost_lines(result: Result, parcel: str | None = None) -> Iterator[str]:
    """Lines of the answer: all sites, and every line of one of them.

    Raises
    ------
    InputError
        If the parcel was not priced.
    """
    costs = result.costs
    if costs is None or costs.sites.empty:
        yield "No site is ranked, so none is priced."
        return
    chosen = parcel or str(costs.sites["parcel_id"].iloc[0])
    rows = site_costs(costs)
    if chosen not in rows:
        what = f'the parcel "{chosen}" was not priced.'
        raise InputError([Problem(what, nearest_word(chosen, rows))])
    yield f"{result.study.title}: what it would cost, {costs.money_of}"
    yield f"Surfacing: {costs.surfacing}. Put together by {INSTALLERS[costs.installation]}."
    yield " ".join(filter(None, [least_sentence(result), unlike_sentence(costs)]))
    yield ""
    yield from _sites(result, costs)
    yield ""
    titles = {row["parcel_id"]: site_title(row) for row in records(result.sites)}
    yield one_line(titles[chosen])
    yield total_sentence(rows[chosen], costs.currency)
    yield differs_sentence(rows[chosen], costs.currency)
    yield not_in_it_sentence(rows[chosen])
    yield from _of_site(costs, chosen, result.study.units)
    yield ""
    yield from _programs(costs)
    yield ""
    yield from _lives(costs, result.study.units)
    yield ""
    yield from _installations(costs)
    yield from _planned(result, chosen)
    yield ""
    yield from costs.notes
    yield class_sentence(costs)
    yield COST_CAUTION


def _sites(result: Result, costs: Costs) -> Iterator[str]:
    rows = site_costs(costs)
    table: list[tuple[str, ...]] = [
        ("Site", "Score", "P10", "P50", "P80", "P90", "Its own", "Above the least", "")
    ]
    for site in records(result.ranked):
        row = rows.get(str(site["parcel_id"]))
        if row is None:
            continue
        amounts = [
            money_text(row[name], costs.currency)
            for name in ("p10", "p50", "p80", "p90", "own_p50", "above_least_p50")
        ]
        mark = "efficient" if row["is_efficient"] else ""
        table.append(
            (one_line(site_title(site)), f"{100 * float(site['score']):.0f}", *amounts, mark)
        )
    yield from _aligned(table)
    if costs.left_out:
        yield f"The first {len(rows)} sites are priced; {costs.left_out} are left out."
    yield "Efficient: no other site of which as much is known scores as well for as little. Cost is in no score."


def _of_site(costs: Costs, parcel: str, units: str) -> Iterator[str]:
    head = ("Line", "Quantity", "Low", "High", "P50", "P80", "Differs")
    rows = list(records(costs.lines[costs.lines["parcel_id"] == parcel]))
    table = [head, *(_line(row, costs.currency, units) for row in rows)]
    yield from _aligned(table)
    for row in rows:
        if is_missing(row["p50"]):
            yield in_readers_units(f"{row['line']}: not known, {row['basis']}.", units)


def _line(row: Row, currency: str, units: str) -> tuple[str, ...]:
    unit = str(row["unit"])
    return (
        str(row["line"]),
        "" if row["line"] == "total" else quantity_text(row["quantity"], unit, units),
        price_text(row["price_low"], unit, currency, units),
        price_text(row["price_high"], unit, currency, units),
        money_text(row["p50"], currency),
        money_text(row["p80"], currency),
        str(row["differs_between_sites"]),
    )


def _programs(costs: Costs) -> Iterator[str]:
    table = [("Program, without what a site adds", "P50", "P80", "Not known")]
    table += [
        (
            one_line(str(row["program"])),
            money_text(row["p50"], costs.currency),
            money_text(row["p80"], costs.currency),
            str(row["unknown"]),
        )
        for row in records(costs.programs)
    ]
    yield from _aligned(table)


def _lives(costs: Costs, units: str) -> Iterator[str]:
    years = costs.lives[0].years if costs.lives else 0
    head = ("Surfacing", "At first", "A year", f"Over {years} years", "Range")
    yield from _aligned([head, *life_rows(costs)])
    yield from filter(None, [*life_sentences(costs), fall_sentence(costs, units)])
    for life in costs.lives:
        if life.name == costs.surfacing:
            yield f"{life.name}: {upkeep_sentence(life, costs.currency)}."
            yield f"Who lays it: {life.laid_by} Who keeps it: {life.kept_by}"
            yield f"Can wheels use it? {life.accessible}"


def _installations(costs: Costs) -> Iterator[str]:
    for way, money, people, tools, days, qualification, warranty in installation_rows(costs):
        yield f"Put together by {INSTALLERS.get(way, way)}: {money}; {days}. People: {people}. Tools: {tools}."
        yield f"  Qualification: {qualification}. Warranty: {warranty}."


def _planned(result: Result, parcel: str) -> Iterator[str]:
    """Charter, funding and calendar at one site, where the study has them."""
    plan, currency = result.plan, currency_of(result)
    if plan is None:
        return
    if plan.charter is not None:
        yield ""
        yield "The charter"
        yield from charter_items(plan.charter, currency)
        for check in plan.checks:
            if check.parcel_id == parcel:
                yield f"  {check.item}. {check_text(check, currency, result.study.units)}."
    if parcel in plan.paid:
        yield ""
        yield "Who pays"
        sources = (
            "Source",
            "State",
            "At most",
            "Match",
            "Gives at the budget",
            "Dates and strings",
        )
        yield from _aligned([sources, *funding_rows(plan, plan.paid[parcel], currency)])
        yield from funding_sentences(plan.paid[parcel], currency)
    if parcel in plan.calendars:
        yield ""
        steps = ("Step", "Who", "Begins", "Done, even odds", "Done, 4 in 5")
        yield from _aligned([steps, *calendar_rows(plan.calendars[parcel])])
        yield from deadline_sentences(plan, parcel)
        yield ticket_sentence(plan.calendars[parcel])


def _aligned(table: Sequence[tuple[str, ...]]) -> Iterator[str]:
    widths = [max(len(row[at]) for row in table) for at in range(len(table[0]))]
    for row in table:
        cells = [
            cell.ljust(width) if at == 0 else cell.rjust(width)
            for at, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        yield "  ".join(cells).rstrip()
