"""From all legal places to a bounded set: well spread, least grade first."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from playsite.pads.pad_rectangles import Rectangles
from playsite.pads.rectangles import rectangles_of
from playsite.pads.search import spread
from playsite.study.shapes import Placing, outlines
from playsite.terrain.grade import pad_grade

if TYPE_CHECKING:
    from collections.abc import Iterator

    import numpy.typing as npt

    from playsite.program.pad_shapes import PadShape
    from playsite.site import Site

__all__ = ["KEEP", "bounded", "kept"]

KEEP = 64
"""Places of a parcel on which the quick criteria are measured: well spread, least grade first."""

_CELLS_OF_A_PLACE = 800  # every cell at 1 m; at finer cells as many, those kept are measured on all
_AT_ONCE = 500_000


def kept(
    shape: PadShape, blocks: Iterator[npt.NDArray[np.float64]], site: Site, keep: int
) -> Placing:
    """Bound all legal places of a rectangle, block by block: every one is looked at, few are held."""
    held = np.empty((0, 3))
    waiting: list[npt.NDArray[np.float64]] = []
    for block in blocks:
        waiting.append(block)
        if sum(len(each) for each in waiting) > _AT_ONCE:
            held = _fewer(shape, np.concatenate([held, *waiting]), site, 8 * keep)
            waiting = []
    held = _fewer(shape, np.concatenate([held, *waiting]), site, keep)
    return Placing(held, outlines(shape, held))


def bounded(placing: Placing, site: Site, keep: int) -> Placing:
    """Bound places of a shape of several parts; the worst part speaks for a place."""
    some = placing.only(spread(placing.places, 8 * keep))
    cut = [rectangles_of(outline) for outline in some.outlines]
    if not cut:
        return some
    rows = np.concatenate(cut)
    pad = np.repeat(np.arange(len(cut)), [len(each) for each in cut])
    rectangles = Rectangles(pad, rows[:, :3], rows[:, 3:])
    quality = _quality(rectangles, site)
    return some.only(_chosen(some.places, quality[rectangles.worst(quality)], keep))


def _fewer(
    shape: PadShape, places: npt.NDArray[np.float64], site: Site, keep: int
) -> npt.NDArray[np.float64]:
    sides_m = np.broadcast_to(np.array(shape.sides_m), (len(places), 2))
    rectangles = Rectangles(np.arange(len(places)), places, sides_m)
    return places[_chosen(places, _quality(rectangles, site), keep)]


def _quality(rectangles: Rectangles, site: Site) -> npt.NDArray[np.float64]:
    """Grade of each rectangle, less is better; nothing to choose by without an elevation."""
    quality = np.zeros(len(rectangles.pad))
    if site.ground is None:
        return quality
    for rows, length_m, width_m in rectangles.by_size():
        plane = pad_grade(
            site.ground.elevation,
            site.ground.transform,
            rectangles.places[rows],
            length_m=length_m,
            width_m=width_m,
            most_cells=_CELLS_OF_A_PLACE,
        )
        # Uneven ground counts as if it sloped by its departure over half the pad's width.
        quality[rows] = plane.grade_pct + 200 * plane.residual_rms_m / width_m
    return quality


def _chosen(
    places: npt.NDArray[np.float64], quality: npt.NDArray[np.float64], keep: int
) -> npt.NDArray[np.intp]:
    chosen = spread(places, keep, quality=quality)
    if np.isfinite(quality).any():
        # The least grade of all is never lost to the spreading.
        chosen = np.unique(np.append(chosen, np.nanargmin(quality)))
    return chosen
