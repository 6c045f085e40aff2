"""The memo's text as all of its writers set it: cleaned once, so that each says the same."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

from playsite.report.memo.blocks import Bullets
from playsite.report.plain_text import one_line

if TYPE_CHECKING:
    from playsite.report.memo.blocks import Figure, Heading, Parts, Table

__all__ = [
    "cell_pieces",
    "figure_caption",
    "heading_text",
    "keeps_together",
    "pieces",
    "table_caption",
]

_LONGEST_HEAD = 160
_LETTERS_KEPT = 1100  # a table of so few letters stays on one page


def pieces(parts: Parts) -> list[tuple[str, bool]]:
    """Pieces of a text, bold or not; blanks at their ends join them, so they stay.

    Examples
    --------
    >>> pieces((("Site 4", True), (" comes first.", False)))
    [('Site 4', True), (' comes first.', False)]
    """
    made = []
    for text, bold in ((parts, False),) if isinstance(parts, str) else parts:
        lead, tail = text[: len(text) - len(text.lstrip())], text[len(text.rstrip()) :]
        made.append(((lead and " ") + one_line(text) + (tail and " "), bold))
    return made


def cell_pieces(
    table: Table, column: int, cell: Parts | Bullets
) -> list[tuple[str, bool]] | list[list[tuple[str, bool]]]:
    """Pieces of a cell; of one that holds items, the pieces of each."""
    if isinstance(cell, Bullets):
        return [[(one_line(item), False)] for item in cell.items]
    if column in table.bold and isinstance(cell, str):
        return pieces(((cell, True),))
    return pieces(cell)


def heading_text(heading: Heading) -> str:
    """Text of a head, of a length that a page can hold."""
    return one_line(heading.text, _LONGEST_HEAD)


def figure_caption(figure: Figure) -> tuple[str, str]:
    """Number and finding, and the key."""
    return f"Figure {figure.number}. {one_line(figure.finding)}", one_line(figure.key)


def table_caption(table: Table) -> tuple[str, str]:
    """Number, and what the table shows."""
    return f"Table {table.number}.", one_line(table.title)


def keeps_together(table: Table) -> bool:
    """Whether a table is short enough to stay on one page."""
    return sum(map(_letters, itertools.chain(*table.rows))) <= _LETTERS_KEPT


def _letters(cell: Parts | Bullets) -> int:
    if isinstance(cell, Bullets):
        return sum(map(len, cell.items))
    return len(cell) if isinstance(cell, str) else sum(len(text) for text, _ in cell)
