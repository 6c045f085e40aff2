"""The memo, said once and written as DOCX, tagged PDF and HTML: the same words and numbers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.report.memo.blocks import Memo, Page, numbered
from playsite.report.memo.content import memo_blocks
from playsite.report.people_units import in_feet
from playsite.report.wording import NOT_A_SURVEY

if TYPE_CHECKING:
    from pathlib import Path

    from playsite.result import Result

__all__ = ["A4", "LETTER", "memo_of", "paper", "write_memo"]

LETTER = Page(width_mm=215.9, height_mm=279.4, side_mm=19.0, plan_height_mm=108.0)
A4 = Page(width_mm=210.0, height_mm=297.0, side_mm=18.0, plan_height_mm=112.0)


def paper(units: str) -> Page:
    """Paper of those who read feet, or metres."""
    return LETTER if in_feet(units) else A4


def memo_of(result: Result) -> Memo:
    """Give the memo of a result: letter paper, A4 where units are metres."""
    study, page = result.study, paper(result.study.units)
    return Memo(
        blocks=numbered(memo_blocks(result, page)),
        page=page,
        title=study.title,
        head=(study.title, f"Screening only, {study.made_on}"),
        foot=" ".join(NOT_A_SURVEY),
        made_on=study.made_on,
    )


def write_memo(result: Result, folder: Path) -> None:
    """Write memo.docx, memo.pdf and memo.html into a folder that is there.

    Plans keep their stated scale when printed at full size. Equal results give equal bytes.
    """
    from playsite.report.memo.document import save_document  # noqa: PLC0415  # each is slow to load
    from playsite.report.memo.pdf import pdf_of  # noqa: PLC0415
    from playsite.report.memo.web import html_of  # noqa: PLC0415

    memo = memo_of(result)
    save_document(memo, folder / "memo.docx", letterhead=result.study.letterhead)
    (folder / "memo.pdf").write_bytes(pdf_of(memo))
    (folder / "memo.html").write_text(html_of(memo), encoding="utf-8", newline="")
