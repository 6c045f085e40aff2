"""Permits, one-call tickets and deadlines: when it could open."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from playsite.report.memo.blocks import Bullets, Heading, Paragraph, Table
from playsite.report.memo.calendar_chart import calendar_figure
from playsite.report.memo.widths import shares
from playsite.report.plan_words import calendar_rows, deadline_sentences, ticket_sentence

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playsite.report.memo.blocks import Block, Page
    from playsite.report.memo.readings import Readings

__all__ = ["timetable"]


def timetable(readings: Readings, page: Page) -> Iterator[Block]:
    """Give permits and the one-call ticket against the deadlines, for the first site."""
    plan = readings.result.plan
    sites = [] if plan is None else readings.short_list
    with_day = [site for site in sites if plan and str(site["parcel_id"]) in plan.calendars]
    if plan is None or not with_day:
        return
    yield Heading("When it could open")
    first = str(with_day[0]["parcel_id"])
    key = (f"T{with_day[0]['site_no']}",)
    said = [*deadline_sentences(plan, first), ticket_sentence(plan.calendars[first])]
    yield Paragraph(" ".join(said), evidence=key)
    name = f"Site {with_day[0]['site_no']}"
    apply_by = tuple((f"{f.name}: apply", f.apply_by) for f in plan.funds if f.apply_by)
    days = (*plan.deadlines, *apply_by)
    drawn = calendar_figure(plan.calendars[first], days, name, page.text_mm)
    yield replace(drawn, evidence=key)
    yield Table(
        f"Steps at {readings.title(with_day[0])}, with their permits",
        ("Step", "Who", "Begins", "Done, even odds", "Done, 4 in 5"),
        tuple(calendar_rows(plan.calendars[first])),
        shares(page, 0.26, 0.29, 0.15, 0.15, 0.15),
        bold=(0,),
        evidence=key,
    )
    later = [
        f"{readings.title(site)}: {deadline_sentences(plan, str(site['parcel_id']))[0]}"
        for site in with_day[1:]
        if plan.calendars[str(site["parcel_id"])] != plan.calendars[first]
    ]
    if later:
        yield Bullets(tuple(later), evidence=tuple(f"T{site['site_no']}" for site in with_day))
