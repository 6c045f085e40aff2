"""How large a pad of these proportions the land can hold, and where."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from playsite.pads.growth import polish
from playsite.pads.legality import is_legal
from playsite.pads.outline import edge_angles_deg, outline
from playsite.pads.refusal import most_scale, worth_searching
from playsite.pads.roots import at_angles, whole_turn
from playsite.pads.shape import check_sides
from playsite.pads.subdivision import grow

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

__all__ = ["LargestScale", "largest_scale"]

# Shares by which the rest of the search must beat the best: coarse first, for a start to polish.
_GAPS = (0.1, 0.01, 0.001)
# A round boundary is nearly as good at every angle, and its last tenth of a percent is dear.
_MOST_WORK = 6_000_000
_MOST_WORK_A_SEGMENT = 1_500


@dataclass(frozen=True)
class LargestScale:
    """The greatest factor at which a pad fits, and where.

    Parameters
    ----------
    scale
        Factor on both sides: 1 fits just, 1.3 leaves room, below 1 does not fit; 0 where there
        is no land, or none but slivers too thin to search.
    easting, northing, rotation_deg
        Of the pad at that scale; NaN where the scale is 0.
    at_most
        Proven: no pad of these proportions above this factor fits anywhere on the land.
    """

    scale: float
    easting: float
    northing: float
    rotation_deg: float
    at_most: float


def largest_scale(
    land: BaseGeometry, *, length_m: float, width_m: float, gap: float = _GAPS[-1]
) -> LargestScale:
    """Greatest factor at which the pad fits, over all positions and rotations.

    A subdivision of positions and rotations with proven bounds finds a start and, at the end,
    the factor that can't be exceeded; successive linear programs let the pad grow from the start
    until its contacts hold it. Only exact growth is accepted, and the pad returned is one that
    the exact check passes.

    Parameters
    ----------
    land
        What may be built on.
    length_m, width_m
        Sides of the pad at factor 1.
    gap
        By what share the factor may at most be exceeded, before the search stops proving. Ten
        times as wide takes a third of the time.

    Returns
    -------
    LargestScale
        With the proven bound beside it: mostly within 0.1 % of the factor, within some percent
        on round land, where many rotations are nearly as good.

    Raises
    ------
    ValueError
        When the sides make no pad.

    Notes
    -----
    The problem: Agarwal, Amenta, Sharir 1998, "Largest placement of one convex polygon inside
    another" (from memory). Not their algorithm.

    Examples
    --------
    >>> from shapely import box
    >>> round(largest_scale(box(0, 0, 40, 272), length_m=104, width_m=74.5).scale, 4)
    0.5369
    """
    check_sides(length_m, width_m)
    ground = worth_searching(land, length_m=length_m, width_m=width_m, scale=0.0)
    if ground.is_empty:
        return LargestScale(0.0, np.nan, np.nan, np.nan, 0.0)
    shape = outline(ground)
    a, b = length_m / 2, width_m / 2
    best = np.zeros(4)
    most_work = _MOST_WORK + _MOST_WORK_A_SEGMENT * len(shape.segments)
    along_edges = at_angles(shape.segments, edge_angles_deg(shape.segments))
    grow(shape.segments, along_edges, (a, b), best, np.inf, 0.0, _GAPS[0], most_work)
    roots = whole_turn(shape.segments, a, b)
    parts = np.asarray(shapely.get_parts(ground))
    at_most = float(most_scale(parts, length_m=length_m, width_m=width_m).max()) * (1 + 1e-6)
    for narrower in (*(each for each in _GAPS if each > gap), gap):
        known = best[0]
        bound, _ = grow(shape.segments, roots, (a, b), best, np.inf, 0.0, narrower, most_work)
        at_most = min(at_most, float(bound))
        if best[0] > known or narrower == _GAPS[0]:
            polish(shape.segments, best, a, b)
    if best[0] == 0:
        return LargestScale(0.0, np.nan, np.nan, np.nan, at_most)
    x, y = best[1] + shape.origin[0], best[2] + shape.origin[1]
    place = (float(x), float(y), float(np.degrees(best[3]) % 180.0))
    scale = _proven(ground, place, float(best[0]), length_m, width_m)
    return LargestScale(scale, *place, max(at_most, scale))


def _proven(
    land: BaseGeometry,
    place: tuple[float, float, float],
    scale: float,
    length_m: float,
    width_m: float,
) -> float:
    """Take back the rounding of the compiled search until the exact check passes."""
    less = 0.0
    while scale * (1 - less) > 0:
        sides_m = length_m * scale * (1 - less), width_m * scale * (1 - less)
        if is_legal(land, [place], length_m=sides_m[0], width_m=sides_m[1])[0]:
            return scale * (1 - less)
        less = max(1e-9, 10 * less)
    return 0.0
