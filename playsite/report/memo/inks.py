"""Inks, letters and line widths of drawings on paper; the same names as on the screen."""

from __future__ import annotations

import io
import warnings
from contextlib import contextmanager
from functools import cache
from typing import TYPE_CHECKING, Any

import matplotlib as mpl
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure as Drawing
from matplotlib.font_manager import FontProperties, fontManager
from matplotlib.patheffects import withStroke

from playsite.report.ink import INK, SANS, SERIF
from playsite.report.plain_text import one_line
from playsite.report.wording import points

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matplotlib.axes import Axes
    from matplotlib.text import Text

__all__ = ["drawing", "letter", "png_of", "score_ink"]

_BREAKS = ((75, "score-5"), (62, "score-4"), (50, "score-3"), (35, "score-2"), (0, "score-1"))
_STACKS = {
    "serif": (SERIF, "Palatino", "Book Antiqua", "P052", "TeX Gyre Pagella", "Noto Serif"),
    "sans": (SANS, "Helvetica Neue", "Noto Sans", "Liberation Sans", "Arial"),
}
_FALLBACK = {"serif": "DejaVu Serif", "sans": "DejaVu Sans"}  # these come with matplotlib
_DPI = 220


def score_ink(score: float) -> str:
    """One of five steps, light is low; the breaks nest in the words."""
    whole = points(score) or 0
    return next(INK[name] for least, name in _BREAKS if whole >= least)


@cache
def _family(stack: str) -> str:
    there = {font.name for font in fontManager.ttflist}
    return next((name for name in _STACKS[stack] if name in there), _FALLBACK[stack])


@contextmanager
def drawing(width_mm: float, height_mm: float) -> Iterator[Drawing]:
    """Figure of that size on paper, without the state that pyplot keeps."""
    with mpl.rc_context({"hatch.linewidth": 0.5}), warnings.catch_warnings():
        # a name in letters that no font here has is drawn as boxes; the tables have it in full
        warnings.filterwarnings("ignore", message="Glyph .* missing from")
        figure = Drawing(figsize=(width_mm / 25.4, height_mm / 25.4), dpi=_DPI)
        FigureCanvasAgg(figure)
        yield figure


def png_of(figure: Drawing) -> bytes:
    """Picture of exactly the figure's size: trimming would spoil the scale."""
    target = io.BytesIO()
    figure.savefig(
        target, format="png", dpi=_DPI, facecolor=INK["sheet"], metadata={"Software": None}
    )
    return target.getvalue()


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
        family=[_family(stack), _FALLBACK["sans"]],
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
