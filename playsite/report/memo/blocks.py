"""What a memo is made of: a few kinds of block, said once and set by ``document``."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass, field

__all__ = [
    "Block",
    "Bullets",
    "Callout",
    "Columns",
    "Figure",
    "Heading",
    "Page",
    "Paragraph",
    "Parts",
    "Table",
    "one_line",
]

Parts = str | tuple[tuple[str, bool], ...]
"""Text of a block: plain, or pieces of which some (true) are bold."""

_LONGEST = 400


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
    """One paragraph; style is ``body``, ``title``, ``judgment`` or ``note``."""

    parts: Parts
    style: str = "body"


@dataclass(frozen=True)
class Bullets:
    """Short items, each after its mark."""

    items: tuple[str, ...]
    mark: str = ""


@dataclass(frozen=True)
class Callout:
    """What must be seen before the rest: on a wash, with an edge."""

    parts: Parts


@dataclass(frozen=True)
class Table:
    """Rows under a head that repeats on each page.

    Parameters
    ----------
    title
        What the table shows, for those who can't see it.
    widths_mm
        One a column.
    bold
        Columns that are set bold.
    """

    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    widths_mm: tuple[float, ...]
    bold: tuple[int, ...] = ()


@dataclass(frozen=True)
class Figure:
    """A picture at its true size on paper, with what it shows in words."""

    png: bytes = field(repr=False)
    width_mm: float
    height_mm: float
    alt: str
    finding: str
    key: str


@dataclass(frozen=True)
class Columns:
    """Two columns side by side, read left first."""

    left: tuple[Block, ...]
    right: tuple[Block, ...]
    left_mm: float
    right_mm: float


Block = Heading | Paragraph | Bullets | Callout | Table | Figure | Columns


def one_line(text: object) -> str:
    """Text that paper can hold: one line, no control or direction marks, not endless.

    A name comes from somebody's file: a bell in it would break the document's XML, a mark that
    turns the direction of writing would make it read as another.

    Examples
    --------
    >>> one_line("Mill\\x00 Lane\\n green\\u202e")
    'Mill Lane green'
    """
    kept = "".join(
        " " if character.isspace() else character
        for character in str(text)
        if character.isspace() or unicodedata.category(character) not in {"Cc", "Cf", "Cs", "Cn"}
    )
    line = " ".join(kept.split())
    return line if len(line) <= _LONGEST else line[: _LONGEST - 1] + "…"
