"""Is something in between: the straight distance to what can be seen from the pad at a child's height."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
import shapely

from playsite.proximity.network import SHAVED_M
from playsite.proximity.shapes import read_shapes

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from playsite.proximity.shapes import ShapesLike

BATCH = 1_000
"""Sight lines tested at once, shortest first."""


def open_clearance_m(
    shapes: ShapesLike,
    features: ShapesLike,
    barriers: ShapesLike,
    *,
    reach_m: float = 120.0,
    step_m: float = 1.0,
) -> pd.Series[float]:
    """Length of the shortest straight line from each shape to a feature that crosses no barrier.

    This is sight, not a run: a child goes round the end of a fence, which this doesn't see. What it
    calls closed off may be reached, so never let it alone clear a hazard; a fence counts in full
    only where :mod:`playsite.proximity.dash` says so too.

    Parameters
    ----------
    shapes, features
        Geometry in projected metres.
    barriers
        Fences and walls as lines, with gaps where gates stand open, and buildings as polygons.
    reach_m
        Features farther than this are not looked at.
    step_m
        Greatest spacing of the points tried along both edges.

    Returns
    -------
    Series
        Metres, by the index of ``shapes``; inf where every part of every feature in reach is behind
        a barrier, or none is in reach or there is none; NaN where the shape is empty.

    Raises
    ------
    ValueError
        The reach or step is no distance, a layer is in degrees, or the layers' systems differ.

    Notes
    -----
    Never less than the true shortest open line past buildings a centimetre smaller. It is exact where the nearest points of shape and
    feature see each other; else at most ``step_m`` more, as long as lines half a step to either side
    of the best one are open as well. Openings narrower than a step may be missed altogether.

    Examples
    --------
    >>> from shapely import LineString, Point, box
    >>> fence = LineString([(-50, 5), (0, 5)])
    >>> open_clearance_m([box(-9, -9, -1, 0)], [Point(-5, 10)], [fence]).tolist()
    [inf]
    """
    if not (np.isfinite(reach_m) and reach_m >= 0 and np.isfinite(step_m) and step_m > 0):
        raise ValueError(f"Reach and step must be distances in metres: {reach_m}, {step_m}")
    pads = read_shapes(shapes)
    there = read_shapes(features, crs=pads.crs)
    walls = read_shapes(barriers, crs=pads.crs)
    hazards = shapely.STRtree(there.geometry[there.usable])
    in_between = shapely.STRtree(_shaved(walls.geometry[walls.usable]))
    distance_m = np.full(len(pads), np.nan)
    for row in np.flatnonzero(pads.usable):
        pad = pads.geometry[row]
        near = hazards.query(pad, predicate="dwithin", distance=reach_m)
        distance_m[row] = _open_m(pad, hazards.geometries[near], in_between, reach_m, step_m)
    return pd.Series(distance_m, index=pads.labels, name="open_clearance_m")


def _shaved(barriers: NDArray[np.object_]) -> NDArray[np.object_]:
    """Take a centimetre off polygons, so that a line may start at a wall."""
    flat = np.isin(shapely.get_type_id(barriers), (3, 6))
    out = barriers.copy()
    out[flat] = shapely.buffer(shapely.make_valid(barriers[flat]), -SHAVED_M, join_style="mitre")
    return out


def _open_m(
    pad: Any,
    hazards: NDArray[np.object_],
    barriers: shapely.STRtree,
    reach_m: float,
    step_m: float,
) -> float:
    """Length of the shortest open line between one pad and some features."""
    if not len(hazards):
        return np.inf
    if np.any(shapely.intersects(pad, hazards)):
        return 0.0
    near = barriers.query(pad, predicate="dwithin", distance=reach_m)
    between = shapely.difference(shapely.union_all(barriers.geometries[near]), pad)
    shapely.prepare(between)
    lines = np.r_[shapely.shortest_line(pad, hazards), _sight_lines(pad, hazards, reach_m, step_m)]
    length_m = np.asarray(shapely.length(lines), dtype=np.float64)
    order = np.argsort(length_m, kind="stable")
    order = order[length_m[order] <= reach_m]
    for first in range(0, len(order), BATCH):
        batch = order[first : first + BATCH]
        seen = ~shapely.intersects(between, lines[batch])
        if seen.any():
            return float(length_m[batch[seen.argmax()]])
    return np.inf


def _sight_lines(
    pad: Any,
    hazards: NDArray[np.object_],
    reach_m: float,
    step_m: float,
) -> NDArray[np.object_]:
    """Lines to try: between points along both edges, and from each point square to the other edge."""
    in_reach = shapely.intersection(hazards, shapely.buffer(pad, reach_m + step_m))
    there = shapely.union_all(in_reach[~shapely.is_empty(in_reach)])
    p, q = (
        np.unique(shapely.get_coordinates(shapely.segmentize(g, step_m)), axis=0)
        for g in (pad, there)
    )
    square = np.r_[
        shapely.shortest_line(shapely.points(p), there),
        shapely.shortest_line(pad, shapely.points(q)),
    ]
    i, j = np.nonzero(np.hypot(*(p[:, None] - q[None]).transpose(2, 0, 1)) <= reach_m)
    across = shapely.linestrings(np.stack([p[i], q[j]], axis=1))
    return np.asarray(np.r_[square, across], dtype=object)
