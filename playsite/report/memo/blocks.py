"""What a memo is made of: a few kinds of block, said once, set as DOCX, PDF and HTML."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = [
    "Block",
    "Bullets",
    "Callout",
    "Drawn",
    "Figure",
    "Heading",
    "Keys",
    "Memo",
    "Page",
    "Paragraph",
    "Parts",
    "Table",
    "numbered",
]

Parts = str | tuple[tuple[str, bool], ...]
"""Text of a block: plain, or pieces of which some (true) are bold."""

Keys = tuple[str, ...]
"""Keys of the evidence table."""


@dataclass(frozen=True)
class Page:
    """Paper, with what margins leave for text."""

    width_mm: float
    height_mm: float
    side_mm: float
    plan_height_mm: float

    @property
    def text_mm(self) -> float:
        """Width of a line of text, and of a plan."""
        return self.width_mm - 2 * self.side_mm


@dataclass(frozen=True)
class Heading:
    """Head of a section (1), a part (2) or a block (3)."""

    text: str
    level: int = 1
    new_page: bool = False


@dataclass(frozen=True)
class Paragraph:
    """One paragraph; style is ``body``, ``title``, ``judgment``, ``score`` or ``note``.

    Parameters
    ----------
    evidence
        Keys of the rows of the evidence table that its numbers come from; so in all blocks.
    """

    parts: Parts
    style: str = "body"
    evidence: Keys = ()


@dataclass(frozen=True)
class Bullets:
    """Short items, each after its mark."""

    items: tuple[str, ...]
    mark: str = ""
    evidence: Keys = ()


@dataclass(frozen=True)
class Callout:
    """What must be seen before the rest: on a wash, with an edge."""

    parts: Parts
    evidence: Keys = ()


@dataclass(frozen=True)
class Table:
    """Rows under a head that repeats on each page.

    Parameters
    ----------
    title
        What the table shows; it stands above the table, after its number.
    widths_mm
        One a column.
    bold
        Columns that are set bold.
    is_evidence
        Whether its first column holds the keys that other blocks point to.
    number
        Place among the tables of the memo, from 1; see `numbered`.
    """

    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[Parts | Bullets, ...], ...]
    widths_mm: tuple[float, ...]
    bold: tuple[int, ...] = ()
    evidence: Keys = ()
    is_evidence: bool = False
    number: int = 0


@dataclass(frozen=True)
class Drawn:
    """One drawing as dots and as lines."""

    png: bytes
    svg: bytes


@dataclass(frozen=True)
class Figure:
    """A picture at its true size on paper, with what it shows in words."""

    drawn: Drawn = field(repr=False)
    width_mm: float
    height_mm: float
    alt: str
    finding: str
    key: str
    evidence: Keys = ()
    number: int = 0


Block = Heading | Paragraph | Bullets | Callout | Table | Figure


@dataclass(frozen=True)
class Memo:
    """A whole memo, as each of the writers takes it.

    Parameters
    ----------
    head
        What stands left and right at the head of each page.
    foot
        What stands at the foot of each page, left of its number.
    made_on
        Date of the study: the only one that the document carries.
    """

    blocks: tuple[Block, ...]
    page: Page
    title: str
    head: tuple[str, str]
    foot: str
    made_on: str


def numbered(blocks: Iterable[Block]) -> tuple[Block, ...]:
    """Number figures and tables in the order of reading, each kind from 1."""
    count = {Figure: 0, Table: 0}
    given: list[Block] = []
    for block in blocks:
        if isinstance(block, (Figure, Table)):
            count[type(block)] += 1
            given.append(replace(block, number=count[type(block)]))
        else:
            given.append(block)
    return tuple(given)
