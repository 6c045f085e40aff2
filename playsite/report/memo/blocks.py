"""What a memo is made of: a few kinds of block, said once and set by ``document``."""

from __future__ import annotations

from dataclasses import dataclass, field

__all__ = [
    "Block",
    "Bullets",
    "Callout",
    "Figure",
    "Heading",
    "Page",
    "Paragraph",
    "Parts",
    "Table",
]

Parts = str | tuple[tuple[str, bool], ...]
"""Text of a block: plain, or pieces of which some (true) are bold."""


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
    """One paragraph; style is ``body``, ``title``, ``judgment``, ``score`` or ``note``."""

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
    rows: tuple[tuple[Parts | Bullets, ...], ...]
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


Block = Heading | Paragraph | Bullets | Callout | Table | Figure
