"""What is shown of ways before any is searched: free ground that leads there, and least lengths."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from playsite.routes.accessible_way import RAMP_SLOPE
from playsite.terrain.along import heights_at

if TYPE_CHECKING:
    from affine import Affine
    from numpy.typing import NDArray

    Shapes = NDArray[np.object_]
    Flags = NDArray[np.bool_]

__all__ = ["free_ground", "least_way_m"]

_EVERY_M = 2.0


def free_ground(
    pads: Shapes, ends: Shapes, solid: Shapes, *, clear_m: float, reach_m: float
) -> tuple[Flags, Flags]:
    """Tell of each pad whether a strip of free ground leads to an end, and whether it goes on.

    Exact: all that stands is widened by half the width of the strip, and what touches one piece of
    the ground that is left hangs together. Looked at once for all pads of a place.

    Parameters
    ----------
    pads, ends, solid
        Shapes, projected metres; ``solid`` is what no strip may cross.
    clear_m
        Width of the strip.
    reach_m
        How far round the pads the ground is looked at.

    Returns
    -------
    leads : ndarray
        (n,) whether it leads to an end within the reach.
    goes_on : ndarray
        (n,) whether the free ground leaves the reach: what lies beyond is not looked at. Where it
        neither leads to an end nor goes on, the pad is closed off.

    Examples
    --------
    A wall all round with a gap of 90 cm, for strips of 80 and of 100 cm:

    >>> from shapely import box, LineString
    >>> wall = LineString([(0.9, 0), (20, 0), (20, 20), (0, 20), (0, 0)])
    >>> given = np.array([box(5, 5, 9, 9)]), np.array([box(0, -40, 20, -30)]), np.array([wall])
    >>> [[bool(each[0]) for each in free_ground(*given, clear_m=clear_m, reach_m=60)]
    ...  for clear_m in (0.8, 1.0)]
    [[True, True], [False, False]]
    """
    leads = np.zeros(len(pads), dtype=bool)
    goes_on = np.zeros(len(pads), dtype=bool)
    around = shapely.buffer(shapely.box(*shapely.total_bounds(pads)), reach_m, quad_segs=1)
    stands = solid[shapely.intersects(solid, around)] if len(solid) else solid
    grown = shapely.union_all(shapely.buffer(stands, clear_m / 2, quad_segs=2))
    free = shapely.get_parts(shapely.difference(around, grown))
    if not len(free):
        return leads, goes_on
    tree = shapely.STRtree(free)
    near = ends[shapely.intersects(ends, around)] if len(ends) else ends
    is_end = np.zeros(len(free), dtype=bool)
    # An end may stand against a wall: the strip reaches it from beside.
    is_end[tree.query(near, predicate="dwithin", distance=clear_m)[1]] = True
    is_edge = shapely.intersects(free, shapely.boundary(around))
    pad, part = tree.query(pads, predicate="intersects")
    leads[pad[is_end[part]]] = True
    goes_on[pad[is_edge[part]]] = True
    return leads, goes_on


def least_way_m(
    pad: shapely.Geometry,
    ends: Shapes,
    elevation: NDArray[np.floating],
    transform: Affine,
    *,
    off_m: float,
) -> float:
    """Length that no way with ramps from a pad to one of some ends can be shorter than.

    The straight line, or the rise at 1:12 without any landing, whatever leads round.

    Parameters
    ----------
    pad, ends
        Shapes, projected metres.
    elevation, transform
        Heights, m, NaN where nothing is known: there the straight line alone counts.
    off_m
        Rise that cuts and fills take up at most, both ends together.

    Examples
    --------
    >>> from affine import Affine
    >>> from shapely import box
    >>> hill = np.repeat(0.5 * (99.5 - np.arange(100))[:, None], 100, axis=1)
    >>> given = np.array([box(5, 60, 95, 62)]), hill, Affine(1, 0, 0, 0, -1, 100)
    >>> [round(least_way_m(box(40, 20, 60, 40), *given, off_m=m)) for m in (0.0, 9.0)]
    [120, 19]
    """
    edges = shapely.segmentize(shapely.boundary(ends), _EVERY_M)
    lines = shapely.get_dimensions(ends) < 2
    edges[lines] = shapely.segmentize(ends[lines], _EVERY_M)
    xy = shapely.get_coordinates(edges)
    own = shapely.get_coordinates(shapely.segmentize(shapely.boundary(pad), _EVERY_M))
    there_m, here_m = (heights_at(elevation, transform, each) for each in (xy, own))
    straight_m = shapely.distance(pad, shapely.points(xy)) - _EVERY_M / 2
    if np.isnan(here_m).any():
        return float(straight_m.min(initial=np.inf))
    rise_m = np.fmax(here_m.min() - there_m, there_m - here_m.max()) - off_m
    climb_m = np.nan_to_num(rise_m / RAMP_SLOPE)
    return float(np.maximum(straight_m, climb_m).min(initial=np.inf))
