"""What it would cost, how the surfacings compare over their lives, who pays, and by when."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.report.cost_words import (
    COST_CAUTION,
    class_sentence,
    not_in_it_sentence,
    site_costs,
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
from playsite.report.memo.blocks import Bullets, Heading, Paragraph, Table
from playsite.report.memo.cost_chart import cost_and_score
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
from playsite.report.wording import records

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playsite.cost.plan import Plan
    from playsite.cost.record import Costs
    from playsite.report.memo.blocks import Block, Page
    from playsite.report.memo.readings import Readings

__all__ = ["charter", "money", "time"]


def charter(readings: Readings, page: Page) -> Iterator[Block]:
    """Give the charter as written, and each short-listed site held against it."""
    plan = readings.result.plan
    if plan is None or plan.charter is None:
        return
    currency, units = currency_of(readings.result), readings.result.study.units
    yield Heading("The charter")
    yield Bullets(tuple(one_line(item) for item in charter_items(plan.charter, currency)))
    sites = readings.short_list
    found = {(check.parcel_id, check.item): check for check in plan.checks}
    listed = {str(site["parcel_id"]) for site in sites}
    items = list(dict.fromkeys(check.item for check in plan.checks if check.parcel_id in listed))
    rows = tuple(
        (
            one_line(item[:1].upper() + item[1:]),
            *(
                check_text(check, currency, units)
                if (check := found.get((str(site["parcel_id"]), item)))
                else ""
                for site in sites
            ),
        )
        for item in items
    )
    if rows:
        names = tuple(f"Site {site['site_no']}" for site in sites)
        yield Table(
            "The charter held against the short-listed sites",
            ("Asked", *names),
            rows,
            _shares(page, 1.6, *[1.0] * len(sites)),
            bold=(0,),
        )


def money(readings: Readings, page: Page) -> Iterator[Block]:
    """Say what it would cost; one sentence where nothing was priced."""
    costs = readings.result.costs
    if costs is None or costs.sites.empty:
        if readings.ranked:
            yield Heading("Cost")
            yield Paragraph("Cost was not worked out: the study has no [cost] table.")
        return
    yield Heading("What it would cost")
    yield Paragraph(_lead(costs))
    yield from _sites(readings, costs, page)
    if readings.result.shows_order:
        yield cost_and_score(readings, costs, page.text_mm)
    yield Paragraph(class_sentence(costs), "note")
    yield from _of_first(readings, costs, page)
    yield from _programs(costs, page)
    yield from _surfacing(costs, readings.result.study.units, page)
    yield from _installation(costs, page)
    yield from _funding(readings, page)
    yield Bullets((*costs.notes, COST_CAUTION))


def time(readings: Readings, page: Page) -> Iterator[Block]:
    """Give permits and the one-call ticket against the deadlines, for the first site."""
    plan = readings.result.plan
    sites = [] if plan is None else readings.short_list
    with_day = [site for site in sites if plan and str(site["parcel_id"]) in plan.calendars]
    if plan is None or not with_day:
        return
    yield Heading("When it could open")
    first = str(with_day[0]["parcel_id"])
    yield Paragraph(" ".join([*deadline_sentences(plan, first), ticket_sentence(plan.calendars[first])]))  # fmt: skip
    yield Table(
        f"Steps at {readings.title(with_day[0])}, with their permits",
        ("Step", "Who", "Begins", "Done, even odds", "Done, 4 in 5"),
        tuple(calendar_rows(plan.calendars[first])),
        _shares(page, 0.26, 0.29, 0.15, 0.15, 0.15),
        bold=(0,),
    )
    later = [
        f"{readings.title(site)}: {deadline_sentences(plan, str(site['parcel_id']))[0]}"
        for site in with_day[1:]
        if plan.calendars[str(site["parcel_id"])] != plan.calendars[first]
    ]
    if later:
        yield Bullets(tuple(later))


def _shares(page: Page, *shares: float) -> tuple[float, ...]:
    return tuple(page.text_mm * share / sum(shares) for share in shares)


def _lead(costs: Costs) -> str:
    spread = float(costs.sites["above_least_p50"].max())
    same, differs = (money_text(each, costs.currency) for each in (costs.common_p50, spread))
    return (
        f"About {same} is the same wherever it is built; the choice of a site moves it by up to "
        f"{differs}. All amounts are {one_line(costs.money_of)}, with {costs.surfacing}, put together "
        f"by {INSTALLERS[costs.installation]}. Cost is in no score."
    )


def _sites(readings: Readings, costs: Costs, page: Page) -> Iterator[Block]:
    rows, known = site_costs(costs), costs.currency
    listed = [site for site in readings.short_list if str(site["parcel_id"]) in rows]
    table = []
    for site in listed:
        row = rows[str(site["parcel_id"])]
        amounts = [row[name] for name in ("p50", "p80", "own_p50", "above_least_p50")]
        likely = f"{money_text(row['p10'], known)} to {money_text(row['p90'], known)}"
        cells = [money_text(amount, known) for amount in amounts]
        table.append((readings.title(site), *cells[:2], likely, *cells[2:]))
    yield Table(
        "Cost of the short-listed sites; even odds, budget and likely range",
        ("Site", "Even odds", "Budget", "Likely range", "Its own part", "Above the least"),
        tuple(table),
        _shares(page, 0.28, 0.13, 0.13, 0.22, 0.12, 0.12),
        bold=(0, 2),
    )
    if unlike_sentence(costs):
        yield Paragraph(unlike_sentence(costs), "note")
    for site in listed:
        said = not_in_it_sentence(rows[str(site["parcel_id"])])
        if said:
            yield Paragraph(f"Site {site['site_no']}. {said}", "note")


def _of_first(readings: Readings, costs: Costs, page: Page) -> Iterator[Block]:
    """Give every line at the first of the short-listed sites; costs.csv has all."""
    site = readings.short_list[0]
    units, own = readings.result.study.units, costs.lines
    rows = tuple(
        (
            one_line(str(row["line"])),
            quantity_text(row["quantity"], str(row["unit"]), units) if row["line"] != "total" else "",
            _price_range(row, costs.currency, units),
            money_text(row["p50"], costs.currency),
            money_text(row["p80"], costs.currency),
            str(row["differs_between_sites"]),
            one_line(str(row["source"])) if row["line"] != "total" else "",
        )
        for row in records(own[own["parcel_id"] == site["parcel_id"]])
    )  # fmt: skip
    yield Heading("Line by line", 2)
    yield Table(
        f"Every line at {readings.title(site)}",
        ("Line", "Quantity", "Price", "Even odds", "Budget", "Differs", "Source"),
        rows,
        _shares(page, 0.23, 0.11, 0.19, 0.1, 0.1, 0.08, 0.19),
        bold=(0,),
    )
    yield Paragraph(
        "Percentiles of lines do not add up to those of the whole. Lines are in money of their price's "
        "year; escalation is a line of its own. costs.csv has every line of every site.",
        "note",
    )


def _price_range(row: object, currency: str, units: str) -> str:
    cells: dict[str, object] = dict(row)  # type: ignore[call-overload]
    ends = [
        price_text(float(str(cells[name])), str(cells["unit"]), currency, units)
        for name in ("price_low", "price_high")
    ]
    return " to ".join(filter(None, ends))


def _programs(costs: Costs, page: Page) -> Iterator[Block]:
    if len(costs.programs) < 2:
        return
    yield Heading("Programs side by side", 2)
    yield Table(
        "What each program costs, without what a site adds",
        ("Program", "Even odds", "Budget", "Not known"),
        tuple(
            (
                one_line(str(row["program"])),
                money_text(row["p50"], costs.currency),
                money_text(row["p80"], costs.currency),
                one_line(str(row["unknown"])),
            )
            for row in records(costs.programs)
        ),
        _shares(page, 0.34, 0.16, 0.16, 0.34),
        bold=(0,),
    )


def _surfacing(costs: Costs, units: str, page: Page) -> Iterator[Block]:
    if not costs.lives:
        return
    years = costs.lives[0].years
    words = {life.name: (life.accessible, life.kept_by) for life in costs.lives}
    yield Heading("The surfacing over its life", 2)
    yield Paragraph(" ".join(filter(None, [*life_sentences(costs), fall_sentence(costs, units)])))
    yield Table(
        f"Surfacings over {years} years, the cheapest first",
        ("Surfacing", "At first", "A year", f"Over {years} years", "Likely", "Wheels", "Who keeps it"),
        tuple((*row, *words[row[0]]) for row in life_rows(costs)),
        _shares(page, 0.13, 0.09, 0.08, 0.1, 0.13, 0.24, 0.23),
        bold=(0,),
    )  # fmt: skip
    for life in costs.lives:
        if life.name == costs.surfacing:
            said = upkeep_sentence(life, costs.currency)
            yield Paragraph(f"Upkeep of {life.name}: {said}. {life.laid_by}", "note")


def _installation(costs: Costs, page: Page) -> Iterator[Block]:
    yield Heading("Who puts the equipment together", 2)
    yield Table(
        "Three ways to install, with what each needs",
        ("Way", "Even odds to budget", "People and time", "Tools", "Qualification", "Warranty"),
        tuple(
            (way, money_, f"{people}; {days}", tools, qualification, warranty)
            for way, money_, people, tools, days, qualification, warranty in installation_rows(
                costs
            )
        ),
        _shares(page, 0.11, 0.13, 0.19, 0.19, 0.2, 0.18),
        bold=(0,),
    )


def _funding(readings: Readings, page: Page) -> Iterator[Block]:
    plan: Plan | None = readings.result.plan
    first = str(readings.short_list[0]["parcel_id"])
    if plan is None or first not in plan.paid:
        return
    currency = currency_of(readings.result)
    yield Heading("Who pays", 2)
    yield Paragraph(" ".join(funding_sentences(plan.paid[first], currency)))
    yield Table(
        f"Sources of money, for {readings.title(readings.short_list[0])}",
        ("Source", "State", "At most", "Match", "Gives at the budget", "Dates and strings"),
        tuple(tuple(map(one_line, row)) for row in funding_rows(plan, plan.paid[first], currency)),
        _shares(page, 0.22, 0.11, 0.12, 0.09, 0.23, 0.23),
        bold=(0,),
    )
