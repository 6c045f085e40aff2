"""Compiled: the search over position and rotation that misses nothing, by proven bounds.

A node is a box of centres and an interval of angles. Every turn of the pad by at most d contains
one upright rectangle; grown about the box's centre it meets the boundary at some scale, and no
pad of the node can be larger than that scale and the way from the box's centre to its corner, in
the pad's own measure. A node whose bound is not worth having is dropped, any other is halved.
There are no cells, so nothing thinner than a cell slips through, and the work depends on the
shape of the land, not on its area.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from numba import njit

from playsite.pads.separation import inside_by_slab, scale_at, segment_scale, slabs

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["grow"]

# Columns of a node: centre, direction of the box, its half sides along and across, angle and
# half interval, and the bound of its parent.
_X, _Y, _FRAME, _ALONG, _ACROSS, _ANGLE, _HALF, _BOUND = range(8)
# Where the box lies, once known for all of it
_UNKNOWN, _INSIDE = 0, 1


@njit(cache=True, nogil=True)
def _inner_half_sides(a: float, b: float, half: float) -> tuple[float, float]:
    """Half sides of the upright rectangle inside every turn by at most `half`.

    It needs sin(2 half) <= b / a.
    """
    c, s = math.cos(half), math.sin(half)
    narrow = math.cos(2.0 * half)
    return (a * c - b * s) / narrow, (b * c - a * s) / narrow


@njit(cache=True, nogil=True)
def _met(
    segments: NDArray[np.float64],
    i: int,
    centre: tuple[float, float],
    turn: tuple[float, float],
    a: float,
    b: float,
) -> float:
    """Scale at which the pad about a centre, turned by a cosine and sine, meets segment i."""
    (x, y), (c, s) = centre, turn
    dx, dy = segments[i, 0] - x, segments[i, 1] - y
    ex, ey = segments[i, 2] - x, segments[i, 3] - y
    return segment_scale(
        (dx * c + dy * s) / a,
        (dy * c - dx * s) / b,
        (ex * c + ey * s) / a,
        (ey * c - ex * s) / b,
    )


@njit(cache=True, nogil=True)
def _nearest(
    segments: NDArray[np.float64],
    near: NDArray[np.int64],
    scales: NDArray[np.float64],
    node: NDArray[np.float64],
    a: float,
    b: float,
) -> tuple[float, int]:
    """Scale at which each listed segment is met (into `scales`); the least, and whose it is."""
    centre = (node[_X], node[_Y])
    turn = (math.cos(node[_ANGLE]), math.sin(node[_ANGLE]))
    least, first = np.inf, 0
    for k in range(near.shape[0]):
        scale = _met(segments, near[k], centre, turn, a, b)
        scales[k] = scale
        if scale < least:
            least, first = scale, near[k]
    return least, first


@njit(cache=True, nogil=True)
def _corner_scale(node: NDArray[np.float64], a: float, b: float) -> float:
    """How far the box's corners are from its centre, in the measure of half sides a and b."""
    turned = node[_ANGLE] - node[_FRAME]
    c, s = abs(math.cos(turned)), abs(math.sin(turned))
    along, across = node[_ALONG], node[_ACROSS]
    return max((along * c + across * s) / a, (along * s + across * c) / b)


@njit(cache=True, nogil=True)
def _halve(
    node: NDArray[np.float64],
    sides: tuple[float, float, float],
    one: NDArray[np.float64],
    other: NDArray[np.float64],
) -> None:
    """Halve a node where that helps its bound most.

    `sides` are the half sides of the pad, and that across of the rectangle inside all its turns.
    """
    a, b, b_in = sides
    one[:] = node
    other[:] = node
    if node[_BOUND] * (b / b_in - 1.0) > _corner_scale(node, a, b):
        half = node[_HALF] / 2.0
        one[_HALF] = other[_HALF] = half
        one[_ANGLE] -= half
        other[_ANGLE] += half
        return
    c, s = math.cos(node[_FRAME]), math.sin(node[_FRAME])
    if node[_ALONG] / a >= node[_ACROSS] / b:
        step = node[_ALONG] / 2.0
        one[_ALONG] = other[_ALONG] = step
        dx, dy = step * c, step * s
    else:
        step = node[_ACROSS] / 2.0
        one[_ACROSS] = other[_ACROSS] = step
        dx, dy = -step * s, step * c
    one[_X] -= dx
    one[_Y] -= dy
    other[_X] += dx
    other[_Y] += dy


@njit(cache=True, nogil=True)
def _swap_by_line(
    segments: NDArray[np.float64],
    i: int,
    within: bool,  # noqa: FBT001  compiled code takes no keyword-only arguments
    halves: NDArray[np.float64],
    a: float,
    b: float,
) -> None:
    """Put last, to go first, the half that leaves segment i behind; from outside, comes nearer."""
    met = np.empty(2)
    for k in range(2):
        turn = (math.cos(halves[k, _ANGLE]), math.sin(halves[k, _ANGLE]))
        met[k] = _met(segments, i, (halves[k, _X], halves[k, _Y]), turn, a, b)
    if (met[0] > met[1]) == within:
        last = halves[1].copy()
        halves[1] = halves[0]
        halves[0] = last


@njit(cache=True, nogil=True)
def _keep_near(
    near: NDArray[np.int64], scales: NDArray[np.float64], reach: float, pool: NDArray[np.int64]
) -> int:
    """Copy the segments that matter inside the box to the pool; how many, or -1 for no gain."""
    kept = 0
    for k in range(near.shape[0]):
        if scales[k] <= reach:
            kept += 1
    if kept > pool.shape[0] or 5 * kept > 4 * near.shape[0]:
        return -1
    kept = 0
    for k in range(near.shape[0]):
        if scales[k] <= reach:
            pool[kept] = near[k]
            kept += 1
    return kept


@njit(cache=True, nogil=True)
def grow(
    segments: NDArray[np.float64],
    roots: NDArray[np.float64],
    half_sides: tuple[float, float],
    best: NDArray[np.float64],
    enough: float,
    worth: float,
    gap: float,
    most_work: int,
) -> tuple[float, int]:
    """Search for the greatest scale of the pad.

    Parameters
    ----------
    segments
        (n, 4) boundary segments about a local origin.
    roots
        (m, 8) nodes that together hold every place.
    half_sides
        Of the pad at scale 1.
    best
        (4,): scale, x, y, angle of the best place known; written over by a better one.
    enough
        Stop as soon as the best scale reaches this.
    worth
        Drop what can't reach this scale.
    gap
        Drop what can't exceed the best scale by this share.
    most_work
        Give up after looking at so many segments.

    Returns
    -------
    float, int
        No place has a scale above the first, whether or not the search ended; segments looked at.
    """
    a, b = half_sides
    n = segments.shape[0]
    stack = np.empty((roots.shape[0] + 400, 8))
    lists = np.zeros((stack.shape[0], 3), dtype=np.int64)
    pool = np.empty(12 * n + 256, dtype=np.int64)
    scales, in_slabs = np.empty(n), slabs(segments)
    pool[:n] = np.arange(n)
    top = roots.shape[0]
    stack[:top], lists[:top, 1] = roots, n
    at_most, work = best[0], 0
    node = np.empty(8)
    while top > 0 and best[0] < enough and work < most_work and top < stack.shape[0] - 2:
        top -= 1
        node[:] = stack[top]
        low, high, side = lists[top, 0], lists[top, 1], lists[top, 2]
        floor = max(worth, best[0] * (1.0 + gap))
        if node[_BOUND] <= floor:
            at_most = max(at_most, node[_BOUND])
            continue
        a_in, b_in = _inner_half_sides(a, b, node[_HALF])
        met, first = _nearest(segments, pool[low:high], scales, node, a_in, b_in)
        corner = _corner_scale(node, a_in, b_in)
        within = side == _INSIDE or inside_by_slab(segments, in_slabs, node[_X], node[_Y])
        work += high - low + 20
        if met > corner:
            if not within:
                continue
            side = _INSIDE
        bound = min(node[_BOUND], (met if within else -met) + corner)
        if within and met > best[0]:
            work += n
            scale = scale_at(segments, node[_X], node[_Y], node[_ANGLE], a, b)
            if scale > best[0]:
                best[:] = (scale, node[_X], node[_Y], node[_ANGLE])
                floor = max(worth, scale * (1.0 + gap))
        if bound <= floor:
            at_most = max(at_most, bound)
            continue
        kept = _keep_near(pool[low:high], scales, 1.25 * (met + 2.0 * corner), pool[high:])
        if kept >= 0:
            low, high = high, high + kept
        node[_BOUND] = bound
        _halve(node, (a, b, b_in), stack[top], stack[top + 1])
        _swap_by_line(segments, first, within, stack[top : top + 2], a, b)
        lists[top : top + 2, 0] = low
        lists[top : top + 2, 1] = high
        lists[top : top + 2, 2] = side
        top += 2
    for k in range(top):
        at_most = max(at_most, stack[k, _BOUND])
    return max(at_most, best[0]), work
