"""Set blocks as a Word document: real heads, repeated table heads, pictures with words."""

from __future__ import annotations

import datetime as dt
import io
import zipfile
from typing import TYPE_CHECKING, Any

from docx import Document
from docx.enum.text import WD_TAB_ALIGNMENT
from docx.oxml import parse_xml
from docx.oxml.ns import nsdecls, qn
from docx.shared import Mm

from playsite.report.memo.blocks import Bullets, Callout, Figure, Heading, Paragraph, Table
from playsite.report.memo.styles import STYLE_OF, TABLE_STYLE, add_styles
from playsite.report.plain_text import one_line

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from playsite.report.memo.blocks import Block, Page, Parts

__all__ = ["save_document"]

_LONGEST_HEAD = 160
_LETTERS_KEPT = 1100  # a table of so few letters stays on one page


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
        _add(document, block)
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
    line.paragraph_format.tab_stops.add_tab_stop(Mm(page.text_mm), WD_TAB_ALIGNMENT.RIGHT)
    line.add_run(f"{one_line(head[0])}\t{one_line(head[1])}")
    line = section.footer.paragraphs[0]
    line.paragraph_format.tab_stops.add_tab_stop(Mm(page.text_mm), WD_TAB_ALIGNMENT.RIGHT)
    line.add_run(f"{one_line(foot)}\tpage ")
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
        made = document.add_paragraph(
            one_line(block.text, _LONGEST_HEAD), style=f"Heading {block.level}"
        )
        if block.new_page:
            made.paragraph_format.page_break_before, made.paragraph_format.space_before = True, 0
    elif isinstance(block, Paragraph):
        _add_parts(document.add_paragraph(style=STYLE_OF[block.style]), block.parts)
    elif isinstance(block, Bullets):
        _add_bullets(document, block)
    elif isinstance(block, Callout):
        _add_parts(document.add_paragraph(style="Callout"), block.parts)
    elif isinstance(block, Table):
        _add_table(document, block)
    elif isinstance(block, Figure):
        _add_figure(document, block)


def _add_bullets(place: Any, block: Bullets, *, first: Any = None) -> None:
    """Add items to a document or a cell, which has a first paragraph; they stay on one page."""
    for number, item in enumerate(block.items, start=1):
        made = first if first and number == 1 else place.add_paragraph()
        made.style = "List Bullet"
        made.paragraph_format.keep_with_next = number < len(block.items)
        made.add_run(f"{block.mark or '•'}\t{one_line(item)}")


def _add_parts(paragraph: Any, parts: Parts) -> None:
    for text, bold in ((parts, False),) if isinstance(parts, str) else parts:
        # blanks at the ends join the pieces, so they stay
        lead, tail = text[: len(text) - len(text.lstrip())], text[len(text.rstrip()) :]
        run = paragraph.add_run((lead and " ") + one_line(text) + (tail and " "))
        if bold and paragraph.style.name == "Score":
            run.style = "Score Number"
        else:
            run.bold = True if bold else None


def _add_table(document: Any, block: Table) -> None:
    table = document.add_table(rows=1, cols=len(block.head), style=TABLE_STYLE)
    table.autofit = False
    about = table._tbl.tblPr  # noqa: SLF001  (nor words for tables and pictures)
    for name, text in (("tblCaption", block.title), ("tblDescription", ", ".join(block.head))):
        element = about.makeelement(qn(f"w:{name}"), {qn("w:val"): one_line(text)})
        about.append(element)
    for column, width in zip(table.columns, block.widths_mm, strict=True):
        column.width = Mm(width)
    _fill_row(table.rows[0], block.head, block, is_head=True)
    for cells in block.rows:
        _fill_row(table.add_row(), cells, block, is_head=False)
    if sum(len(str(cell)) for cells in block.rows for cell in cells) <= _LETTERS_KEPT:
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
        paragraph.style = "Table Head" if is_head else "Table Text"
        in_bold = number in block.bold and not is_head and isinstance(text, str)
        _add_parts(paragraph, ((str(text), True),) if in_bold else text)


def _add_figure(document: Any, block: Figure) -> None:
    paragraph = document.add_paragraph(style="Picture")
    picture = paragraph.add_run().add_picture(
        io.BytesIO(block.png), width=Mm(block.width_mm), height=Mm(block.height_mm)
    )
    frame = picture._inline  # noqa: SLF001
    for side in ("distT", "distB", "distL", "distR"):
        frame.set(side, "0")  # left out, some programs put 3 mm around it
    frame.docPr.set("descr", one_line(block.alt))
    frame.docPr.set("title", one_line(block.finding))
    caption = document.add_paragraph(style="Caption")
    number = len(document.inline_shapes)
    caption.add_run(f"Figure {number}. {one_line(block.finding)}").bold = True
    if block.key:
        caption.add_run(f" {one_line(block.key)}")


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
