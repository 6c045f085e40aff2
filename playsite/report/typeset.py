"""One page description and its words set as tagged PDF (PDF/UA-1), the same on every machine."""

from __future__ import annotations

import datetime as dt
import json
import re
import tempfile
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typst

from playsite.report.memo.fonts import font_folders

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["day_of", "typeset"]

_NOT_A_LETTER = "\N{WHITE SQUARE}"  # stands for what no font here has; the tables have it in full


def typeset(
    template: Path, words: Mapping[str, Any], pictures: Mapping[str, bytes], *, made_on: str
) -> bytes:
    """Bytes of the PDF; equal words on an equal day give equal bytes.

    Parameters
    ----------
    template
        Reads ``words.json`` and the pictures beside it.
    words
        Text, as text that is never read as markup.
    pictures
        By name of file.
    made_on
        Day that the file says it was made on.
    """
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        (place / template.name).write_bytes(template.read_bytes())
        for name, picture in pictures.items():
            (place / name).write_bytes(picture)
        # half a character, as broken files bring it, is no letter either
        text = json.dumps(words, ensure_ascii=False).encode("utf-8", "replace").decode()
        (place / "words.json").write_text(text, encoding="utf-8")
        try:
            return _compiled(place / template.name, made_on)
        except typst.TypstError as error:
            if "font" not in str(error):
                raise
            # a name in letters that no font on this machine has
            (place / "words.json").write_text(_in_known_letters(text), encoding="utf-8")
            return _compiled(place / template.name, made_on)


def _compiled(template: Path, made_on: str) -> bytes:
    made = typst.compile(
        str(template),
        root=str(template.parent),
        font_paths=_fonts(),
        format="pdf",
        pdf_standards="ua-1",
        timestamp=dt.datetime(*day_of(made_on), tzinfo=dt.UTC),
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


def day_of(made_on: str) -> tuple[int, int, int]:
    """Year, month and day; where the study has none, the first that a container can hold."""
    try:
        day = dt.datetime.fromisoformat(made_on)
    except ValueError:
        return 1980, 1, 1
    return day.year, day.month, day.day
