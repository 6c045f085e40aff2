"""The compiled search behind the dash distance: a visibility graph, looked at only where it must be."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from numba import njit

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array: TypeAlias = NDArray[np.float64]

TOUCH_M = 1e-7
"""Points this close to a line lie on it."""


@njit(cache=True, nogil=True)
def _foot(x: float, y: float, segment: Array) -> tuple[float, float, float]:
    """Nearest point of a segment, and how far it is."""
    dx, dy = segment[2] - segment[0], segment[3] - segment[1]
    size = dx * dx + dy * dy
    t = 0.0
    if size > 0.0:
        t = min(1.0, max(0.0, ((x - segment[0]) * dx + (y - segment[1]) * dy) / size))
    fx, fy = segment[0] + t * dx, segment[1] + t * dy
    return fx, fy, math.hypot(x - fx, y - fy)


@njit(cache=True, nogil=True)
def _is_tangent(corner: Array, x: float, y: float) -> bool:
    """Tell whether the line from a corner to a point leaves the solid on one side of it."""
    dx, dy = x - corner[2], y - corner[3]
    length = math.hypot(dx, dy)
    if length <= TOUCH_M:
        return True
    a = (dx * (corner[1] - corner[3]) - dy * (corner[0] - corner[2])) / length
    b = (dx * (corner[5] - corner[3]) - dy * (corner[4] - corner[2])) / length
    return not ((a > TOUCH_M and b < -TOUCH_M) or (a < -TOUCH_M and b > TOUCH_M))


@njit(cache=True, nogil=True)
def _in_solid(x: float, y: float, edge: Array) -> bool:
    """Tell whether a point lies inside, by counting edges to one side; not if it is on an edge."""
    inside = False
    for k in range(len(edge)):
        x1, y1, x2, y2 = edge[k, 0], edge[k, 1], edge[k, 2], edge[k, 3]
        if _foot(x, y, edge[k])[2] <= TOUCH_M:
            return False
        if (y1 > y) != (y2 > y) and x < x1 + (y - y1) * (x2 - x1) / (y2 - y1):
            inside = not inside
    return inside


@njit(cache=True, nogil=True)
def _is_open(px: float, py: float, qx: float, qy: float, edge: Array) -> bool:
    """Tell whether a line crosses no edge and has no corner in its open interior.

    A line that touches a corner on its way is refused: its halves are lines themselves.
    """
    dx, dy = qx - px, qy - py
    length = math.hypot(dx, dy)
    if length <= TOUCH_M:
        return True
    dx, dy = dx / length, dy / length
    left, right, low, high = min(px, qx), max(px, qx), min(py, qy), max(py, qy)
    for k in range(len(edge)):
        x1, y1, x2, y2 = edge[k, 0], edge[k, 1], edge[k, 2], edge[k, 3]
        if max(x1, x2) < left - TOUCH_M or min(x1, x2) > right + TOUCH_M:
            continue
        if max(y1, y2) < low - TOUCH_M or min(y1, y2) > high + TOUCH_M:
            continue
        a = dx * (y1 - py) - dy * (x1 - px)
        along = dx * (x1 - px) + dy * (y1 - py)
        if abs(a) <= TOUCH_M:
            if TOUCH_M < along < length - TOUCH_M:
                return False
            continue
        b = dx * (y2 - py) - dy * (x2 - px)
        if abs(b) <= TOUCH_M or (a > 0.0) == (b > 0.0):
            continue
        meets = along + (dx * (x2 - x1) + dy * (y2 - y1)) * a / (a - b)
        # How far the ends are off the edge, from how far along they are off the crossing.
        slant = abs(a - b) / math.hypot(x2 - x1, y2 - y1)
        if meets * slant > TOUCH_M and (length - meets) * slant > TOUCH_M:
            return False
    return True


@njit(cache=True, nogil=True)
def _leg_is_open(px: float, py: float, qx: float, qy: float, edge: Array) -> bool:
    """As ``_is_open``, and not from edge to edge through the solid."""
    return _is_open(px, py, qx, qy, edge) and not _in_solid((px + qx) / 2, (py + qy) / 2, edge)


@njit(cache=True, nogil=True)
def _straight(
    edge: Array,
    start: Array,
    goal: Array,
    best: float,
) -> tuple[float, int, Array]:
    """Shortest open line from start to goal that is square on an edge or ends at a corner."""
    pair = np.empty((4 * len(start) * len(goal), 5))
    which = np.empty(len(pair), dtype=np.int64)
    n = 0
    for j in range(len(goal)):
        for i in range(len(start)):
            for end in range(2):
                x, y = start[i, 2 * end], start[i, 2 * end + 1]
                fx, fy, d = _foot(x, y, goal[j])
                if d < best:
                    pair[n, 0], pair[n, 1], pair[n, 2], pair[n, 3], pair[n, 4] = x, y, fx, fy, d
                    which[n] = j
                    n += 1
                x, y = goal[j, 2 * end], goal[j, 2 * end + 1]
                fx, fy, d = _foot(x, y, start[i])
                if d < best:
                    pair[n, 0], pair[n, 1], pair[n, 2], pair[n, 3], pair[n, 4] = fx, fy, x, y, d
                    which[n] = j
                    n += 1
    order = np.argsort(pair[:n, 4], kind="mergesort")
    for k in order:
        p = pair[k]
        if _leg_is_open(p[0], p[1], p[2], p[3], edge):
            return p[4], which[k], p[:4].copy().reshape(2, 2)
    return best, -1, np.empty((0, 2))


@njit(cache=True, nogil=True)
def _first_legs(
    corner: Array,
    edge: Array,
    start: Array,
    rest: Array,
    best: float,
) -> tuple[Array, Array]:
    """Length of the shortest open first leg to each corner (inf: none), and where it starts."""
    label = np.full(len(corner), np.inf)
    foot = np.zeros((len(corner), 2))
    for v in range(len(corner)):
        x, y = corner[v, 2], corner[v, 3]
        for i in range(len(start)):
            fx, fy, d = _foot(x, y, start[i])
            if d >= label[v] or d + rest[v] >= best or not _is_tangent(corner[v], fx, fy):
                continue
            if _leg_is_open(fx, fy, x, y, edge):
                label[v], foot[v, 0], foot[v, 1] = d, fx, fy
    return label, foot


@njit(cache=True, nogil=True)
def _reach_from(
    u: int,
    corner: Array,
    edge: Array,
    rest: Array,
    label: Array,
    before: NDArray[np.int64],
    best: float,
) -> None:
    """Lower the labels of corners that a settled corner sees."""
    x, y = corner[u, 2], corner[u, 3]
    for v in range(len(corner)):
        d = label[u] + math.hypot(corner[v, 2] - x, corner[v, 3] - y)
        if d >= label[v] or d + rest[v] >= best:
            continue
        if not _is_tangent(corner[u], corner[v, 2], corner[v, 3]):
            continue
        if _is_tangent(corner[v], x, y) and _leg_is_open(x, y, corner[v, 2], corner[v, 3], edge):
            label[v] = d
            before[v] = u


@njit(cache=True, nogil=True)
def _last_leg(
    u: int,
    corner: Array,
    edge: Array,
    goal: Array,
    best: float,
) -> tuple[float, int, float, float]:
    """Shortest open last leg from a corner, if shorter than ``best``; where it ends."""
    which, x, y = -1, 0.0, 0.0
    for j in range(len(goal)):
        fx, fy, d = _foot(corner[u, 2], corner[u, 3], goal[j])
        if d >= best or not _is_tangent(corner[u], fx, fy):
            continue
        if _leg_is_open(corner[u, 2], corner[u, 3], fx, fy, edge):
            best, which, x, y = d, j, fx, fy
    return best, which, x, y


@njit(cache=True, nogil=True)
def _next(label: Array, rest: Array, settled: NDArray[np.bool_], best: float) -> int:
    """Corner with the least bound, of those not settled (-1: none can beat ``best``)."""
    u = -1
    for v in range(len(label)):
        if not settled[v] and label[v] + rest[v] < best:
            u, best = v, label[v] + rest[v]
    return u


@njit(cache=True, nogil=True)
def _trace(last: int, before: NDArray[np.int64], corner: Array, foot: Array, end: Array) -> Array:
    """Points of the way that ends after corner ``last``."""
    n, u = 2, last
    while u >= 0:
        n, u = n + 1, before[u]
    out = np.empty((n, 2))
    out[n - 1] = end
    u = last
    for k in range(n - 2, 0, -1):
        out[k] = corner[u, 2:4]
        out[0] = foot[u]
        u = before[u]
    return out


@njit(cache=True, nogil=True)
def shortest_way(
    corner: Array,
    edge: Array,
    start: Array,
    goal: Array,
    reach_m: float,
) -> tuple[float, int, Array]:
    """Search the shortest way from start to goal round the solid.

    Parameters
    ----------
    corner
        Corners that stick out, one a row: x, y of the vertex before, the corner, the one after.
    edge, start, goal
        Segments, one a row: x, y of both ends.
    reach_m
        Longest way looked for.

    Returns
    -------
    length, which, path
        Metres, row of ``goal`` reached (-1: none), points of the way.
    """
    n = len(corner)
    rest = np.full(n, np.inf)
    for v in range(n):
        for j in range(len(goal)):
            rest[v] = min(rest[v], _foot(corner[v, 2], corner[v, 3], goal[j])[2])
    best, which, path = _straight(edge, start, goal, reach_m + TOUCH_M)
    label, foot = _first_legs(corner, edge, start, rest, best)
    before = np.full(n, -1, dtype=np.int64)
    settled = np.zeros(n, dtype=np.bool_)
    last, end = -1, np.zeros(2)
    u = _next(label, rest, settled, best)
    while u >= 0:
        settled[u] = True
        leg_m, j, x, y = _last_leg(u, corner, edge, goal, best - label[u])
        if j >= 0:
            best, which, last = label[u] + leg_m, j, u
            end[0], end[1] = x, y
        _reach_from(u, corner, edge, rest, label, before, best)
        u = _next(label, rest, settled, best)
    if last >= 0:
        path = _trace(last, before, corner, foot, end)
    return best, which, path
