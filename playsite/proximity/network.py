"""Streets and paths as a network to walk: noded where they meet, not where one passes over another."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
import shapely
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from playsite.proximity.shapes import Shapes, read_shapes

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from playsite.proximity.shapes import ShapesLike

SAME_PLACE_M = 0.001
"""Points of one line this close are one node; no edge is shorter, so none has zero weight."""
LONGEST_EDGE_M = 10.0
"""Longer stretches get nodes in between, so that a link can attach near any place on them."""
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
    """

    edges: NDArray[np.object_]
    start: NDArray[np.intp]
    end: NDArray[np.intp]
    length_m: NDArray[np.float64]
    road: NDArray[np.bool_]
    nodes: int
    blocked: NDArray[np.object_]
    crs: Any


@dataclass(frozen=True)
class _Lines:
    """Simple LineStrings, each with the level it runs at; 0 is the ground."""

    geometry: NDArray[np.object_]
    level: NDArray[np.int64]
    road: NDArray[np.bool_]
    merges: bool
    """Whether lines of one level other than the ground meet where they cross."""

    def may_meet(self, i: NDArray[np.intp], j: NDArray[np.intp]) -> NDArray[np.bool_]:
        same: NDArray[np.bool_] = self.level[i] == self.level[j]
        return same if self.merges else same & (self.level[i] == 0)


@dataclass(frozen=True)
class _Cuts:
    """Places where lines are cut: which line, how far along it, and the point that is put there."""

    line: NDArray[np.intp]
    along_m: NDArray[np.float64]
    point: NDArray[np.intp]


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
    parts = _read_lines(given, bridges, roads)
    at, cuts, joints = _cut(parts, snap_m)
    edges, ends, road = _edges(parts, at, cuts)
    edges = np.r_[edges, shapely.linestrings(at[joints])] if len(joints) else edges
    ends = np.concatenate([ends, joints])
    road = np.r_[road, np.zeros(len(joints), dtype=np.bool_)]
    node = _merge(at, cuts, len(parts.geometry))
    length_m = shapely.length(edges)
    kept = np.flatnonzero(length_m > SAME_PLACE_M)
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
    )


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


def _read_lines(given: Shapes, bridges: Any, roads: Any) -> _Lines:
    """Single simple LineStrings with level and road mark, from whatever lines came in."""
    level, merges = _levels(given, bridges)
    road = _column(given, roads, "roads").fillna(0).astype(bool).to_numpy()
    geometry, row = shapely.get_parts(given.geometry[given.usable], return_index=True)
    row = np.flatnonzero(given.usable)[row]
    polygon = shapely.get_type_id(geometry) == 3
    geometry[polygon] = shapely.get_exterior_ring(geometry[polygon])
    if not np.isin(shapely.get_type_id(geometry), (1, 2)).all():
        raise ValueError("Streets and paths must be lines or polygons; points are neither.")
    geometry = shapely.force_2d(geometry)
    crossed = ~shapely.is_simple(geometry) & ((level[row] == 0) | merges)
    geometry[crossed] = shapely.node(geometry[crossed])
    geometry, piece = shapely.get_parts(geometry, return_index=True)
    row = row[piece]
    long = shapely.length(geometry) > SAME_PLACE_M
    return _Lines(geometry[long], level[row[long]], road[row[long]], merges)


def _column(given: Shapes, values: Any, name: str) -> pd.Series[float]:
    """One number for each line (NaN: missing) of a column of numbers or true and false."""
    if values is None:
        return pd.Series(np.nan, index=given.labels)
    if len(values) != len(given) or (
        isinstance(values, pd.Series) and not values.index.equals(given.labels)
    ):
        raise ValueError(f"`{name}` needs one value for each line, in the order of the lines.")
    try:
        numbers = pd.to_numeric(pd.Series(np.asarray(values, dtype=object), index=given.labels))
    except (TypeError, ValueError) as error:
        raise ValueError(f"`{name}` must be true, false, or a whole number: {error}") from error
    return numbers.astype(float)


def _levels(given: Shapes, bridges: Any) -> tuple[NDArray[np.int64], bool]:
    """Level of each line, and whether levels other than the ground are told apart."""
    levels = _column(given, bridges, "bridges").fillna(0)
    if (levels % 1 != 0).any():
        raise ValueError("`bridges` must be true, false, or a whole number for the level.")
    known = (
        [] if bridges is None else [v for v in np.asarray(bridges, dtype=object) if not pd.isna(v)]
    )
    merges = any(not isinstance(v, bool | np.bool_) for v in known)
    return np.asarray(levels, dtype=np.int64), merges


def _cut(
    lines: _Lines,
    snap_m: float,
) -> tuple[NDArray[np.float64], _Cuts, NDArray[np.intp]]:
    """Where lines are cut, and which points are joined by a connector.

    Points 2i and 2i + 1 are the ends of line i. Returns the place of each point, the cuts, and
    pairs of points to connect.
    """
    n = len(lines.geometry)
    every = np.arange(n)
    length_m = shapely.length(lines.geometry)
    at = [
        shapely.get_coordinates(
            shapely.get_point(np.repeat(lines.geometry, 2), np.tile([0, -1], n))
        )
    ]
    found = [(every, np.zeros(n), 2 * every), (every, length_m, 2 * every + 1)]
    ends = at[0]

    def put(points: NDArray[np.float64]) -> NDArray[np.intp]:
        first = sum(map(len, at))
        at.append(points)
        return np.arange(first, first + len(points))

    tree = shapely.STRtree(lines.geometry)
    i, j, xy = _crossings(lines, tree)
    new, where = put(xy), shapely.points(xy)
    found += [(k, shapely.line_locate_point(lines.geometry[k], where), new) for k in (i, j)]

    end, line, along_m = _touches(lines, tree, ends, snap_m)
    on_line = shapely.get_coordinates(shapely.line_interpolate_point(lines.geometry[line], along_m))
    apart = np.hypot(*(on_line - ends[end]).T) > SAME_PLACE_M
    point = end.copy()
    point[apart] = put(on_line[apart])
    found.append((line, along_m, point))
    joints = [np.column_stack([end[apart], point[apart]]), _gaps(ends, snap_m)]

    found.append(_vertex_joins(lines, ends))
    steps = np.maximum(np.ceil(length_m / LONGEST_EDGE_M).astype(int) - 1, 0)
    line = np.repeat(every, steps)
    along_m = LONGEST_EDGE_M * (
        1.0 + np.arange(len(line)) - np.repeat(steps.cumsum() - steps, steps)
    )
    place = shapely.line_interpolate_point(lines.geometry[line], along_m)
    found.append((line, along_m, put(shapely.get_coordinates(place))))

    cuts = [np.concatenate(column) for column in zip(*found, strict=True)]
    order = np.lexsort((cuts[1], cuts[0]))
    return (
        np.concatenate(at),
        _Cuts(cuts[0][order], cuts[1][order], cuts[2][order]),
        np.concatenate(joints),
    )


def _crossings(
    lines: _Lines,
    tree: shapely.STRtree,
) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.float64]]:
    """Pairs of lines that meet, and where: each point they share, or the ends of a shared stretch."""
    i, j = tree.query(lines.geometry, predicate="intersects")
    pair = (i < j) & lines.may_meet(i, j)
    i, j = i[pair], j[pair]
    shared, whole = shapely.get_parts(
        shapely.intersection(lines.geometry[i], lines.geometry[j]),
        return_index=True,
    )
    flat = shapely.get_type_id(shared) == 0
    stretch, of = shared[~flat], whole[~flat]
    xy = np.concatenate(
        [
            shapely.get_coordinates(shared[flat]),
            shapely.get_coordinates(shapely.get_point(stretch, 0)),
            shapely.get_coordinates(shapely.get_point(stretch, -1)),
        ],
    )
    whole = np.r_[whole[flat], of, of]
    return i[whole], j[whole], xy


def _touches(
    lines: _Lines,
    tree: shapely.STRtree,
    ends: NDArray[np.float64],
    snap_m: float,
) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.float64]]:
    """Find ends within the gap of another line: the end, that line, and how far along it."""
    point = np.asarray(shapely.points(ends), dtype=object)
    end, line = tree.query(point, predicate="dwithin", distance=max(snap_m, SAME_PLACE_M))
    lands = _landings(lines, ends, snap_m)[end] & (lines.level[line] == 0)
    meet = (end // 2 != line) & (lands | lines.may_meet(end // 2, line))
    end, line = end[meet], line[meet]
    along_m = shapely.line_locate_point(lines.geometry[line], point[end])
    return end, line, np.asarray(along_m, dtype=np.float64)


def _landings(lines: _Lines, ends: NDArray[np.float64], snap_m: float) -> NDArray[np.bool_]:
    """Tell which ends of bridges and tunnels are on the ground: those no other one goes on from."""
    raised = np.flatnonzero(np.repeat(lines.level != 0, 2))
    lands = np.zeros(len(ends), dtype=np.bool_)
    if len(raised):
        tree = cKDTree(ends[raised])
        reach_m = max(snap_m, SAME_PLACE_M)
        lands[raised] = tree.query_ball_point(ends[raised], reach_m, return_length=True) == 1
    return lands


def _gaps(ends: NDArray[np.float64], snap_m: float) -> NDArray[np.intp]:
    """Pairs of ends with a gap between them that is to be closed, whatever their levels."""
    if not len(ends):
        return np.empty((0, 2), dtype=np.intp)
    pairs = cKDTree(ends).query_pairs(max(snap_m, SAME_PLACE_M), output_type="ndarray")
    gap_m = np.hypot(*(ends[pairs[:, 0]] - ends[pairs[:, 1]]).T)
    other = pairs[:, 0] // 2 != pairs[:, 1] // 2
    return np.asarray(pairs[other & (gap_m > SAME_PLACE_M)], dtype=np.intp)


def _vertex_joins(
    lines: _Lines,
    ends: NDArray[np.float64],
) -> tuple[NDArray[np.intp], NDArray[np.float64], NDArray[np.intp]]:
    """Cuts where an end lies on a vertex of a line at another level: a footbridge's landing."""
    none = np.empty(0, dtype=np.intp)
    if not lines.level.any():
        return none, np.empty(0), none
    vertex, of = shapely.get_coordinates(lines.geometry, return_index=True)
    near = cKDTree(ends).sparse_distance_matrix(
        cKDTree(vertex), SAME_PLACE_M, output_type="ndarray"
    )
    end, line = near["i"].astype(np.intp), of[near["j"]].astype(np.intp)
    apart = (end // 2 != line) & ~lines.may_meet(end // 2, line)
    end, line, where = end[apart], line[apart], shapely.points(vertex[near["j"][apart]])
    return line, shapely.line_locate_point(lines.geometry[line], where), end


def _edges(
    lines: _Lines,
    at: NDArray[np.float64],
    cuts: _Cuts,
) -> tuple[NDArray[np.object_], NDArray[np.intp], NDArray[np.bool_]]:
    """Stretches between neighbouring cuts of a line, their two points, and the road mark."""
    vertex, line = shapely.get_coordinates(lines.geometry, return_index=True)
    step = np.r_[0.0, np.hypot(*np.diff(vertex, axis=0).T)] if len(vertex) else np.empty(0)
    run = step.cumsum()
    first = np.r_[True, line[1:] != line[:-1]] if len(line) else np.empty(0, dtype=np.bool_)
    along_m = run - run[first][line]
    inner = ~first & ~np.r_[first[1:], True][: len(first)]
    # A cut goes before a vertex at the same place; each stretch then reads from cut to cut.
    xy = np.concatenate([at[cuts.point], vertex[inner]])
    of = np.r_[cuts.line, line[inner]]
    is_cut = np.arange(len(xy)) < len(cuts.line)
    order = np.lexsort((~is_cut, np.r_[cuts.along_m, along_m[inner]], of))
    xy, of, is_cut = xy[order], of[order], is_cut[order]
    number = is_cut.cumsum() - 1  # the cut each row follows
    stops = np.flatnonzero(is_cut)
    goes_on = np.flatnonzero(cuts.line[1:] == cuts.line[:-1])  # cuts that start a stretch
    opens = np.isin(number, goes_on)
    rows = np.r_[np.flatnonzero(opens), stops[goes_on + 1]]
    stretch = np.r_[number[opens], goes_on]
    order = np.lexsort((rows, stretch))
    index = np.searchsorted(goes_on, stretch[order])
    edges = (
        shapely.linestrings(xy[rows[order]], indices=index) if len(index) else np.empty(0, object)
    )
    ends = np.column_stack([cuts.point[goes_on], cuts.point[goes_on + 1]])
    return np.asarray(edges, dtype=object), ends, lines.road[cuts.line[goes_on]]


def _merge(at: NDArray[np.float64], cuts: _Cuts, lines: int) -> NDArray[np.intp]:
    """Node of each point: points are one where they are neighbours on a line, or ends, at one place."""
    close = (np.diff(cuts.line) == 0) & (np.diff(cuts.along_m) <= SAME_PLACE_M)
    pairs = [np.column_stack([cuts.point[:-1][close], cuts.point[1:][close]])]
    if lines:
        pairs.append(cKDTree(at[: 2 * lines]).query_pairs(SAME_PLACE_M, output_type="ndarray"))
    i, j = np.concatenate(pairs).T
    same = coo_array((np.ones(len(i), dtype=np.int8), (i, j)), shape=(len(at), len(at)))
    if not len(at):
        return np.empty(0, dtype=np.intp)
    return np.asarray(connected_components(same, directed=False)[1], dtype=np.intp)
