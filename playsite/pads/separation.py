"""Compiled: how far a pad could grow about its centre before it meets the land's boundary."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from numba import njit

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["inside", "inside_by_slab", "scale_at", "segment_scale", "slabs"]


@njit(cache=True, nogil=True)
def segment_scale(px: float, py: float, qx: float, qy: float) -> float:
    """Scale at which the square of half side 1 about the origin meets the segment pq.

    max(|x|, |y|) is convex along the segment and straight but where |x| = |y|, so its least
    value is at an end or on a diagonal.
    """
    least = min(max(abs(px), abs(py)), max(abs(qx), abs(qy)))
    at_p, at_q = px - py, qx - qy
    if at_p * at_q < 0.0:
        least = min(least, abs(px + at_p / (at_p - at_q) * (qx - px)))
    at_p, at_q = px + py, qx + qy
    if at_p * at_q < 0.0:
        least = min(least, abs(px + at_p / (at_p - at_q) * (qx - px)))
    return least


@njit(cache=True, nogil=True)
def _passed(segments: NDArray[np.float64], i: int, x: float, y: float) -> bool:
    """Whether the way due east from a point crosses the segment."""
    y1, y2 = segments[i, 1], segments[i, 3]
    if (y1 > y) == (y2 > y):
        return False
    return x < segments[i, 0] + (y - y1) / (y2 - y1) * (segments[i, 2] - segments[i, 0])


@njit(cache=True, nogil=True)
def inside(segments: NDArray[np.float64], x: float, y: float) -> bool:
    """Whether a point lies in the land: parity of the boundary crossed on the way east."""
    odd = False
    for i in range(segments.shape[0]):
        odd ^= _passed(segments, i, x, y)
    return odd


@njit(cache=True, nogil=True)
def slabs(
    segments: NDArray[np.float64],
) -> tuple[float, float, NDArray[np.int64], NDArray[np.int64]]:
    """Sort the segments into level slabs of the land, for `inside_by_slab`.

    Lower edge, slabs per metre, start of each slab among the members, members.
    """
    n = segments.shape[0]
    count = min(512, max(1, n // 4))
    low = min(segments[:, 1].min(), segments[:, 3].min())
    high = max(segments[:, 1].max(), segments[:, 3].max())
    per_m = count / (high - low) * (1.0 - 1e-9)
    first, last = np.empty(n, dtype=np.int64), np.empty(n, dtype=np.int64)
    starts = np.zeros(count + 1, dtype=np.int64)
    for i in range(n):
        first[i] = int((min(segments[i, 1], segments[i, 3]) - low) * per_m)
        last[i] = int((max(segments[i, 1], segments[i, 3]) - low) * per_m)
        starts[first[i] + 1 : last[i] + 2] += 1
    starts = np.cumsum(starts)
    members = np.empty(starts[count], dtype=np.int64)
    filled = starts.copy()
    for i in range(n):
        for slab in range(first[i], last[i] + 1):
            members[filled[slab]] = i
            filled[slab] += 1
    return low, per_m, starts, members


@njit(cache=True, nogil=True)
def inside_by_slab(
    segments: NDArray[np.float64],
    sorted_in: tuple[float, float, NDArray[np.int64], NDArray[np.int64]],
    x: float,
    y: float,
) -> bool:
    """Same answer as `inside`, from the segments of the point's own slab."""
    low, per_m, starts, members = sorted_in
    slab = math.floor((y - low) * per_m)
    if slab < 0 or slab >= starts.shape[0] - 1:
        return False
    odd = False
    for k in range(starts[slab], starts[slab + 1]):
        odd ^= _passed(segments, members[k], x, y)
    return odd


@njit(cache=True, nogil=True)
def scale_at(
    segments: NDArray[np.float64], x: float, y: float, angle: float, a: float, b: float
) -> float:
    """Greatest scale of the pad of half sides a and b centred here; 0 outside the land."""
    c, s = math.cos(angle), math.sin(angle)
    least = np.inf
    for i in range(segments.shape[0]):
        dx, dy = segments[i, 0] - x, segments[i, 1] - y
        ex, ey = segments[i, 2] - x, segments[i, 3] - y
        px, py = (dx * c + dy * s) / a, (dy * c - dx * s) / b
        qx, qy = (ex * c + ey * s) / a, (ey * c - ex * s) / b
        # the segment's box is nearer than the segment: most are settled by it
        near = max(min(px, qx), -max(px, qx), min(py, qy), -max(py, qy))
        if near < least:
            least = min(least, segment_scale(px, py, qx, qy))
    if not inside(segments, x, y):
        return 0.0
    return least
