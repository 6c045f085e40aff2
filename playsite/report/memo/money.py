"""What it would cost, how the surfacings compare over their lives, and who pays."""

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
    life_rows,
    life_sentences,
    upkeep_sentence,
)
from playsite.report.memo.blocks import Bullets, Heading, Paragraph, Table
from playsite.report.memo.cost_chart import cost_and_score
from playsite.report.memo.widths import shares
from playsite.report.money import money_text
from playsite.report.plain_text import one_line
from playsite.report.plan_words import (
    currency_of,
    funding_rows,
    funding_sentences,
)
from playsite.report.wording import joined, records

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playsite.cost.plan import Plan
    from playsite.cost.record import Costs
    from playsite.report.memo.blocks import Block, Page
    from playsite.report.memo.readings import Readings

__all__ = ["money"]


def money(readings: Readings, page: Page) -> Iterator[Block]:
    """Say what it would cost; one sentence where nothing was priced."""
    costs = readings.result.costs
    if costs is None or costs.sites.empty:
        if readings.ranked:
            yield Heading("Cost")
            yield Paragraph("Cost was not worked out: the study has no [cost] table.")
        return
    yield Heading("What it would cost")
    yield Paragraph(_lead(costs), evidence=("C",))
    yield from _sites(readings, costs, page)
    if readings.result.shows_order:
        yield cost_and_score(readings, costs, page.text_mm)
    yield Paragraph(class_sentence(costs), "note", evidence=("C",))
    yield from _programs(costs, page)
    yield from _surfacing(costs, readings.result.study.units, page)
    yield from _funding(readings, page)
    yield Bullets((*costs.notes, COST_CAUTION), evidence=("C",))


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
        shares(page, 0.28, 0.13, 0.13, 0.22, 0.12, 0.12),
        bold=(0, 2),
        evidence=tuple(f"C{site['site_no']}" for site in listed),
    )
    said: dict[str, list[str]] = {}
    for site in listed:
        text = not_in_it_sentence(rows[str(site["parcel_id"])])
        said.setdefault(text, []).append(f"Site {site['site_no']}")
    told = [f"{text.rstrip('.')} ({joined(names)})." for text, names in said.items() if text]
    notes = " ".join(filter(None, [unlike_sentence(costs), *told]))
    if notes:
        yield Paragraph(notes, "note")


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
        shares(page, 0.34, 0.16, 0.16, 0.34),
        bold=(0,),
        evidence=("C",),
    )


def _surfacing(costs: Costs, units: str, page: Page) -> Iterator[Block]:
    if not costs.lives:
        return
    years = costs.lives[0].years
    words = {life.name: (life.accessible, life.kept_by) for life in costs.lives}
    yield Heading("The surfacing over its life", 2)
    said = filter(None, [*life_sentences(costs), fall_sentence(costs, units)])
    yield Paragraph(" ".join(said), evidence=("C",))
    yield Table(
        f"Surfacings over {years} years, the cheapest first",
        ("Surfacing", "At first", "A year", f"Over {years} years", "Likely", "Wheels", "Who keeps it"),
        tuple((*row, *words[row[0]]) for row in life_rows(costs)),
        shares(page, 0.13, 0.11, 0.09, 0.1, 0.13, 0.22, 0.22),
        bold=(0,),
        evidence=("C",),
    )  # fmt: skip
    for life in costs.lives:
        if life.name == costs.surfacing:
            upkeep = upkeep_sentence(life, costs.currency)
            yield Paragraph(
                f"Upkeep of {life.name}: {upkeep}. {life.laid_by}", "note", evidence=("C",)
            )


def _funding(readings: Readings, page: Page) -> Iterator[Block]:
    plan: Plan | None = readings.result.plan
    first = str(readings.short_list[0]["parcel_id"])
    if plan is None or first not in plan.paid:
        return
    currency = currency_of(readings.result)
    yield Heading("Who pays", 2)
    key = (f"G{readings.short_list[0]['site_no']}",)
    yield Paragraph(" ".join(funding_sentences(plan.paid[first], currency)), evidence=key)
    yield Table(
        f"Sources of money, for {readings.title(readings.short_list[0])}",
        ("Source", "State", "At most", "Match", "Gives at the budget", "Dates and strings"),
        tuple(tuple(map(one_line, row)) for row in funding_rows(plan, plan.paid[first], currency)),
        shares(page, 0.22, 0.11, 0.12, 0.09, 0.23, 0.23),
        bold=(0,),
        evidence=key,
    )
