"""The evidence table: every number of the memo's text by a key, with value, way, source and date."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from playsite.report.memo.blocks import Bullets, Callout, Figure, Heading, Paragraph, Table
from playsite.report.plain_text import one_line

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from playsite.report.memo.blocks import Block, Page

__all__ = ["Entry", "cited", "evidence_blocks"]

KINDS = {
    "A": "assumptions and rules",
    "B": "ballots",
    "C": "cost",
    "D": "data",
    "E": "earthwork",
    "F": "how firm the ranking is",
    "G": "money and its sources",
    "H": "the charter",
    "K": "criteria: weights, knots and rules",
    "L": "land",
    "N": "need",
    "P": "program",
    "S": "standing of a site",
    "T": "time",
    "V": "values measured at a site",
    "W": "storms",
    "X": "site visits",
}
"""First letter of a key; what follows is the number of a site."""


_SAME = "as above"


@dataclass(frozen=True)
class Entry:
    """One row: the value as it is said, with its unit."""

    key: str
    what: str
    value: str
    how: str
    source: str
    date: str = ""


def cited(blocks: Iterable[Block], entries: Iterable[Entry]) -> Iterator[Block]:
    """Give the blocks with those of their keys alone that the evidence table has."""
    known = {entry.key for entry in entries}
    for block in blocks:
        if isinstance(block, Heading):
            yield block
        else:
            kept = tuple(key for key in dict.fromkeys(block.evidence) if key in known)
            yield _with_keys(block, kept)


def _with_keys(
    block: Paragraph | Bullets | Callout | Table | Figure, keys: tuple[str, ...]
) -> Block:
    return replace(block, evidence=keys)


def evidence_blocks(entries: Iterable[Entry], page: Page, made_on: str) -> Iterator[Block]:
    """Set the table; rows of one key stand together.

    What several rows in a row have in common of way and source is said at the first of them, and
    the date of the run once for all.
    """
    rows: list[tuple[str, ...]] = []
    last: tuple[str, str] = "", ""
    for entry in sorted(entries, key=_order):
        date = "" if entry.date == made_on else entry.date
        source = ", ".join(filter(None, [entry.source, date]))
        from_where = ". ".join(filter(None, (entry.how, source)))
        same = (entry.key, from_where) == last
        last = entry.key, from_where
        rows.append(
            (
                entry.key,
                one_line(entry.what),
                one_line(entry.value),
                _SAME if same and from_where else one_line(from_where),
            )
        )
    if not rows:
        return
    letters = {row[0][:1] for row in rows}
    told = "; ".join(f"{letter}, {KINDS[letter]}" for letter in sorted(letters))
    yield Heading("Evidence: where every number is from", 2)
    yield Paragraph(
        f"Keys in brackets, as [S4], lead here: {told}; the number behind the letter is the site's. Where "
        f"no date stands it is that of the run, {made_on}. How each question is measured stands under "
        "“Criteria in full”.",
        "note",
    )
    yield Table(
        "Every number of the text: its value, how it was found, its source and date",
        ("Key", "What", "Value", "How, source and date"),
        tuple(rows),
        tuple(page.text_mm * share for share in (0.05, 0.19, 0.5, 0.26)),
        bold=(0,),
        is_evidence=True,
    )


def _order(entry: Entry) -> tuple[str, int]:
    number = entry.key[1:]
    return entry.key[:1], int(number) if number.isdigit() else -1
