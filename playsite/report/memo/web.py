"""Set a memo as one HTML file: pictures inside it, nothing loaded from outside, no script."""

from __future__ import annotations

import base64
from functools import cache
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING

from playsite.report.ink import INK
from playsite.report.memo.blocks import Bullets, Callout, Figure, Heading, Paragraph, Table
from playsite.report.memo.pointers import anchor_name
from playsite.report.memo.words import (
    cell_pieces,
    figure_caption,
    heading_text,
    pieces,
    table_caption,
)
from playsite.report.plain_text import one_line

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from playsite.report.memo.blocks import Block, Keys, Memo

__all__ = ["html_of"]

_LOOK = "memo.css"
_INKS = ("sheet", "margin", "ink", "ink-2", "ink-3", "rule", "overprint-deep", "caution", "caution-wash", "caution-edge")  # fmt: skip


def html_of(memo: Memo) -> str:
    """Text of the page; equal memos give equal text."""
    title = escape(one_line(memo.title) or "Memo")
    inks = "".join(f"--{name}:{INK[name]};" for name in _INKS)
    left, right = (escape(one_line(text)) for text in memo.head)
    body = "\n".join(line for block in memo.blocks for line in _block(block))
    page = f"@page{{size:{memo.page.width_mm}mm {memo.page.height_mm}mm;margin:18mm {memo.page.side_mm}mm}}"
    width = f"--text:{memo.page.text_mm:g}mm"
    return (
        '<!doctype html>\n<html lang="en-US">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{title}</title>\n<style>:root{{{inks}{width}}}\n{_look()}{page}</style>\n</head>\n<body>\n"
        f"<header><p><span>{left}</span> <span>{right}</span></p></header>\n<main>\n{body}\n</main>\n"
        f"<footer><p>{escape(one_line(memo.foot))}</p></footer>\n</body>\n</html>\n"
    )


@cache
def _look() -> str:
    return Path(__file__).with_name(_LOOK).read_text(encoding="utf-8")


def _block(block: Block) -> Iterator[str]:
    if isinstance(block, Heading):
        apart = ' class="new-page"' if block.new_page else ""
        yield f"<h{block.level + 1}{apart}>{escape(heading_text(block))}</h{block.level + 1}>"
    elif isinstance(block, Paragraph):
        tag = "h1" if block.style == "title" else "p"
        yield f'<{tag} class="{block.style}">{_set(pieces(block.parts))}{_keys(block.evidence)}</{tag}>'
    elif isinstance(block, Callout):
        yield f'<p class="callout">{_set(pieces(block.parts))}{_keys(block.evidence)}</p>'
    elif isinstance(block, Bullets):
        yield _items([pieces(item) for item in block.items], block.mark, block.evidence)
    elif isinstance(block, Figure):
        yield _figure(block)
    elif isinstance(block, Table):
        yield from _table(block)


def _set(given: Iterable[tuple[str, bool]]) -> str:
    return "".join(f"<b>{escape(text)}</b>" if bold else escape(text) for text, bold in given)


def _keys(keys: Keys) -> str:
    links = ", ".join(f'<a href="#{anchor_name(key)}">{escape(key)}</a>' for key in keys)
    return f' <span class="keys">[{links}]</span>' if keys else ""


def _items(items: Sequence[Sequence[tuple[str, bool]]], mark: str, keys: Keys = ()) -> str:
    """Items with their mark as text: it says the word, so it is read out too."""
    last = len(items) - 1
    said = "".join(
        f'<li><span class="mark">{escape(mark or "•")}</span> '
        f"{_set(item)}{_keys(keys) if number == last else ''}</li>"
        for number, item in enumerate(items)
    )
    return f"<ul>{said}</ul>"


def _figure(block: Figure) -> str:
    finding, key = figure_caption(block)
    source = base64.b64encode(block.drawn.svg).decode("ascii")
    return (
        f'<figure><img alt="{escape(one_line(block.alt))}" style="width:{block.width_mm:g}mm" '
        f'src="data:image/svg+xml;base64,{source}">'
        f"<figcaption><b>{escape(finding)}</b> {escape(key)}{_keys(block.evidence)}</figcaption></figure>"
    )


def _table(block: Table) -> Iterator[str]:
    number, title = table_caption(block)
    yield '<div class="table" tabindex="0"><table>'
    yield f"<caption><b>{number}</b> {escape(title)}{_keys(block.evidence)}</caption>"
    whole = sum(block.widths_mm)
    for width in block.widths_mm:
        yield f'<col style="width:{100 * width / max(whole, 1):.1f}%">'
    head = "".join(f'<th scope="col">{escape(one_line(name))}</th>' for name in block.head)
    yield f"<thead><tr>{head}</tr></thead><tbody>"
    last = ""
    for cells in block.rows:
        key = str(cells[0])
        named = f' id="{anchor_name(key)}"' if block.is_evidence and key not in {"", last} else ""
        last = key if named else last
        said = "".join(f"<td>{_cell(block, at, cell)}</td>" for at, cell in enumerate(cells))
        yield f"<tr{named}>{said}</tr>"
    yield "</tbody></table></div>"


def _cell(block: Table, column: int, cell: object) -> str:
    made = cell_pieces(block, column, cell)  # type: ignore[arg-type]
    if isinstance(cell, Bullets):
        return _items(made, cell.mark)  # type: ignore[arg-type]
    return _set(made)  # type: ignore[arg-type]
