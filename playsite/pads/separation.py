"""Compiled: how far a pad could grow about its centre before it meets the land's boundary."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from numba import njit

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["inside", "scale_at", "scales_at", "segment_scale"]


@njit(cache=True)
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


@njit(cache=True)
def inside(segments: NDArray[np.float64], x: float, y: float) -> bool:
    """Whether a point lies in the land: parity of the boundary crossed on the way east."""
    odd = False
    for i in range(segments.shape[0]):
        y1, y2 = segments[i, 1], segments[i, 3]
        if (y1 > y) != (y2 > y):
            x1, x2 = segments[i, 0], segments[i, 2]
            if x < x1 + (y - y1) / (y2 - y1) * (x2 - x1):
                odd = not odd
    return odd


@njit(cache=True)
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


@njit(cache=True)
def scales_at(
    segments: NDArray[np.float64], places: NDArray[np.float64], a: float, b: float
) -> NDArray[np.float64]:
    """Greatest scale at each place: rows of x, y and angle in radians."""
    scales = np.empty(places.shape[0])
    for k in range(places.shape[0]):
        scales[k] = scale_at(segments, places[k, 0], places[k, 1], places[k, 2], a, b)
    return scales
