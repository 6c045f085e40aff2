"""Inks, letters and line widths of drawings on paper; the same names as on the screen."""

from __future__ import annotations

import io
import re
import warnings
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import matplotlib as mpl
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure as Drawing
from matplotlib.font_manager import FontProperties
from matplotlib.patheffects import withStroke

from playsite.report.ink import INK
from playsite.report.memo.blocks import Drawn
from playsite.report.memo.fonts import MARKS, PDF_SANS, PDF_SERIF, known_to_drawings
from playsite.report.plain_text import one_line
from playsite.report.wording import points

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matplotlib.axes import Axes
    from matplotlib.text import Text

__all__ = ["drawing", "letter", "pictures_of", "score_ink"]

_BREAKS = ((75, "score-5"), (62, "score-4"), (50, "score-3"), (35, "score-2"), (0, "score-1"))
_FAMILIES = {"serif": PDF_SERIF, "sans": PDF_SANS}
_DPI = 220
_OUTLINE = re.compile(rb' d="[^"]*"')
_LONG_NUMBER = re.compile(rb"(\.\d\d)\d+")
_SVG_SAYS = ("Date", "Creator", "Format", "Type")


def score_ink(score: float) -> str:
    """One of five steps, light is low; the breaks nest in the words."""
    whole = points(score) or 0
    return next(INK[name] for least, name in _BREAKS if whole >= least)


@contextmanager
def drawing(width_mm: float, height_mm: float) -> Iterator[Drawing]:
    """Figure of that size on paper, without the state that pyplot keeps."""
    known_to_drawings()
    with mpl.rc_context({"hatch.linewidth": 0.5}), warnings.catch_warnings():
        # a name in letters that no font here has is drawn as boxes; the tables have it in full
        warnings.filterwarnings("ignore", message="Glyph .* missing from")
        figure = Drawing(figsize=(width_mm / 25.4, height_mm / 25.4), dpi=_DPI)
        FigureCanvasAgg(figure)
        yield figure


def pictures_of(figure: Drawing) -> Drawn:
    """One drawing as dots and as lines, of exactly its size: trimming would spoil the scale.

    Letters are drawn as shapes: no font needs to be where the picture is looked at.
    """
    png, svg = io.BytesIO(), io.BytesIO()
    figure.savefig(
        png,
        format="png",
        dpi=_DPI,
        metadata={"Software": None},
        facecolor=INK["sheet"],
        pil_kwargs={"compress_level": 4},
    )
    with mpl.rc_context({"svg.hashsalt": "memo", "svg.fonttype": "path"}):
        figure.savefig(svg, format="svg", metadata=dict.fromkeys(_SVG_SAYS), facecolor=INK["sheet"])
    # a hundredth of a point is nothing to an eye; the scales of letters stay as they are
    drawn = _OUTLINE.sub(lambda found: _LONG_NUMBER.sub(rb"\1", found[0]), svg.getvalue())
    return Drawn(png.getvalue(), drawn)


def letter(
    axes: Axes,
    x: float,
    y: float,
    text: str,
    *,
    size: float = 8,
    ink: str = "ink",
    stack: str = "sans",
    halo: bool = False,
    **options: Any,
) -> Text:
    """Set one line of text; a dollar sign in a name is a dollar sign."""
    font = FontProperties(
        family=[_FAMILIES[stack], MARKS],
        size=size,
        weight=options.pop("weight", "normal"),
        style=options.pop("style", "normal"),
    )
    options = {"ha": "left", "va": "center"} | options
    made = axes.text(
        x, y, one_line(text), fontproperties=font, color=INK[ink], parse_math=False, **options
    )
    if halo:
        made.set_path_effects([withStroke(linewidth=2.2, foreground=INK["sheet"])])
    return made
