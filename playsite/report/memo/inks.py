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

from playsite.report.memo.blocks import one_line
from playsite.report.wording import points

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matplotlib.axes import Axes
    from matplotlib.text import Text

__all__ = ["INK", "SANS", "SERIF", "drawing", "letter", "png_of", "score_ink"]

SERIF, SANS = "Palatino Linotype", "Segoe UI"
"""Fonts of the memo. No font travels with the file: each machine has these or equals of them."""

INK = {
    "sheet": "#FFFFFF",
    "margin": "#F2F3EE",
    "ink": "#1B2530",
    "ink-2": "#2E3841",
    "ink-3": "#434D56",
    "rule": "#B9BDB6",
    "land": "#F6F6F2",
    "lot": "#D9DAD0",
    "street": "#FFFFFF",
    "street-edge": "#C3C5BB",
    "street-text": "#565D62",
    "building": "#D8D3C7",
    "building-edge": "#B8B1A2",
    "water": "#C6DBE4",
    "water-edge": "#4F7F99",
    "water-text": "#285A75",
    "woods": "#D0DCC4",
    "woods-mark": "#93AB81",
    "park-text": "#3F5C31",
    "contour": "#C2A57E",
    "contour-text": "#7A5A2C",
    "score-1": "#EDCBDC",
    "score-2": "#D38FB3",
    "score-3": "#B2548A",
    "score-4": "#833262",
    "score-5": "#541A3D",
    "overprint": "#833262",
    "overprint-deep": "#541A3D",
    "overprint-wash": "#F6EAF0",
    "out-hatch": "#7E8790",
    "unknown-dot": "#747D86",
    "low-2": "#4C8FAE",
    "low-3": "#17567A",
    "route-walk": "#2F6B3C",
    "route-wheel": "#1D5BA6",
    "route-truck": "#3D3626",
    "route-dash": "#C03F10",
    "caution": "#7A4B00",
    "caution-wash": "#FBF1D9",
    "caution-edge": "#B98721",
}
"""Tokens of the look, those of print where print has its own."""

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
