"""A small drawing on paper, in millimetres: said once, written as SVG here, set as a picture by the memo."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, NamedTuple
from xml.sax.saxutils import quoteattr

import numpy as np
import shapely

from playsite.report.ink import INK
from playsite.report.plain_text import one_line
from playsite.report.vector_sheet import path, text, text_em

if TYPE_CHECKING:
    from collections.abc import Mapping

    from shapely.geometry.base import BaseGeometry

__all__ = [
    "KINDS",
    "LETTER_MM",
    "Drawing",
    "Kind",
    "Mark",
    "beside",
    "drawing_parts",
    "drawing_style",
    "drawing_svg",
]

LETTER_MM = 2.9
"""Height of letters: about 8 points."""

_ROUND = 2
_OF_UNITS = {"dark", "light"}
_FINE_MM = 0.03  # a tenth of a line's width: a third of the points
_WORDS = {
    "bold": "font-weight:700",
    "note": "fill:var(--ink-3);font-size:2.65px",
    "height": "fill:var(--contour-text);font-size:2.65px",
    "of-cut": "fill:var(--cut);font-weight:700",
    "of-fill": "fill:var(--fill);font-weight:700",
    "of-ground": "fill:var(--contour-text);font-family:var(--serif);font-style:italic",
}


class Kind(NamedTuple):
    """Look of one kind of mark: inks of filling and line, width in mm, dashes in mm, hatch."""

    fill: str | None
    line: str | None
    width_mm: float = 0.0
    dashes_mm: tuple[float, ...] = ()
    hatch: str = ""


KINDS = {
    "page": Kind("sheet", None),
    "earth": Kind("margin", None),
    "contour": Kind(None, "contour", 0.2),
    "fifth": Kind(None, "contour", 0.4),
    "parcel": Kind(None, "overprint", 0.35, (2.2, 0.9)),
    "blank": Kind("sheet", None),
    "cut": Kind("cut-wash", "cut", 0.2, hatch="\\\\\\\\"),
    "fill": Kind("fill-wash", "fill", 0.2, hatch="////"),
    "banks": Kind(None, "ink", 0.25),
    "pad": Kind(None, "overprint-deep", 0.5),
    "ground": Kind(None, "contour-text", 0.4, (1.6, 0.8)),
    "finish": Kind(None, "ink", 0.5),
    "play": Kind(None, "overprint", 0.8),
    "wall": Kind(None, "ink", 0.9),
    "arrow": Kind(None, "ink", 0.45),
    "hair": Kind(None, "rule", 0.2),
    "rule": Kind(None, "ink-3", 0.25),
    "size": Kind(None, "ink", 0.25),
    "dark": Kind("ink", "ink", 0.15),
    "light": Kind("sheet", "ink", 0.15),
}
"""Looks by name, the same in SVG (through the page's style sheet) and on paper."""


@dataclass(frozen=True)
class Mark:
    """One thing drawn: a shape in millimetres, y down, or a line of text about a point.

    ``words`` is the look of a text: ``bold``, ``note``, ``height``, ``of-cut`` and so on.
    """

    kind: str = ""
    shape: BaseGeometry | None = None
    said: str = ""
    at: tuple[float, float] = (0.0, 0.0)
    anchor: str = "start"
    words: str = ""

    def moved(self, x: float, y: float) -> Mark:
        """The same mark somewhere else."""
        shape = self.shape
        if shape is not None:
            shape = shapely.transform(shape, lambda xy: xy + np.array([x, y]))
        return replace(self, shape=shape, at=(self.at[0] + x, self.at[1] + y))


@dataclass
class Drawing:
    """Marks in the order in which they are laid down, and what they show in words.

    Parameters
    ----------
    alt
        What is to be seen, for those who can't see it.
    finding
        What it shows, a sentence.
    key
        What the inks mean.
    facts
        Numbers that whoever measures in the drawing needs, by name.
    """

    width_mm: float
    height_mm: float
    alt: str = ""
    finding: str = ""
    key: str = ""
    facts: Mapping[str, float] = field(default_factory=dict)
    marks: list[Mark] = field(default_factory=list)
    taken: list[BaseGeometry] = field(default_factory=list)

    def draw(self, kind: str, shape: BaseGeometry) -> None:
        """Lay down a shape."""
        if not shape.is_empty:
            self.marks.append(Mark(kind, shape))

    def write(
        self, x: float, y: float, said: str, words: str = "", *, anchor: str = "middle"
    ) -> None:
        """Set a line of text whatever stands there; its middle is at ``y``."""
        self.taken.append(_box(x, y, said, anchor))
        self.marks.append(Mark(said=one_line(said), at=(x, y), anchor=anchor, words=words))

    def label(
        self, x: float, y: float, said: str, words: str = "", *, anchor: str = "middle"
    ) -> bool:
        """Set a line of text where nothing stands yet; say whether there was room."""
        box = _box(x, y, said, anchor)
        page = shapely.box(0, 0, self.width_mm, self.height_mm)
        if not page.contains(box) or any(box.intersects(other) for other in self.taken):
            return False
        self.write(x, y, said, words, anchor=anchor)
        return True


def _box(x: float, y: float, said: str, anchor: str) -> BaseGeometry:
    wide = text_em(said) * LETTER_MM + 1
    left = x - {"start": 0.5, "middle": wide / 2, "end": wide - 0.5}[anchor]
    return shapely.box(left, y - 0.6 * LETTER_MM, left + wide, y + 0.6 * LETTER_MM)


def beside(first: Drawing, second: Drawing, *, gap_mm: float) -> Drawing:
    """A plan and what stands beside it, level at the top, as one; the key says the plan's scale."""
    off = first.width_mm + gap_mm
    return Drawing(
        width_mm=off + second.width_mm,
        height_mm=max(first.height_mm, second.height_mm),
        alt=f"{first.alt} {second.alt}",
        finding=second.finding,
        key=f"Left, 1:{1000 * first.facts['m-per-mm']:,.0f}: {first.key} Right: {second.key}",
        marks=[*first.marks, *(mark.moved(off, 0.0) for mark in second.marks)],
    )


def drawing_svg(drawing: Drawing) -> str:
    """Write a drawing as SVG that a page styles by the names of its marks.

    Parameters
    ----------
    drawing
        Its facts become attributes ``data-…`` of the picture.

    Returns
    -------
    str
        One element, the same to the byte for the same drawing.
    """
    facts = "".join(f' data-{name}="{value:.6g}"' for name, value in drawing.facts.items())
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="drawing" role="img"{facts} '
        f'viewBox="0 0 {drawing.width_mm:g} {drawing.height_mm:g}" '
        f"aria-label={quoteattr(one_line(drawing.alt))}>"
    )
    return head + "".join(drawing_parts(drawing)) + "</svg>"


def drawing_parts(drawing: Drawing) -> tuple[str, str]:
    """What is inside the SVG: shapes, and over them all that goes with the units of length."""
    over = [mark.shape is None or mark.kind in _OF_UNITS for mark in drawing.marks]
    written = [_written(mark) for mark in drawing.marks]
    shapes = (said for said, is_over in zip(written, over, strict=True) if not is_over)
    letters = (said for said, is_over in zip(written, over, strict=True) if is_over)
    return "".join(shapes), "".join(letters)


def _written(mark: Mark) -> str:
    if mark.shape is None:
        # letters stand on their line, not about it
        x, y = mark.at
        return text(
            round(x, _ROUND),
            round(y + 0.36 * LETTER_MM, _ROUND),
            mark.said,
            mark.words,
            anchor=mark.anchor,
        )
    shape = mark.shape.simplify(_FINE_MM)
    return path(shapely.transform(shape, lambda xy: np.round(xy, _ROUND)), mark.kind)


def drawing_style() -> str:
    """Style sheet of the drawings in a page, by the page's own inks where it has them."""
    letters = (
        f"font-family:var(--sans);font-size:{LETTER_MM}px;fill:var(--ink);paint-order:stroke;"
        "stroke:var(--sheet);stroke-width:.9px;stroke-linejoin:round"
    )
    rules = [".drawing{width:100%;height:auto}", f".drawing text{{{letters}}}"]
    for name, kind in KINDS.items():
        fill = f"url(#{name}-hatch)" if kind.hatch else _ink(kind.fill)
        dashes = " ".join(f"{each:g}" for each in kind.dashes_mm) or "none"
        rules.append(
            f".drawing .{name}{{fill:{fill};stroke:{_ink(kind.line)};stroke-width:{kind.width_mm:g};"
            f"stroke-dasharray:{dashes};stroke-linejoin:round}}"
        )
    rules += [f".drawing text.{name}{{{look}}}" for name, look in _WORDS.items()]
    return "".join(rules)


def _ink(name: str | None) -> str:
    return "none" if name is None else f"var(--{name},{INK[name]})"
