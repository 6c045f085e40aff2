"""Next steps: who does what by when, by role and never by name."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.report.memo.blocks import Heading, Paragraph, Table
from playsite.report.memo.limits import in_units
from playsite.report.memo.readings import rows_of
from playsite.report.memo.widths import shares
from playsite.report.wording import date_text, joined, plain_cell

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playsite.report.memo.blocks import Block, Page
    from playsite.report.memo.readings import Readings

__all__ = ["next_steps"]

_LATER = (
    ("Council", "Choose the site or sites to take to survey and design.", "field visits and the council's choice"),
    ("Licensed surveyor", "Survey boundary and ground of the chosen site.", "survey, borings, trees"),
    ("Whoever digs", "Call 811 (or the local one-call service) before any digging, soil tests too; have private lines located.", ""),
    ("Licensed landscape architect or engineer", "Prepare layout, grading, drainage and the step-free way in.", "design to permit drawings"),
    ("Certified playground safety inspector", "Check layout, surfacing and what was built against the standards in force.", "safety inspection and opening"),
)  # fmt: skip
"""Who, what, and the step of the calendar that it belongs to."""


def next_steps(readings: Readings, page: Page) -> Iterator[Block]:
    """Say who does what next; with dates where the study has a calendar."""
    steps = [*_first_steps(readings), *_remedies(readings)]
    days = _days(readings)
    if readings.short_list:
        steps += [(who, what, days.get(step, "")) for who, what, step in _LATER]
    else:
        what = "Decide whether to look at more land, at a smaller play area, or at the rules that can be changed."
        steps.append(("Council", what, ""))
    yield Heading("Next steps")
    told = dict.fromkeys(steps)
    rows: tuple[tuple[str, ...], ...] = tuple(told)
    head: tuple[str, ...] = ("Who", "Step", "Done by")
    if not days:
        rows, head = tuple((who, what) for who, what, _ in told), head[:2]
    widths = shares(page, 0.25, 0.57, 0.18) if days else shares(page, 0.28, 0.72)
    keys = tuple(f"T{site['site_no']}" for site in readings.short_list[:1])
    yield Table("Next steps by role", head, rows, widths, bold=(0,), evidence=keys)
    if days:
        number = readings.short_list[0]["site_no"]
        yield Paragraph(f"Dates are those by even odds for Site {number}.", "note")


def _first_steps(readings: Readings) -> Iterator[tuple[str, str, str]]:
    result = readings.result
    by_parcel = {site["parcel_id"]: f"Site {site['site_no']}" for site in readings.short_list}
    open_at = [
        site for parcel, site in by_parcel.items() if parcel in set(result.unknowns["parcel_id"])
    ]
    if open_at:
        what = f"Visit {joined(open_at)} and settle what is not known yet; the site sheets list the tasks."
        yield "Parks staff", what, _days(readings).get("field visits and the council's choice", "")
    at: dict[str, list[str]] = {}
    for row in rows_of(result.conditions):
        if row["parcel_id"] in by_parcel:
            at.setdefault(plain_cell(row["needs"]), []).append(by_parcel[row["parcel_id"]])
    for needs, sites in at.items():
        where = joined(list(dict.fromkeys(sites)))
        yield "Parks staff", f"Plan {needs} at {where}, and its cost.", ""


def _remedies(readings: Readings) -> Iterator[tuple[str, str, str]]:
    for finding in readings.result.findings:
        if finding.remedy and finding.weight != "note":
            yield "Keeper of the map data", in_units(finding.remedy, readings.result), ""


def _days(readings: Readings) -> dict[str, str]:
    """Day on which each step of the first site's calendar is done by even odds."""
    plan = readings.result.plan
    if plan is None or not readings.short_list:
        return {}
    calendar = plan.calendars.get(str(readings.short_list[0]["parcel_id"]))
    return (
        {} if calendar is None else {s.name: date_text(s.done.isoformat()) for s in calendar.steps}
    )
