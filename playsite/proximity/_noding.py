"""Where streets and paths are cut: where they meet, and often enough to attach links to."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from playsite.proximity._walk_lines import SAME_PLACE_M

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from playsite.proximity._walk_lines import Lines

__all__ = ["LONGEST_EDGE_M", "Cuts", "cut", "merge", "stretches"]

LONGEST_EDGE_M = 10.0
"""Longer stretches get nodes in between, so that a link can attach near any place on them."""


@dataclass(frozen=True)
class Cuts:
    """Places where lines are cut: which line, how far along it, and the point that is put there."""

    line: NDArray[np.intp]
    along_m: NDArray[np.float64]
    point: NDArray[np.intp]


def cut(
    lines: Lines,
    snap_m: float,
) -> tuple[NDArray[np.float64], Cuts, NDArray[np.intp]]:
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
        Cuts(cuts[0][order], cuts[1][order], cuts[2][order]),
        np.concatenate(joints),
    )


def _crossings(
    lines: Lines,
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
    lines: Lines,
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


def _landings(lines: Lines, ends: NDArray[np.float64], snap_m: float) -> NDArray[np.bool_]:
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
    lines: Lines,
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


def stretches(
    lines: Lines,
    at: NDArray[np.float64],
    cuts: Cuts,
) -> tuple[NDArray[np.object_], NDArray[np.intp], NDArray[np.intp]]:
    """Stretches between neighbouring cuts of a line, their two points, and that line."""
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
    return np.asarray(edges, dtype=object), ends, cuts.line[goes_on]


def merge(at: NDArray[np.float64], cuts: Cuts, lines: int) -> NDArray[np.intp]:
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
