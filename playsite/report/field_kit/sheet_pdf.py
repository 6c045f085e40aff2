"""One site's sheet as a tagged PDF, for those who send it or print it where no browser is."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from playsite.report.ink import INK
from playsite.report.memo.fonts import MARKS, PDF_SANS, PDF_SERIF
from playsite.report.typeset import typeset

if TYPE_CHECKING:
    from playsite.report.field_kit.sheet import Sheet

__all__ = ["sheet_pdf"]


def sheet_pdf(sheet: Sheet) -> bytes:
    """Sheet of one site as PDF/UA-1; the same sheet on the same day gives the same bytes."""
    words = {
        "title": sheet.title,
        "under": f"Parcel {sheet.parcel}. {sheet.study_title}, {sheet.made_on}. {sheet.standing}.",
        "cautions": " ".join(sheet.cautions),
        "conditions": sheet.conditions,
        "plan": {
            "width_mm": sheet.plan.width_mm,
            "height_mm": sheet.plan.height_mm,
            "alt": sheet.plan.alt,
            "words": f"{sheet.plan.finding} {sheet.plan.key}",
        },
        "crs": sheet.crs,
        "corners": sheet.corners,
        "always": sheet.always,
        "low_spots": sheet.low_spots,
        "asked": sheet.asked,
        "sure": sheet.sure,
        "length": sheet.length,
        "paper": sheet.paper,
        "side_mm": sheet.page.side_mm,
        "ink": INK,
        "fonts": [PDF_SANS, MARKS],
        "serif": [PDF_SERIF, MARKS],
    }
    template = Path(__file__).with_name("sheet.typ")
    return typeset(template, words, {"plan.svg": sheet.plan.drawn.svg}, made_on=sheet.day)
