"""The memo: a Word document that a council can read, with its plans to scale on paper."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.report.memo.blocks import Page
from playsite.report.memo.content import memo_blocks
from playsite.report.memo.document import save_document
from playsite.report.people_units import in_feet
from playsite.report.wording import NOT_A_SURVEY

if TYPE_CHECKING:
    from pathlib import Path

    from playsite.result import Result

__all__ = ["A4", "LETTER", "paper", "write_memo"]

LETTER = Page(width_mm=215.9, height_mm=279.4, side_mm=19.0, plan_height_mm=108.0)
A4 = Page(width_mm=210.0, height_mm=297.0, side_mm=18.0, plan_height_mm=112.0)


def paper(units: str) -> Page:
    """Paper of those who read feet, or metres."""
    return LETTER if in_feet(units) else A4


def write_memo(result: Result, path: Path) -> None:
    """Write the memo of a result as DOCX: letter paper, A4 where units are metres.

    Plans keep their stated scale when printed at full size. Equal results give equal bytes.

    Parameters
    ----------
    path
        File to write, in a folder that is there.
    """
    study = result.study
    page = paper(study.units)
    save_document(
        memo_blocks(result, page),
        path,
        page=page,
        title=study.title,
        head=(study.title, f"Screening only, {study.made_on}"),
        foot=" ".join(NOT_A_SURVEY),
        made_on=study.made_on,
    )
