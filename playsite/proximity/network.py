"""Streets and paths as a network to walk: noded where they meet, not where one passes over another."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from playsite.proximity._noding import cut, merge, stretches
from playsite.proximity._walk_lines import SAME_PLACE_M, read_lines
from playsite.proximity.shapes import read_shapes

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd
    from numpy.typing import NDArray

    from playsite.proximity.shapes import ShapesLike

SHAVED_M = 0.01
"""Blocked shapes lose this much all round, so that a link may start at a wall or run along it."""


@dataclass(frozen=True, eq=False)
class WalkNetwork:
    """Nodes, and the stretches of street and path between them.

    Attributes
    ----------
    edges
        LineStrings, no longer than 10 m, in an order that doesn't depend on that of the lines.
    start, end
        Node at each end of each edge.
    length_m
        Length of each edge.
    road
        True where the edge is of a line marked as a road.
    nodes
        Number of nodes.
    blocked
        Polygons no link may cross, a centimetre smaller all round than given.
    crs
        CRS of the lines, where known.
    line
        Row of the given lines that each edge is of; -1 for a connector over a gap.
    side
        1 where an edge is the left side of a busy street, -1 the right side, 0 both.
    joins_busy
        For each edge that is no busy street, whether its first and its last point are on one.
    joints, joint_m, joint_marked
        Pairs of nodes at one place on the two sides of a busy street, what a crossing there counts
        for, and whether a crossing is mapped there.
    walls
        Lines no link may cross: rails, and streets that nobody walks along.
    """

    edges: NDArray[np.object_]
    start: NDArray[np.intp]
    end: NDArray[np.intp]
    length_m: NDArray[np.float64]
    road: NDArray[np.bool_]
    nodes: int
    blocked: NDArray[np.object_]
    crs: Any
    line: NDArray[np.intp]
    side: NDArray[np.int8]
    joins_busy: NDArray[np.bool_]
    joints: NDArray[np.intp] = field(default_factory=lambda: np.empty((0, 2), dtype=np.intp))
    joint_m: NDArray[np.float64] = field(default_factory=lambda: np.empty(0))
    joint_marked: NDArray[np.bool_] = field(default_factory=lambda: np.empty(0, dtype=np.bool_))
    walls: NDArray[np.object_] = field(default_factory=lambda: np.empty(0, dtype=object))


def walk_network(
    lines: ShapesLike,
    *,
    bridges: Sequence[Any] | NDArray[Any] | pd.Series[Any] | None = None,
    roads: Sequence[Any] | NDArray[Any] | pd.Series[Any] | None = None,
    blocked: ShapesLike | None = None,
    snap_m: float = 0.5,
) -> WalkNetwork:
    """Join streets and paths into a network to walk along.

    Lines join where they cross or touch. A bridge or tunnel passes over or under: it joins lines on
    the ground only where it lands (an end no other bridge or tunnel goes on from) and, whatever their
    levels, lines that share its end, or a vertex that is an end of one of the two. Ends up to
    ``snap_m`` short of another line or end are joined by a connector of that length, so no length
    is lost and a gap in digitising doesn't cut a street.

    Parameters
    ----------
    lines
        LineStrings, MultiLineStrings, or polygons (a path drawn as an area: its outer ring is
        walked, which overstates a way across it). Projected metres. Empty rows are left out.
    bridges
        For each line, whether it is a bridge or tunnel; or a whole number for the level it runs at
        (0 ground): then lines of one level join, also above or below the ground. Missing: ground.
    roads
        For each line, whether it is a road that may be crossed only where the network does: no
        straight link over open ground crosses it. Missing: no road.
    blocked
        Polygons of water and buildings that links may not cross. They don't cut the lines: a mapped
        path over water is taken for a way across it.
    snap_m
        Longest gap that is closed.

    Returns
    -------
    WalkNetwork
        Without an edge where there is no line.

    Raises
    ------
    ValueError
        A line is a point or a collection, a blocked shape is no polygon, a column doesn't have one
        value for each line, a layer is in degrees, or the layers' systems differ.

    Examples
    --------
    >>> from shapely import LineString
    >>> cross = [LineString([(0, 0), (8, 0)]), LineString([(4, -4), (4, 4)])]
    >>> walk_network(cross).nodes, walk_network(cross, bridges=[False, True]).nodes
    (5, 4)
    """
    if not (np.isfinite(snap_m) and snap_m >= 0):
        raise ValueError(f"The gap to close must be a distance in metres, 0 or more: {snap_m}")
    given = read_shapes(lines)
    parts = read_lines(given, bridges, roads)
    at, cuts, joints = cut(parts, snap_m)
    edges, ends, of = stretches(parts, at, cuts)
    edges = np.r_[edges, shapely.linestrings(at[joints])] if len(joints) else edges
    ends = np.concatenate([ends, joints])
    road = np.r_[parts.road[of], np.zeros(len(joints), dtype=np.bool_)]
    line = np.r_[parts.row[of], np.full(len(joints), -1, dtype=np.intp)]
    node = merge(at, cuts, len(parts.geometry))
    length_m = shapely.length(edges)
    kept = np.flatnonzero((length_m > SAME_PLACE_M) & ~_twins(node[ends], line))
    order = kept[np.lexsort((length_m[kept], *shapely.bounds(edges[kept]).reshape(-1, 4).T))]
    return WalkNetwork(
        edges=edges[order],
        start=node[ends[order, 0]],
        end=node[ends[order, 1]],
        length_m=length_m[order],
        road=road[order],
        nodes=int(node.max(initial=-1)) + 1,
        blocked=read_blocked(blocked, crs=given.crs),
        crs=given.crs,
        line=line[order],
        side=np.zeros(len(order), dtype=np.int8),
        joins_busy=np.zeros((len(order), 2), dtype=np.bool_),
    )


def _twins(ends: NDArray[np.intp], line: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Tell which connectors join what another one joins: a gap is found from both its ends."""
    gap = np.flatnonzero(line < 0)
    once = np.unique(np.sort(ends[gap], axis=1), axis=0, return_index=True)[1]
    twins = line < 0
    twins[gap[once]] = False
    return np.asarray(twins, dtype=np.bool_)


def read_blocked(blocked: ShapesLike | None, *, crs: Any) -> NDArray[np.object_]:
    """Polygons no link may cross, shaved by a centimetre so that a link may touch their edge.

    Parameters
    ----------
    blocked
        Polygons in projected metres, or None.
    crs
        CRS they must share, where they know their own.

    Returns
    -------
    ndarray
        What is left of them.

    Raises
    ------
    ValueError
        One is not a polygon.
    """
    if blocked is None:
        return np.empty(0, dtype=object)
    given = read_shapes(blocked, crs=crs)
    polygons = given.geometry[given.usable]
    if not np.isin(shapely.get_type_id(polygons), (3, 6)).all():
        raise ValueError("What blocks a link must be polygons: buffer a line to its width first.")
    shaved = shapely.buffer(shapely.make_valid(polygons), -SHAVED_M, join_style="mitre")
    return np.asarray(shaved[~shapely.is_empty(shaved)], dtype=object)
