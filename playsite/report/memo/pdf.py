"""Set a memo as tagged PDF (PDF/UA-1): heads, tables and pictures are known to readers of screens."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from playsite.report.ink import INK, SERIF
from playsite.report.memo.blocks import Bullets, Figure, Heading, Paragraph, Table
from playsite.report.memo.fonts import MARKS, PDF_SANS, PDF_SERIF
from playsite.report.memo.letters import STYLE_OF, STYLES
from playsite.report.memo.words import (
    cell_pieces,
    figure_caption,
    heading_text,
    keeps_together,
    pieces,
    table_caption,
)
from playsite.report.plain_text import one_line
from playsite.report.typeset import day_of, typeset

if TYPE_CHECKING:
    from playsite.report.memo.blocks import Block, Memo

__all__ = ["pdf_of"]

_TEMPLATE = "memo.typ"


def pdf_of(memo: Memo) -> bytes:
    """Bytes of the PDF; equal memos give equal bytes."""
    pictures = {_file(b): b.drawn.svg for b in memo.blocks if isinstance(b, Figure)}
    return typeset(Path(__file__).with_name(_TEMPLATE), _said(memo), pictures, made_on=memo.made_on)


def _file(figure: Figure) -> str:
    return f"figure_{figure.number}.svg"


def _said(memo: Memo) -> dict[str, Any]:
    year, month, day = day_of(memo.made_on)
    return {
        "title": one_line(memo.title) or "Memo",
        "date": {"year": year, "month": month, "day": day},
        "head": [one_line(text) for text in memo.head],
        "foot": one_line(memo.foot),
        "width": memo.page.width_mm,
        "height": memo.page.height_mm,
        "side": memo.page.side_mm,
        "sans": PDF_SANS,
        "serif": PDF_SERIF,
        "marks": MARKS,
        "ink": INK,
        "looks": {name: _look(look) for name, look in STYLES.items()},
        "blocks": [_block(block) for block in memo.blocks],
    }


def _look(look: dict[str, Any]) -> dict[str, Any]:
    return {
        "size": look["size"],
        "bold": look.get("bold", False),
        "ink": look.get("ink", "ink"),
        "serif": look.get("font") == SERIF,
        "before": look.get("before", 0),
        "after": look["after"],
        "keep": look.get("keep", False),
        "leading": look.get("leading", 1.08),
    }


def _block(block: Block) -> dict[str, Any]:
    if isinstance(block, Heading):
        said = {"level": block.level, "text": heading_text(block), "new-page": block.new_page}
        return {"kind": "heading", **said}
    if isinstance(block, Figure):
        return _figure(block)
    if isinstance(block, Table):
        return _table(block)
    if isinstance(block, Bullets):
        made: dict[str, Any] = {"items": [pieces(item) for item in block.items]}
        made |= {"kind": "bullets", "mark": block.mark or "•"}
    else:
        made = {"kind": "callout", "pieces": pieces(block.parts)}
        if isinstance(block, Paragraph):
            made |= {"kind": "paragraph", "style": STYLE_OF[block.style]}
    return {**made, "evidence": list(block.evidence)}


def _figure(block: Figure) -> dict[str, Any]:
    finding, key = figure_caption(block)
    return {
        "kind": "figure",
        "file": _file(block),
        "width": block.width_mm,
        "height": block.height_mm,
        "alt": one_line(block.alt),
        "finding": finding,
        "key": key,
        "evidence": list(block.evidence),
    }


def _table(block: Table) -> dict[str, Any]:
    number, title = table_caption(block)
    rows, last = [], ""
    for cells in block.rows:
        first = str(cells[0])
        anchor = first if block.is_evidence and first not in {"", last} else None
        last = anchor or last
        rows.append(
            {"anchor": anchor, "cells": [_cell(block, at, cell) for at, cell in enumerate(cells)]}
        )
    return {
        "kind": "table",
        "number": number,
        "title": title,
        "head": [one_line(name) for name in block.head],
        "widths": list(block.widths_mm),
        "rows": rows,
        "style": "Evidence Text" if block.is_evidence else "Table Text",
        "together": keeps_together(block),
        "evidence": list(block.evidence),
    }


def _cell(block: Table, column: int, cell: Any) -> dict[str, Any]:
    made = cell_pieces(block, column, cell)
    if isinstance(cell, Bullets):
        return {"items": made, "mark": cell.mark or "•", "pieces": []}
    return {"items": None, "pieces": made}
