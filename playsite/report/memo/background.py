"""Background: the charter as written and held against the sites, and who was heard."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.report.memo.blocks import Bullets, Heading, Paragraph, Table
from playsite.report.memo.widths import shares
from playsite.report.plain_text import one_line
from playsite.report.plan_words import charter_items, check_text, currency_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playsite.report.memo.blocks import Block, Page
    from playsite.report.memo.readings import Readings

__all__ = ["background"]


def background(readings: Readings, page: Page) -> Iterator[Block]:
    """Give goals, who decides and who was heard; nothing where the study says none of it."""
    plan = readings.result.plan
    charter, heard = None if plan is None else plan.charter, _heard(readings)
    if charter is None and not heard:
        return
    yield Heading("Background")
    if charter is not None:
        items = charter_items(charter, currency_of(readings.result))
        yield Bullets(tuple(one_line(item) for item in items), evidence=("H",))
    if heard:
        yield Paragraph(f"Heard: {'; '.join(heard)}.", evidence=("A", "B", "X"))
    yield from _checks(readings, page)


def _heard(readings: Readings) -> list[str]:
    """Count the people whose answers, weights and visits are in this memo."""
    result = readings.result
    said = []
    if len(result.members):
        said.append(f"{len(result.members)} members of a working group, by their weights")
    if result.ballots is not None:
        said.append(f"{result.ballots.counts['all'].ballots:,} ballots of residents")
        if len(result.ballots.comments):
            said.append(f"{len(result.ballots.comments):,} comments")
    counting = int((result.visits["standing"] == "counts").sum())
    if counting:
        said.append(f"{counting:,} values found on site visits")
    return said


def _checks(readings: Readings, page: Page) -> Iterator[Block]:
    plan, sites = readings.result.plan, readings.short_list
    if plan is None:
        return
    currency, units = currency_of(readings.result), readings.result.study.units
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
        yield Table(
            "The charter held against the short-listed sites",
            ("Asked", *(f"Site {site['site_no']}" for site in sites)),
            rows,
            shares(page, 1.6, *[1.0] * len(sites)),
            bold=(0,),
            evidence=("H", *(f"{letter}{site['site_no']}" for site in sites for letter in "CTV")),
        )
