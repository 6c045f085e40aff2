"""Money in detail, for the appendix: every line at the first site, and ways to install."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from playsite.report.life_words import installation_rows
from playsite.report.memo.blocks import Heading, Paragraph, Table
from playsite.report.memo.widths import shares
from playsite.report.money import money_text, price_text, quantity_text
from playsite.report.plain_text import one_line
from playsite.report.wording import records

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playsite.report.memo.blocks import Block, Page
    from playsite.report.memo.readings import Readings

__all__ = ["cost_lines", "installation"]


def cost_lines(readings: Readings, page: Page) -> Iterator[Block]:
    """Give every line at the first of the short-listed sites; costs.csv has all."""
    costs = readings.result.costs
    if costs is None or costs.sites.empty:
        return
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
    yield Heading("Cost, line by line", 2)
    yield Table(
        f"Every line at {readings.title(site)}",
        ("Line", "Quantity", "Price", "Even odds", "Budget", "Differs", "Source"),
        rows,
        shares(page, 0.23, 0.11, 0.19, 0.1, 0.1, 0.08, 0.19),
        bold=(0,),
        evidence=("C", f"C{site['site_no']}"),
    )
    yield Paragraph(
        "Percentiles of lines do not add up to those of the whole. Lines are in money of their price's "
        "year; escalation is a line of its own. costs.csv has every line of every site.",
        "note",
    )


def _price_range(cells: dict[str, Any], currency: str, units: str) -> str:
    ends = [
        price_text(float(str(cells[name])), str(cells["unit"]), currency, units)
        for name in ("price_low", "price_high")
    ]
    return " to ".join(filter(None, ends))


def installation(readings: Readings, page: Page) -> Iterator[Block]:
    """Compare the ways to put the equipment together, with what each needs."""
    costs = readings.result.costs
    if costs is None or costs.sites.empty:
        return
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
        shares(page, 0.11, 0.13, 0.19, 0.19, 0.2, 0.18),
        bold=(0,),
        evidence=("C",),
    )
