"""A drawing in millimetres set as a picture of the memo."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from matplotlib.collections import LineCollection, PathCollection
from matplotlib.path import Path as Outline

from playsite.report.ink import INK
from playsite.report.memo.blocks import Figure
from playsite.report.memo.inks import drawing, letter, pictures_of
from playsite.report.paper import KINDS

if TYPE_CHECKING:
    from typing import Any

    from matplotlib.axes import Axes

    from playsite.report.paper import Drawing, Mark

__all__ = ["paper_figure"]

_POINTS_A_MM = 72 / 25.4
_WORDS: dict[str, dict[str, Any]] = {
    "": {},
    "bold": {"weight": "bold", "halo": True},
    "note": {"ink": "ink-3", "size": 7.5},
    "height": {"ink": "contour-text", "size": 7.5, "halo": True},
    "of-cut": {"ink": "cut", "weight": "bold", "halo": True},
    "of-fill": {"ink": "fill", "weight": "bold", "halo": True},
    "of-ground": {"ink": "contour-text", "stack": "serif", "style": "italic", "halo": True},
}
_SIDES = {"start": "left", "middle": "center", "end": "right"}


def paper_figure(given: Drawing) -> Figure:
    """Set a drawing at its true size."""
    with drawing(given.width_mm, given.height_mm) as figure:
        axes = figure.add_axes((0, 0, 1, 1))
        axes.set_xlim(0, given.width_mm)
        axes.set_ylim(given.height_mm, 0)
        axes.set_axis_off()
        for order, mark in enumerate(given.marks):
            _set(axes, mark, order)
        drawn = pictures_of(figure)
    return Figure(
        drawn=drawn,
        width_mm=given.width_mm,
        height_mm=given.height_mm,
        alt=given.alt,
        finding=given.finding,
        key=given.key,
    )


def _set(axes: Axes, mark: Mark, order: int) -> None:
    if mark.shape is None:
        look = {"ha": _SIDES[mark.anchor], "zorder": 1000 + order, **_WORDS[mark.words]}
        letter(axes, *mark.at, mark.said, **look)
        return
    kind = KINDS[mark.kind]
    width = kind.width_mm * _POINTS_A_MM
    dashes = tuple(each / kind.width_mm for each in kind.dashes_mm) if kind.dashes_mm else ()
    style: Any = (0, dashes) if dashes else "solid"
    parts = shapely.get_parts(mark.shape)
    areas = [part for part in parts if part.geom_type == "Polygon"]
    lines = [shapely.get_coordinates(part) for part in parts if part.geom_type != "Polygon"]
    if areas:
        axes.add_collection(
            PathCollection(
                [_outline(part) for part in areas],
                facecolors=INK[kind.fill] if kind.fill else "none",
                edgecolors=INK[kind.line] if kind.line else "none",
                linewidths=width if kind.line else 0,
                hatch=kind.hatch or None,
                zorder=order,
            ),
            autolim=False,
        )
    if lines and kind.line:
        axes.add_collection(
            LineCollection(
                lines, colors=INK[kind.line], linewidths=width, linestyles=[style], zorder=order
            ),
            autolim=False,
        )


def _outline(part: Any) -> Outline:
    rings = [shapely.get_coordinates(ring) for ring in (part.exterior, *part.interiors)]
    codes = [
        [Outline.MOVETO, *[Outline.LINETO] * (len(ring) - 2), Outline.CLOSEPOLY] for ring in rings
    ]
    return Outline(np.concatenate(rings), np.concatenate(codes))
