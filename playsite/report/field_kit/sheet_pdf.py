"""One site's sheet as a tagged PDF, for those who send it or print it where no browser is."""

from __future__ import annotations

import datetime as dt
import json
import shutil
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

import typst

from playsite.report.ink import INK, SANS

if TYPE_CHECKING:
    from playsite.report.field_kit.sheet import Sheet

__all__ = ["sheet_pdf"]

_FONTS = (SANS, "Helvetica Neue", "Noto Sans", "Arial", "Liberation Sans", "DejaVu Sans")
_EMBEDDED = "Libertinus Serif"  # comes with the typesetter, for machines that have none of these


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
        "asked": sheet.asked,
        "sure": sheet.sure,
        "length": sheet.length,
        "paper": sheet.paper,
        "side_mm": sheet.page.side_mm,
        "ink": INK,
        "fonts": [*_FONTS, _EMBEDDED],
    }
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        shutil.copy(Path(__file__).with_name("sheet.typ"), place)
        told = json.dumps(words, ensure_ascii=False)
        (place / "data.json").write_bytes(told.encode("utf-8", "replace"))
        (place / "plan.png").write_bytes(sheet.plan.drawn.png)
        day = dt.datetime.fromisoformat(sheet.day).replace(tzinfo=dt.UTC)
        made: bytes = typst.compile(
            place / "sheet.typ",
            root=place,
            format="pdf",
            pdf_standards=["ua-1"],
            timestamp=int(day.timestamp()),
        )
        return made
