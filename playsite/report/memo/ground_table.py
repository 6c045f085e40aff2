"""Grading, drainage and access of the short list side by side; each site's sheet has the drawings."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.report.memo.blocks import Heading, Paragraph, Table
from playsite.report.memo.readings import rows_of
from playsite.report.memo.widths import shares
from playsite.report.people_units import percent_text, volume_text
from playsite.report.wording import is_missing

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from playsite.report.memo.blocks import Block, Page
    from playsite.report.memo.readings import Readings, Row

__all__ = ["ground"]

_MEASURED = {
    "accessible_route": "New step-free way",
    "truck": "Way for a truck",
    "emergency": "From where a fire engine stops",
    "outlet": "Pipe to drain it",
}
_VERDICTS = {"passes": "passed", "fails": "not passed"}


def ground(readings: Readings, page: Page) -> Iterator[Block]:
    """Compare what the ground asks for, site by site; nothing where none of it was worked out."""
    result, sites = readings.result, readings.short_list
    units = result.study.units
    earth = _by_parcel(readings, "earthwork")
    water = _by_parcel(readings, "water")
    rows: list[tuple[str, ...]] = []
    if earth:
        for what, name in (
            ("Cut", "cut_m3"),
            ("Fill", "fill_m3"),
            ("Taken away, with the box-out", "export_m3"),
            ("Plus or minus, at most", "plus_minus_m3"),
        ):
            rows.append(
                (
                    what,
                    *(_sum(earth, site, name, lambda m3: volume_text(m3, units)) for site in sites),
                )
            )
        rows.append(
            (
                "Finished fall",
                *(_sum(earth, site, "crossfall_pct", percent_text, first=True) for site in sites),
            )
        )
    criteria = {chosen.name: chosen for chosen in result.criteria}
    for name, what in _MEASURED.items():
        if name in criteria:
            rows.append((what, *(readings.value(site, criteria[name]) for site in sites)))
    if water:
        for storm, name in (("10-year storm", "ten_year"), ("100-year storm", "hundred_year")):
            rows.append((storm, *(_verdict(water, site, name) for site in sites)))
    if not sites or not (earth or water):
        return
    yield Heading("Grading, drainage and access")
    yield Table(
        "What the ground asks for at the short list",
        ("Asked of the ground", *(f"Site {site['site_no']}" for site in sites)),
        tuple(rows),
        shares(page, 1.5, *[1.0] * len(sites)),
        bold=(0,),
        evidence=tuple(f"{letter}{site['site_no']}" for site in sites for letter in "EWV"),
    )
    yield Paragraph(
        "Concept quantities from map data: no survey, no borings. The site sheets have plan, section "
        "and storms; an engineer designs grading and drainage.",
        "note",
    )


def _by_parcel(readings: Readings, name: str) -> dict[str, list[Row]]:
    table = getattr(readings.result, name)
    found: dict[str, list[Row]] = {}
    for row in rows_of(table.drop(columns="geometry", errors="ignore")):
        found.setdefault(str(row["parcel_id"]), []).append(row)
    return found


def _sum(
    rows: dict[str, list[Row]],
    site: Row,
    name: str,
    text: Callable[[float], str],
    *,
    first: bool = False,
) -> str:
    """Sum over the parts of a pad, or its first; one that is not known leaves the sum unknown."""
    values = [row[name] for row in rows.get(str(site["parcel_id"]), [])][: 1 if first else None]
    if not values or any(is_missing(value) for value in values):
        return "not known"
    return text(float(sum(values)))


def _verdict(rows: dict[str, list[Row]], site: Row, name: str) -> str:
    own = rows.get(str(site["parcel_id"]), [])
    return _VERDICTS.get(str(own[0][name]), "not settled") if own else "not known"
