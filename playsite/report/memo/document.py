"""Set blocks as a Word document: real heads, repeated table heads, pictures with words."""

from __future__ import annotations

import datetime as dt
import io
import zipfile
from typing import TYPE_CHECKING, Any

from docx import Document
from docx.enum.section import WD_SECTION
from docx.enum.text import WD_BREAK
from docx.oxml import parse_xml
from docx.oxml.ns import nsdecls, qn
from docx.shared import Mm

from playsite.report.memo.blocks import (
    Bullets,
    Callout,
    Columns,
    Figure,
    Heading,
    Paragraph,
    Table,
    one_line,
)
from playsite.report.memo.styles import STYLE_OF, TABLE_STYLE, add_styles

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from playsite.report.memo.blocks import Block, Page, Parts

__all__ = ["save_document"]

_GAP_MM = 6.0


def save_document(
    blocks: Sequence[Block], path: Path, *, page: Page, title: str, head: tuple[str, str],
    foot: str, made_on: str,
) -> None:  # fmt: skip
    """Write blocks as DOCX; equal blocks give equal bytes.

    Parameters
    ----------
    head
        What stands left and right at the head of each page.
    foot
        What stands at the foot of each page, left of its number.
    made_on
        Date of the study: the only one that the document carries.
    """
    document = Document()
    add_styles(document)
    _set_page(document.sections[0], page)
    _set_properties(document, title, made_on)
    _set_head_and_foot(document.sections[0], page, head, foot)
    for block in blocks:
        _add(document, block, page)
    _number_pictures(document)
    _save_alike(document, path)


def _set_page(section: Any, page: Page) -> None:
    section.page_width, section.page_height = Mm(page.width_mm), Mm(page.height_mm)
    section.left_margin = section.right_margin = Mm(page.side_mm)
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


def _set_head_and_foot(section: Any, page: Page, head: tuple[str, str], foot: str) -> None:
    line = section.header.paragraphs[0]
    line.style = "Header"
    line.paragraph_format.tab_stops.clear_all()
    line.paragraph_format.tab_stops.add_tab_stop(Mm(page.text_mm), 2)
    line.add_run(f"{one_line(head[0])}\t{one_line(head[1])}")
    line = section.footer.paragraphs[0]
    line.style = "Footer"
    line.paragraph_format.tab_stops.clear_all()
    line.paragraph_format.tab_stops.add_tab_stop(Mm(page.text_mm), 2)
    line.add_run(f"{one_line(foot)}\tpage ")
    _add_field(line, "PAGE")
    line.add_run(" of ")
    _add_field(line, "NUMPAGES")


def _add_field(paragraph: Any, code: str) -> None:
    paragraph._p.append(
        parse_xml(
            f'<w:fldSimple {nsdecls("w")} w:instr=" {code} "><w:r><w:t>1</w:t></w:r></w:fldSimple>'
        )
    )


def _add(document: Any, block: Block, page: Page) -> None:
    if isinstance(block, Heading):
        made = document.add_paragraph(one_line(block.text), style=f"Heading {block.level}")
        made.paragraph_format.page_break_before = True if block.new_page else None
    elif isinstance(block, Paragraph):
        _add_parts(document.add_paragraph(style=STYLE_OF[block.style]), block.parts)
    elif isinstance(block, Bullets):
        for item in block.items:
            made = document.add_paragraph(style="List Bullet")
            made.add_run(f"{block.mark or '•'}\t")
            made.add_run(one_line(item))
    elif isinstance(block, Callout):
        _add_parts(document.add_paragraph(style="Callout"), block.parts)
    elif isinstance(block, Table):
        _add_table(document, block)
    elif isinstance(block, Figure):
        _add_figure(document, block)
    elif isinstance(block, Columns):
        _add_columns(document, block, page)


def _add_parts(paragraph: Any, parts: Parts) -> None:
    for text, bold in ((parts, False),) if isinstance(parts, str) else parts:
        # blanks at the ends join the pieces, so they stay
        lead, tail = text[: len(text) - len(text.lstrip())], text[len(text.rstrip()) :]
        run = paragraph.add_run((lead and " ") + one_line(text) + (tail and " "))
        run.bold = True if bold else None


def _add_table(document: Any, block: Table) -> None:
    table = document.add_table(rows=1, cols=len(block.head), style=TABLE_STYLE)
    table.autofit = False
    about = table._tbl.tblPr
    for name, text in (("tblCaption", block.title), ("tblDescription", ", ".join(block.head))):
        element = about.makeelement(qn(f"w:{name}"), {qn("w:val"): one_line(text)})
        about.append(element)
    for column, width in zip(table.columns, block.widths_mm, strict=True):
        column.width = Mm(width)
    _fill_row(table.rows[0], block.head, block, is_head=True)
    for cells in block.rows:
        _fill_row(table.add_row(), cells, block, is_head=False)
    document.add_paragraph(style="After Table")


def _fill_row(row: Any, cells: Sequence[str], block: Table, *, is_head: bool) -> None:
    properties = row._tr.get_or_add_trPr()
    properties.append(properties.makeelement(qn("w:cantSplit"), {}))
    if is_head:
        properties.append(properties.makeelement(qn("w:tblHeader"), {}))
    for number, (cell, text) in enumerate(zip(row.cells, cells, strict=True)):
        cell.width = Mm(block.widths_mm[number])
        paragraph = cell.paragraphs[0]
        paragraph.style = "Table Head" if is_head else "Table Text"
        run = paragraph.add_run(one_line(text))
        run.bold = True if number in block.bold and not is_head else None


def _add_figure(document: Any, block: Figure) -> None:
    paragraph = document.add_paragraph(style="Picture")
    picture = paragraph.add_run().add_picture(
        io.BytesIO(block.png), width=Mm(block.width_mm), height=Mm(block.height_mm)
    )
    picture._inline.docPr.set("descr", one_line(block.alt))
    picture._inline.docPr.set("title", one_line(block.finding))
    caption = document.add_paragraph(style="Caption")
    caption.add_run(one_line(block.finding)).bold = True
    if block.key:
        caption.add_run(f" {one_line(block.key)}")


def _add_columns(document: Any, block: Columns, page: Page) -> None:
    """Two real columns, so that the order of reading is the order of the text."""
    document.add_section(WD_SECTION.CONTINUOUS)
    for part in block.left:
        _add(document, part, page)
    document.add_paragraph(style="After Table").add_run().add_break(WD_BREAK.COLUMN)
    for part in block.right:
        _add(document, part, page)
    ended = document.add_section(WD_SECTION.CONTINUOUS)
    widths = (block.left_mm, block.right_mm)
    columns = "".join(
        f'<w:col w:w="{Mm(width).twips}" w:space="{Mm(_GAP_MM).twips}"/>' for width in widths
    )
    two = parse_xml(f'<w:cols {nsdecls("w")} w:num="2" w:equalWidth="0">{columns}</w:cols>')
    inner = document.sections[-2]._sectPr
    for old in inner.findall(qn("w:cols")):
        inner.replace(old, two)
    for old in ended._sectPr.findall(qn("w:cols")):
        ended._sectPr.replace(old, parse_xml(f'<w:cols {nsdecls("w")} w:space="720"/>'))


def _number_pictures(document: Any) -> None:
    """Give each picture its own number and name: readers of screens tell them apart by it."""
    for number, about in enumerate(document.element.body.iter(qn("wp:docPr")), start=1):
        about.set("id", str(number))
        about.set("name", f"Figure {number}")


def _save_alike(document: Any, path: Path) -> None:
    """Save without the time of writing, which the container keeps of each part."""
    made = io.BytesIO()
    document.save(made)
    with zipfile.ZipFile(made) as parts, zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as fixed:
        for name in parts.namelist():
            entry = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
            entry.compress_type = zipfile.ZIP_DEFLATED
            fixed.writestr(entry, parts.read(name))
