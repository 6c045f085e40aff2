"""The appendix: evidence, criteria in full, parcels left out, cost lines, data, visits, and the record."""

from __future__ import annotations

import hashlib
from pathlib import PurePath
from typing import TYPE_CHECKING

from playsite.report.memo.blocks import Heading, Paragraph, Table
from playsite.report.memo.evidence import evidence_blocks
from playsite.report.memo.land import parcels_out
from playsite.report.memo.limits import findings_table
from playsite.report.memo.method import method_in_full
from playsite.report.memo.money_detail import cost_lines, installation
from playsite.report.memo.readings import rows_of
from playsite.report.memo.results import all_ranked
from playsite.report.memo.visits import visit_log
from playsite.report.memo.widths import shares
from playsite.report.tables import run_text
from playsite.report.wording import plain_cell

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from playsite.report.memo.blocks import Block, Page
    from playsite.report.memo.evidence import Entry
    from playsite.report.memo.readings import Readings

__all__ = ["appendix"]


def appendix(readings: Readings, page: Page, entries: Sequence[Entry]) -> Iterator[Block]:
    """Give all that bears out the text."""
    yield Heading("Appendix", new_page=True)
    yield from evidence_blocks(entries, page, readings.result.study.made_on)
    for part in (
        all_ranked,
        method_in_full,
        parcels_out,
        cost_lines,
        installation,
        visit_log,
        _layers,
        _notes,
        _record,
    ):
        yield from part(readings, page)


def _layers(readings: Readings, page: Page) -> Iterator[Block]:
    layers = readings.result.layers
    if not len(layers):
        return
    rows = tuple(
        (
            str(row["kind"]).replace("_", " "),
            PurePath(str(row["path"])).name,
            plain_cell(row["date"]) or "not known",
            f"{int(row['features']):,}" if plain_cell(row["features"]) else "",
            plain_cell(row["credit"]),
            plain_cell(row["sha256"])[:12],
        )
        for row in rows_of(layers)
    )
    yield Heading("Sources and dates of the map data", 2)
    yield Table(
        "Sources and dates of the layers",
        ("Layer", "File", "Date", "Features", "Credit", "SHA-256 begins"),
        rows,
        shares(page, 0.14, 0.22, 0.11, 0.1, 0.26, 0.17),
    )


def _notes(readings: Readings, page: Page) -> Iterator[Block]:
    notes = [finding for finding in readings.result.findings if finding.weight == "note"]
    if notes:
        yield Heading("Also noticed", 2)
        yield findings_table(notes, readings.result, page)


def _record(readings: Readings, page: Page) -> Iterator[Block]:  # noqa: ARG001
    """Say what it takes to get this memo again, to the byte."""
    study = readings.result.study
    digest = hashlib.sha256(run_text(readings.result).encode()).hexdigest()
    yield Heading("Record of the run", 2)
    yield Paragraph(
        f"{study.title}. Made on {study.made_on} with version {study.version}, coordinates {study.crs}. "
        f"SHA-256 of run.json: {digest}. To run it again: playsite rank {study.folder.name or '.'}; to print "
        f"field sheets: playsite field {study.folder.name or '.'} kit.",
        "note",
    )
