"""The compiled search behind the clearances: nearest of many line segments, by a tree of boxes."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
import shapely
from numba import njit

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array: TypeAlias = NDArray[np.float64]
    Places: TypeAlias = NDArray[np.intp]

FAN = 8
"""Boxes below each box of the tree."""
TIE_M = 1e-8
"""Distances closer than this are equal: far below any map's accuracy, above the rounding."""


def segments(shapes: NDArray[np.object_], origin: Array) -> tuple[Array, Places]:
    """Edges of shapes, a point as an edge of no length, and the shape each belongs to.

    Parameters
    ----------
    shapes
        Any geometry.
    origin
        Taken off the coordinates.

    Returns
    -------
    edges, owner
        x, y of both ends, one edge a row, in the order of the shapes; position of its shape.
    """
    parts, owner = runs(shapes)
    xy, part = shapely.get_coordinates(parts, return_index=True)
    xy = xy - origin
    k = np.flatnonzero(part[1:] == part[:-1])
    alone = np.flatnonzero((shapely.get_type_id(parts) == 0)[part])
    edges = np.r_[np.column_stack([xy[k], xy[k + 1]]), np.column_stack([xy[alone], xy[alone]])]
    of = owner[part[np.r_[k, alone]]]
    order = np.argsort(of, kind="stable")
    return np.ascontiguousarray(edges[order]), of[order]


def runs(shapes: NDArray[np.object_]) -> tuple[NDArray[np.object_], Places]:
    """Points, lines and rings that shapes are made of, and the shape each belongs to.

    Parameters
    ----------
    shapes
        Any geometry.

    Returns
    -------
    parts, owner
        Geometry whose coordinates are one run each (a polygon without a hole is one); the position
        of its shape.
    """
    kind = shapely.get_type_id(shapes)
    whole = (kind < 3) | ((kind == 3) & (shapely.get_num_interior_rings(shapes) == 0))
    rest = np.flatnonzero(~whole)
    parts, of = shapely.get_parts(shapes[rest], return_index=True)
    flat = shapely.get_type_id(parts) == 3
    rings, ring_of = shapely.get_rings(parts[flat], return_index=True)
    owner = np.r_[np.flatnonzero(whole), rest[of[~flat]], rest[of[flat][ring_of]]]
    return np.r_[shapes[whole], parts[~flat], rings], owner


def packed(places: Array) -> Places:
    """Order of places that keeps neighbours together.

    Strips of equal numbers from west to east, each from south to north, in whole boxes.
    """
    eastward = np.argsort(places[:, 0])
    strip = np.arange(len(places)) // (FAN * math.ceil(math.sqrt(len(places) / FAN)))
    y = places[eastward, 1]
    low, high = y.min(initial=np.inf), y.max(initial=-np.inf)
    return np.asarray(eastward[np.argsort(strip + (y - low) / (2 * (high - low) or 1.0))])


def box_tree(edges: Array) -> tuple[Places, Array, Places]:
    """Pack edges into a tree of boxes, neighbours together.

    Parameters
    ----------
    edges
        x, y of both ends, one edge a row; at least one.

    Returns
    -------
    order, boxes, first
        Order to bring the edges into; boxes (x, y of both corners) of all levels, lowest first; place
        of the first box of each level, and the number of boxes.
    """
    order = packed((edges[:, :2] + edges[:, 2:]) / 2)
    low, high = (f(edges[order, :2], edges[order, 2:]) for f in (np.minimum, np.maximum))
    levels = []
    while True:
        starts = np.arange(0, len(low), FAN)
        low, high = np.minimum.reduceat(low, starts), np.maximum.reduceat(high, starts)
        levels.append(np.column_stack([low, high]))
        if len(low) == 1:
            break
    return order, np.concatenate(levels), np.cumsum([0, *map(len, levels)])


@njit(cache=True, nogil=True)
def _point_gap(x: float, y: float, b: Array, k: int) -> float:
    """Square of the distance from a point to edge ``k``."""
    dx, dy = b[k, 2] - b[k, 0], b[k, 3] - b[k, 1]
    ex, ey = x - b[k, 0], y - b[k, 1]
    size = dx * dx + dy * dy
    along = ex * dx + ey * dy
    if along >= size > 0.0:
        ex, ey = x - b[k, 2], y - b[k, 3]
    elif along > 0.0:
        across = ex * dy - ey * dx
        return across * across / size
    return ex * ex + ey * ey


@njit(cache=True, nogil=True)
def _edge_gap(a: Array, i: int, b: Array, k: int) -> float:
    """Square of the distance between edge ``i`` of one kind and edge ``k`` of another."""
    ax, ay, bx, by = a[i, 2] - a[i, 0], a[i, 3] - a[i, 1], b[k, 2] - b[k, 0], b[k, 3] - b[k, 1]
    p = ax * (b[k, 1] - a[i, 1]) - ay * (b[k, 0] - a[i, 0])
    q = ax * (b[k, 3] - a[i, 1]) - ay * (b[k, 2] - a[i, 0])
    if p * q < 0.0:
        r = bx * (a[i, 1] - b[k, 1]) - by * (a[i, 0] - b[k, 0])
        s = bx * (a[i, 3] - b[k, 1]) - by * (a[i, 2] - b[k, 0])
        if r * s < 0.0:
            return 0.0
    return min(
        _point_gap(a[i, 0], a[i, 1], b, k),
        _point_gap(a[i, 2], a[i, 3], b, k),
        _point_gap(b[k, 0], b[k, 1], a, i),
        _point_gap(b[k, 2], b[k, 3], a, i),
    )


@njit(cache=True, nogil=True)
def _box_gap(x0: float, y0: float, x1: float, y1: float, b: Array, k: int) -> float:
    """Square of the distance from a box to box ``k``."""
    dx = max(0.0, b[k, 0] - x1, x0 - b[k, 2])
    dy = max(0.0, b[k, 1] - y1, y0 - b[k, 3])
    return dx * dx + dy * dy


@njit(cache=True, nogil=True)
def _run_gap(a: Array, b: Array, k: int, limit: float) -> float:
    """Square of the distance from some edges to edge ``k`` of others, where below a limit."""
    x0, x1 = min(b[k, 0], b[k, 2]), max(b[k, 0], b[k, 2])
    y0, y1 = min(b[k, 1], b[k, 3]), max(b[k, 1], b[k, 3])
    gap = np.inf
    for i in range(len(a)):
        dx = max(0.0, min(a[i, 0], a[i, 2]) - x1, x0 - max(a[i, 0], a[i, 2]))
        dy = max(0.0, min(a[i, 1], a[i, 3]) - y1, y0 - max(a[i, 1], a[i, 3]))
        if dx * dx + dy * dy <= min(gap, limit):
            gap = min(gap, _edge_gap(a, i, b, k))
    return gap


@njit(cache=True, nogil=True)
def _open_box(
    box: tuple[float, float, float, float],
    boxes: Array,
    low: int,
    high: int,
    limit: float,
    stack: Places,
    gaps: Array,
    depth: int,
) -> int:
    """Put the boxes below one on the stack, the nearest on top; give the new depth."""
    base = depth
    for k in range(low, high):
        gap = _box_gap(box[0], box[1], box[2], box[3], boxes, k)
        if gap > limit:
            continue
        j = depth
        while j > base and gaps[j - 1] < gap:
            gaps[j], stack[j] = gaps[j - 1], stack[j - 1]
            j -= 1
        gaps[j], stack[j] = gap, k
        depth += 1
    return depth


@njit(cache=True, nogil=True)
def _box_of(edges: Array) -> tuple[float, float, float, float]:
    """Box round some edges."""
    x0, y0, x1, y1 = np.inf, np.inf, -np.inf, -np.inf
    for k in range(len(edges)):
        x0, x1 = min(x0, edges[k, 0], edges[k, 2]), max(x1, edges[k, 0], edges[k, 2])
        y0, y1 = min(y0, edges[k, 1], edges[k, 3]), max(y1, edges[k, 1], edges[k, 3])
    return x0, y0, x1, y1


@njit(cache=True, nogil=True)
def _is_inside(edge: Array, area: Array) -> bool:
    """Whether an edge begins inside an area: an odd number of the area's edges lie east of it."""
    x, y = edge[0], edge[1]
    inside = False
    for k in range(len(area)):
        if (area[k, 1] > y) != (area[k, 3] > y):
            along = (y - area[k, 1]) / (area[k, 3] - area[k, 1])
            if x < area[k, 0] + along * (area[k, 2] - area[k, 0]):
                inside = not inside
    return inside


@njit(cache=True, nogil=True)
def _held(
    area: Array,
    features: tuple[Array, Places],
    tree: tuple[Array, Places, Places, Places],
    stack: Places,
    best: float,
    best_rank: int,
) -> tuple[float, int]:
    """Distance and lowest rank once those edges are looked at that begin inside an area."""
    (edges, rank), (boxes, first_box, below, last) = features, tree
    x0, y0, x1, y1 = _box_of(area)
    stack[0], depth = len(boxes) - 1, 1
    while depth > 0:
        depth -= 1
        box = stack[depth]
        for k in range(below[box], min(below[box] + FAN, last[box])):
            if box >= first_box[1]:
                if _box_gap(x0, y0, x1, y1, boxes, k) <= 0.0:
                    stack[depth] = k
                    depth += 1
            elif (best > 0.0 or rank[k] < best_rank) and _is_inside(edges[k], area):
                best, best_rank = 0.0, rank[k]
    return best, best_rank


@njit(cache=True, nogil=True)
def children(edges: int, boxes: int, first_box: Places) -> tuple[Places, Places]:
    """Of each box the first one below it, an edge or a box, and where its level ends."""
    below, last = np.empty(boxes, dtype=np.intp), np.empty(boxes, dtype=np.intp)
    for level in range(len(first_box) - 1):
        for k in range(first_box[level], first_box[level + 1]):
            below[k] = (first_box[level - 1] if level else 0) + (k - first_box[level]) * FAN
            last[k] = first_box[level] if level else edges
    return below, last


@njit(cache=True, nogil=True)
def _nearest(
    own: Array,
    features: tuple[Array, Places],
    tree: tuple[Array, Places, Places, Places],
    waiting: tuple[Places, Array],
    found: tuple[float, int, int],
) -> tuple[float, int, int]:
    """Distance, lowest rank and nearest edge, once those near a few edges are looked at."""
    (edges, rank), (boxes, first_box, below, last), (stack, gaps) = features, tree, waiting
    best, best_rank, near = found
    box = _box_of(own)
    stack[0], gaps[0], depth = len(boxes) - 1, 0.0, 1
    while depth > 0:
        depth -= 1
        limit = (best + TIE_M) ** 2
        if gaps[depth] > limit:
            continue
        low = below[stack[depth]]
        high = min(low + FAN, last[stack[depth]])
        if stack[depth] >= first_box[1]:
            depth = _open_box(box, boxes, low, high, limit, stack, gaps, depth)
            continue
        for k in range(low, high):
            gap = _run_gap(own, edges, k, (best + TIE_M) ** 2)
            if gap <= (best + TIE_M) ** 2:
                d = math.sqrt(gap)
                best_rank = rank[k] if d < best - TIE_M else min(best_rank, rank[k])
                best, near = (d, k) if d < best else (best, near)
    return best, best_rank, near


@njit(cache=True, nogil=True)
def nearest_edges(
    of: Places,
    shapes: tuple[Array, Places, NDArray[np.bool_]],
    features: tuple[Array, Places],
    tree: tuple[Array, Places, Places, Places],
    out: tuple[Array, Places],
) -> None:
    """Distance from shapes to the nearest edge, and the rank of the feature it belongs to.

    Parameters
    ----------
    of
        Shapes to look at, neighbours in a row.
    shapes
        Edges of all shapes, where those of each begin (and the last end), whether it is an area.
    features
        Edges of the features in the order of the tree, and the rank of each edge's feature.
    tree
        Boxes and places of the levels' first ones, of :func:`box_tree`; then :func:`children`.
    out
        For each shape, written to: the distance, 0 where a feature's edge begins in the shape; and
        the lowest rank of those equally near.
    """
    (all_edges, first_edge, is_area), (edges, rank) = shapes, features
    depth = FAN * len(tree[1])
    waiting = (np.empty(depth, dtype=np.intp), np.empty(depth))
    near = 0
    for i in of:
        own = all_edges[first_edge[i] : first_edge[i + 1]]
        # what was nearest to the shape before bounds the search
        best, best_rank = math.sqrt(_run_gap(own, edges, near, np.inf)), rank[near]
        for e in range(0, len(own), FAN):
            best, best_rank, near = _nearest(
                own[e : e + FAN], features, tree, waiting, (best, best_rank, near)
            )
        if is_area[i]:
            best, best_rank = _held(own, features, tree, waiting[0], best, best_rank)
        out[0][i], out[1][i] = best, best_rank
