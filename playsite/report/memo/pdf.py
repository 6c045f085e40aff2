"""Set a memo as tagged PDF (PDF/UA-1): heads, tables and pictures are known to readers of screens."""

from __future__ import annotations

import datetime as dt
import json
import re
import tempfile
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typst

from playsite.report.ink import INK, SERIF
from playsite.report.memo.blocks import Bullets, Figure, Heading, Paragraph, Table
from playsite.report.memo.fonts import MARKS, PDF_SANS, PDF_SERIF, font_folders
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

if TYPE_CHECKING:
    from playsite.report.memo.blocks import Block, Memo

__all__ = ["pdf_of"]

_TEMPLATE = "memo.typ"
_NOT_A_LETTER = "\N{WHITE SQUARE}"  # stands for what no font here has; the tables have it in full


def pdf_of(memo: Memo) -> bytes:
    """Bytes of the PDF; equal memos give equal bytes."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        (place / _TEMPLATE).write_bytes(Path(__file__).with_name(_TEMPLATE).read_bytes())
        text = json.dumps(_said(memo, place), ensure_ascii=False)
        (place / "memo.json").write_text(text, encoding="utf-8")
        try:
            return _compiled(place, memo.made_on)
        except typst.TypstError as error:
            if "font" not in str(error):
                raise
            # a name in letters that no font on this machine has
            (place / "memo.json").write_text(_in_known_letters(text), encoding="utf-8")
            return _compiled(place, memo.made_on)


def _compiled(place: Path, made_on: str) -> bytes:
    made = typst.compile(
        str(place / _TEMPLATE),
        root=str(place),
        font_paths=_fonts(),
        format="pdf",
        pdf_standards="ua-1",
        timestamp=dt.datetime(*_date(made_on), tzinfo=dt.UTC),
    )
    if not isinstance(made, bytes):  # a list only where pages are pictures
        raise TypeError(type(made))
    return made


@cache
def _fonts() -> typst.Fonts:
    return typst.Fonts(font_paths=[str(folder) for folder in font_folders()])


def _in_known_letters(text: str) -> str:
    from matplotlib.ft2font import FT2Font  # noqa: PLC0415  # only for rare letters

    known = set(map(ord, "\n\t "))
    for family in ("SourceSansPro-Regular.ttf", "DejaVuSans.ttf"):
        file = next(folder / family for folder in font_folders() if (folder / family).is_file())
        known |= set(FT2Font(str(file)).get_charmap())
    return re.sub(".", lambda found: found[0] if ord(found[0]) in known else _NOT_A_LETTER, text)


def _date(made_on: str) -> tuple[int, int, int]:
    """Year, month and day; where the study has none, the first that a container can hold."""
    try:
        day = dt.datetime.fromisoformat(made_on)
    except ValueError:
        return 1980, 1, 1
    return day.year, day.month, day.day


def _said(memo: Memo, place: Path) -> dict[str, Any]:
    year, month, day = _date(memo.made_on)
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
        "blocks": [_block(block, place) for block in memo.blocks],
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


def _block(block: Block, place: Path) -> dict[str, Any]:
    if isinstance(block, Heading):
        said = {"level": block.level, "text": heading_text(block), "new-page": block.new_page}
        return {"kind": "heading", **said}
    if isinstance(block, Figure):
        return _figure(block, place)
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


def _figure(block: Figure, place: Path) -> dict[str, Any]:
    file = f"figure_{block.number}.svg"
    (place / file).write_bytes(block.drawn.svg)
    finding, key = figure_caption(block)
    return {
        "kind": "figure",
        "file": file,
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
        "together": keeps_together(block),
        "evidence": list(block.evidence),
    }


def _cell(block: Table, column: int, cell: Any) -> dict[str, Any]:
    made = cell_pieces(block, column, cell)
    if isinstance(cell, Bullets):
        return {"items": made, "mark": cell.mark or "•", "pieces": []}
    return {"items": None, "pieces": made}
