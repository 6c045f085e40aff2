"""Set blocks as a Word document: real heads, repeated table heads, pictures with words."""

from __future__ import annotations

import datetime as dt
import io
from typing import TYPE_CHECKING, Any

from docx import Document
from docx.enum.text import WD_TAB_ALIGNMENT
from docx.oxml import parse_xml
from docx.oxml.ns import nsdecls, qn
from docx.shared import Mm

from playsite.report.memo.blocks import Bullets, Callout, Figure, Heading, Paragraph, Table
from playsite.report.memo.letterhead import opened_letterhead
from playsite.report.memo.letters import STYLE_OF
from playsite.report.memo.pointers import add_anchor, add_keys
from playsite.report.memo.styles import TABLE_STYLE, add_styles, give_style
from playsite.report.memo.words import (
    figure_caption,
    heading_text,
    keeps_together,
    pieces,
    table_caption,
)
from playsite.report.plain_text import one_line
from playsite.report.same_bytes import save_alike

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from playsite.report.memo.blocks import Block, Memo, Page, Parts

__all__ = ["save_document"]


def save_document(memo: Memo, path: Path, *, letterhead: Path | None = None) -> None:
    """Write a memo as DOCX; equal memos give equal bytes.

    Parameters
    ----------
    letterhead
        A document of the office whose head, foot and their room are taken; its body is left out.
        Paper and side margins are the memo's: plans keep their scale. The page number then
        stands in a line of its own, below the office's foot.

    Raises
    ------
    InputError
        If the letterhead can't be opened.
    """
    document = Document() if letterhead is None else opened_letterhead(letterhead)
    add_styles(document)
    section = document.sections[0]
    _set_page(section, memo.page, keeps_height=letterhead is not None)
    if letterhead is None:
        _set_head(section, memo)
    _set_foot(section, memo, is_added=letterhead is not None)
    _set_properties(document, memo.title, memo.made_on)
    for block in memo.blocks:
        _add(document, block)
    _number_pictures(document)
    made = io.BytesIO()
    document.save(made)
    save_alike(made, path)


def _set_page(section: Any, page: Page, *, keeps_height: bool) -> None:
    section.page_width, section.page_height = Mm(page.width_mm), Mm(page.height_mm)
    section.left_margin = section.right_margin = Mm(page.side_mm)
    if keeps_height:
        return
    section.top_margin, section.bottom_margin = Mm(22), Mm(20)
    section.header_distance, section.footer_distance = Mm(12), Mm(9)


def _set_properties(document: Any, title: str, made_on: str) -> None:
    """Name no person; the time is the study's, not that of writing."""
    try:
        when = dt.datetime.fromisoformat(made_on).replace(tzinfo=None)
    except ValueError:
        when = dt.datetime(1980, 1, 1)  # noqa: DTZ001  (the format knows no zone)
    core = document.core_properties
    core.title, core.subject = one_line(title), "Where the play area could go"
    core.author = core.last_modified_by = core.comments = core.keywords = ""
    core.created = core.modified = when
    core.revision, core.language = 1, "en-US"


def _set_head(section: Any, memo: Memo) -> None:
    line = section.header.paragraphs[0]
    line.paragraph_format.tab_stops.add_tab_stop(Mm(memo.page.text_mm), WD_TAB_ALIGNMENT.RIGHT)
    line.add_run(f"{one_line(memo.head[0])}\t{one_line(memo.head[1])}")


def _set_foot(section: Any, memo: Memo, *, is_added: bool) -> None:
    """Set caution and page number; under those of a letterhead, as a line more."""
    foot = section.footer
    line = foot.add_paragraph(style="Footer") if is_added else foot.paragraphs[0]
    line.paragraph_format.tab_stops.add_tab_stop(Mm(memo.page.text_mm), WD_TAB_ALIGNMENT.RIGHT)
    line.add_run(f"{one_line(memo.foot)}\tpage ")
    _add_field(line, "PAGE")
    line.add_run(" of ")
    _add_field(line, "NUMPAGES")


def _add_field(paragraph: Any, code: str) -> None:
    paragraph._p.append(  # noqa: SLF001  (python-docx knows no fields)
        parse_xml(
            f'<w:fldSimple {nsdecls("w")} w:instr=" {code} "><w:r><w:t>1</w:t></w:r></w:fldSimple>'
        )
    )


def _add(document: Any, block: Block) -> None:
    if isinstance(block, Heading):
        made = document.add_paragraph(heading_text(block), style=f"Heading {block.level}")
        if block.new_page:
            made.paragraph_format.page_break_before, made.paragraph_format.space_before = True, 0
    elif isinstance(block, Paragraph):
        made = document.add_paragraph(style=STYLE_OF[block.style])
        _add_pieces(made, pieces(block.parts), is_score=block.style == "score")
        add_keys(made, block.evidence)
    elif isinstance(block, Bullets):
        _add_bullets(document, block)
    elif isinstance(block, Callout):
        made = document.add_paragraph(style="Callout")
        _add_pieces(made, pieces(block.parts))
        add_keys(made, block.evidence)
    elif isinstance(block, Table):
        _add_table(document, block)
    elif isinstance(block, Figure):
        _add_figure(document, block)


def _add_bullets(place: Any, block: Bullets, *, first: Any = None) -> None:
    """Add items to a document or a cell, which has a first paragraph; they stay on one page."""
    for number, item in enumerate(block.items, start=1):
        made = first if first and number == 1 else place.add_paragraph()
        give_style(made, "List Bullet")
        made.paragraph_format.keep_with_next = number < len(block.items)
        made.add_run(f"{block.mark or '•'}\t{one_line(item)}")
        if number == len(block.items):
            add_keys(made, block.evidence)


def _add_pieces(
    paragraph: Any, given: Sequence[tuple[str, bool]], *, is_score: bool = False
) -> None:
    for text, bold in given:
        run = paragraph.add_run(text)
        if bold and is_score:
            give_style(run, "Score Number")
        else:
            run.bold = True if bold else None


def _add_table(document: Any, block: Table) -> None:
    number, title = table_caption(block)
    caption = document.add_paragraph(style="Table Caption")
    caption.add_run(number).bold = True
    caption.add_run(f" {title}")
    add_keys(caption, block.evidence)
    table = document.add_table(rows=1, cols=len(block.head), style=TABLE_STYLE)
    table.autofit = False
    about = table._tbl.tblPr  # noqa: SLF001  (nor words for tables and pictures)
    for name, text in (("tblCaption", block.title), ("tblDescription", ", ".join(block.head))):
        element = about.makeelement(qn(f"w:{name}"), {qn("w:val"): one_line(text)})
        about.append(element)
    for column, width in zip(table.columns, block.widths_mm, strict=True):
        column.width = Mm(width)
    _fill_row(table.rows[0], block.head, block, is_head=True)
    last = ""
    for cells in block.rows:
        row = table.add_row()
        _fill_row(row, cells, block, is_head=False)
        if block.is_evidence and str(cells[0]) not in {"", last}:
            last = str(cells[0])
            add_anchor(row.cells[0].paragraphs[0], last)
    if keeps_together(block):
        for row in table.rows[:-1]:
            for cell in row.cells:
                cell.paragraphs[0].paragraph_format.keep_with_next = True
    document.add_paragraph(style="After Table")


def _fill_row(row: Any, cells: Sequence[Parts | Bullets], block: Table, *, is_head: bool) -> None:
    properties = row._tr.get_or_add_trPr()  # noqa: SLF001  (nor heads that repeat)
    properties.append(properties.makeelement(qn("w:cantSplit"), {}))
    if is_head:
        properties.append(properties.makeelement(qn("w:tblHeader"), {}))
    for number, (cell, text) in enumerate(zip(row.cells, cells, strict=True)):
        cell.width = Mm(block.widths_mm[number])
        paragraph = cell.paragraphs[0]
        if isinstance(text, Bullets):
            _add_bullets(cell, text, first=paragraph)
            continue
        text_style = "Evidence Text" if block.is_evidence else "Table Text"
        give_style(paragraph, "Table Head" if is_head else text_style)
        in_bold = number in block.bold and not is_head and isinstance(text, str)
        _add_pieces(paragraph, pieces(((str(text), True),) if in_bold else text))


def _add_figure(document: Any, block: Figure) -> None:
    paragraph = document.add_paragraph(style="Picture")
    picture = paragraph.add_run().add_picture(
        io.BytesIO(block.drawn.png), width=Mm(block.width_mm), height=Mm(block.height_mm)
    )
    frame = picture._inline  # noqa: SLF001
    for side in ("distT", "distB", "distL", "distR"):
        frame.set(side, "0")  # left out, some programs put 3 mm around it
    frame.docPr.set("descr", one_line(block.alt))
    frame.docPr.set("title", one_line(block.finding))
    caption = document.add_paragraph(style="Caption")
    finding, key = figure_caption(block)
    caption.add_run(finding).bold = True
    if key:
        caption.add_run(f" {key}")
    add_keys(caption, block.evidence)


def _number_pictures(document: Any) -> None:
    """Give each picture its own number and name: readers of screens tell them apart by it."""
    for number, about in enumerate(document.element.body.iter(qn("wp:docPr")), start=1):
        about.set("id", str(number))
        about.set("name", f"Figure {number}")
