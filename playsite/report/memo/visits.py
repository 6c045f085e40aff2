"""What site visits changed, and the log of every value that counts in place of the map's."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.report.changes import desk_changes, sentences_of
from playsite.report.map_off import map_off_sentences
from playsite.report.memo.blocks import Bullets, Heading, Paragraph, Table
from playsite.report.memo.readings import rows_of
from playsite.report.wording import plain_cell, value_text

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playsite.criteria._spoken import Spoken
    from playsite.report.memo.blocks import Block, Page
    from playsite.report.memo.readings import Readings, Row

__all__ = ["visit_log", "visits"]

_MOST_ROWS = 60


def visits(readings: Readings, page: Page) -> Iterator[Block]:  # noqa: ARG001
    """Give the change note; nothing where nobody was in the field."""
    result = readings.result
    if not len(result.visits):
        return
    yield Heading("What site visits changed")
    said = sentences_of(desk_changes(result))
    if said:
        yield Paragraph("Against what the maps alone say:")
        yield Bullets(tuple(said), evidence=("X",))
    else:
        yield Paragraph("No site changes its place.")
    for sentence in map_off_sentences(result):
        yield Paragraph(sentence)


def visit_log(readings: Readings, page: Page) -> Iterator[Block]:
    """Give every row of the log of visits; nothing where nobody was in the field."""
    result = readings.result
    if not len(result.visits):
        return
    yield Heading("Log of site visits", 2)
    numbers = dict(zip(result.sites["parcel_id"], result.sites["site_no"], strict=True))
    rows = [
        _row(row, numbers, result.study.units, result.spoken.get(row["criterion"]))
        for row in rows_of(result.visits)
    ]
    yield Table(
        "Every row that was brought back: what the map says, what was found, by whom, when and how",
        ("Site", "What", "Map", "Visit", "By whom, when and how", "Note", "Counts"),
        tuple(rows[-_MOST_ROWS:]),
        tuple(page.text_mm * share for share in (0.1, 0.14, 0.11, 0.12, 0.24, 0.17, 0.12)),
        bold=(0, 3),
    )
    if len(rows) > _MOST_ROWS:
        yield Paragraph(
            f"The last {_MOST_ROWS} are listed; visits.csv beside the study has all.", "note"
        )


def _row(row: Row, numbers: dict[str, int], units: str, spoken: Spoken | None) -> tuple[str, ...]:
    number = numbers.get(row["parcel_id"])
    standing = plain_cell(row["standing"])
    found = value_text(row["value"], row["unit"], units, spoken)
    accuracy = plain_cell(row["accuracy"])
    how = [plain_cell(row[name]) for name in ("role", "date", "method")]
    return (
        f"Site {number}" if number is not None else plain_cell(row["parcel_id"]),
        plain_cell(row["criterion"]).replace("_", " "),
        "" if standing != "counts" else value_text(row["map_value"], row["unit"], units, spoken),
        "" if standing == "withdraws" else f"{found}, ± {accuracy}" if accuracy else found,
        ", ".join(filter(None, how)),
        "; ".join(filter(None, (plain_cell(row["note"]), plain_cell(row["photo"])))),
        "yes" if standing == "counts" else standing,
    )
