"""Writing of a drawing as SVG: numbers, shapes, lines of text that fit, and the inks' style."""

from __future__ import annotations

import re
import unicodedata
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape, quoteattr

import shapely

from playsite.report.ink import INK, SANS, SERIF
from playsite.report.plain_text import one_line

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely.geometry.base import BaseGeometry

__all__ = ["HATCH", "STYLE", "circle", "fitted", "number", "path", "text", "text_em", "wrapped"]

_NARROW = "iljtfrI.,:;'|!()[] "
_WIDE = "mwMW@%…—"
_WORD_GAP = re.compile(r" (?!(?:ft|m|in|sq|m²)\b)")  # a number keeps its unit
_LINES = {
    "page": ("sheet", None, 0.0, ""),
    "pad": ("sheet", "overprint-deep", 0.26, ""),
    "pad-small": ("sheet", "overprint-deep", 0.16, ""),
    "surfacing": ("overprint-wash", "overprint", 0.13, ""),
    "strip": ("sheet", "overprint", 0.07, ".25 .25"),
    "zone": ("url(#use-zone)", "overprint", 0.1, ".42 .26"),
    "alone": ("score-1", None, 0.0, ""),
    "piece": ("sheet", "overprint-deep", 0.17, ""),
    "piece-small": ("sheet", "overprint-deep", 0.1, ""),
    "mark": (None, "overprint-deep", 0.09, ""),
    "to-fro": (None, "overprint-deep", 0.08, ".3 .22"),
    "way-band": ("route-wheel", None, 0.0, ""),
    "way": (None, "route-wheel", 0.17, ""),
    "way-end": ("sheet", "route-wheel", 0.14, ""),
    "gate": (None, "sheet", 0.5, ""),
    "post": (None, "overprint-deep", 0.26, ""),
    "seat": ("ink-2", "sheet", 0.08, ""),
    "sight": (None, "ink-3", 0.09, ".08 .34"),
    "size": (None, "ink", 0.1, ""),
    "rule": (None, "ink", 0.1, ""),
    "hair": (None, "rule", 0.06, ""),
    "dark": ("ink", "ink", 0.08, ""),
    "light": ("sheet", "ink", 0.08, ""),
    "disc": ("sheet", "overprint-deep", 0.1, ""),
}
"""Class of a shape: ink it is filled with, ink and width of its line, dashes."""


def _style() -> str:
    rules = []
    for name, (fill, line, width, dashes) in _LINES.items():
        filled = "none" if fill is None else INK.get(fill, fill)
        drawn = f"stroke:{INK[line]};stroke-width:{width:g}" if line else "stroke:none"
        drawn += f";stroke-dasharray:{dashes}" if dashes else ""
        rules.append(f".{name}{{fill:{filled};{drawn};stroke-linejoin:round}}")
    sans = f"'{SANS}',system-ui,'Noto Sans','Liberation Sans',Arial,sans-serif"
    serif = f"'{SERIF}',Palatino,'Book Antiqua',P052,'Noto Serif',Georgia,serif"
    return "".join(
        [
            *rules,
            ".alone{fill-opacity:.55}.way-band{fill-opacity:.13}.sight{stroke-linecap:round}",
            f"text{{font-family:{sans};font-size:.92px;fill:{INK['ink']};stroke:none}}",
            f".title{{font-family:{serif};font-size:1.6px;font-weight:700}}",
            f".lead{{font-family:{serif};font-size:1px}}",
            ".head{font-weight:700}",
            f".note{{fill:{INK['ink-3']};font-size:.84px}}",
            f".said{{paint-order:stroke;stroke:{INK['sheet']};stroke-width:.3px;stroke-linejoin:round}}",
            ".number{font-weight:700}",
            "@media screen and (max-width:640px){svg{width:100%;height:auto}text{font-size:1.22px}",
            ".lead{font-size:1.25px}.note{font-size:1.14px}.title{font-size:1.9px}}",
        ]
    )


STYLE = _style()
"""Style sheet; on a narrow screen letters are larger, all else keeps its scale."""

HATCH = (
    '<pattern id="use-zone" width=".7" height=".7" patternUnits="userSpaceOnUse" '
    f'patternTransform="rotate(45)"><path d="M0 0V.7" stroke="{INK["score-1"]}" '
    'stroke-width=".14"/></pattern>'
)


def number(value: float) -> str:
    """Coordinate to a millimetre of ground, the same to the byte on every machine.

    Examples
    --------
    >>> number(2.4384), number(-0.0001), number(3.0)
    ('2.438', '0', '3')
    """
    said = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if said == "-0" else said


def path(shape: BaseGeometry, kind: str, *, title: str = "", **more: str) -> str:
    """Lines and areas of a shape; ``more`` are attributes, ``title`` is said when pointed at."""
    drawn = "".join(_drawn(part) for part in shapely.get_parts(shape))
    extra = "".join(f" data-{name}={quoteattr(value)}" for name, value in more.items())
    head = f'<path class="{kind}"{extra} d="{drawn}"'
    return f"{head}><title>{escape(one_line(title))}</title></path>" if title else f"{head}/>"


def _drawn(part: BaseGeometry) -> str:
    if part.geom_type == "Polygon":
        return "".join(_drawn(ring) for ring in (part.exterior, *part.interiors))
    points = shapely.get_coordinates(part)
    closed = part.geom_type == "LinearRing"
    said = "L".join(f"{number(x)} {number(y)}" for x, y in (points[:-1] if closed else points))
    return f"M{said}{'Z' if closed else ''}"


def circle(x: float, y: float, radius: float, kind: str) -> str:
    """A circle."""
    return f'<circle class="{kind}" cx="{number(x)}" cy="{number(y)}" r="{number(radius)}"/>'


def text(
    x: float, y: float, said: str, kind: str = "", *, anchor: str = "start", turned_deg: float = 0
) -> str:
    """One line of text about a point; whatever is in it stays text."""
    place = f'x="{number(x)}" y="{number(y)}"'
    named = f' class="{kind}"' if kind else ""
    turn = (
        f' transform="rotate({number(turned_deg)} {number(x)} {number(y)})"' if turned_deg else ""
    )
    side = "" if anchor == "start" else f' text-anchor="{anchor}"'
    return f"<text {place}{named}{side}{turn}>{escape(one_line(said))}</text>"


def text_em(said: str) -> float:
    """About how wide a text is, in the size of its letters."""
    return sum(map(_em, said))


def _em(character: str) -> float:
    if unicodedata.east_asian_width(character) in "WF" or character in _WIDE:
        return 1.0
    if character in _NARROW:
        return 0.34
    return 0.68 if character.isupper() else 0.56


def fitted(said: str, most_em: float) -> str:
    """Text that is at most so wide, cut with dots where it is longer.

    Examples
    --------
    >>> fitted("swing", 10), fitted("a swing with a very long name", 8)
    ('swing', 'a swing with…')
    """
    line = one_line(said)
    if text_em(line) <= most_em:
        return line
    kept = ""
    for character in line:
        if text_em(kept + character) > most_em - 1:
            break
        kept += character
    return kept.rstrip() + "…"


def wrapped(said: str, most_em: float) -> Sequence[str]:
    """Text in lines that are at most so wide; a word that is wider is cut."""
    lines = [""]
    for word in (fitted(word, most_em) for word in _WORD_GAP.split(one_line(said))):
        longer = f"{lines[-1]} {word}".strip()
        if text_em(longer) <= most_em:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines
