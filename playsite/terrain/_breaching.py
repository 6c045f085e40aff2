"""The cheapest cut from a hollow's lowest cell through its rim to lower ground."""

import heapq
import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Cells = NDArray[np.int64]

FALL = 0.001
"""A cut falls by this much a metre, so that water runs (a choice, no source)."""


@njit(cache=True, nogil=True)
def cheapest_cut(ground: Floats, pit: tuple[int, int], cell_m: float, reach_m: float) -> Cells:
    """Rows and columns of the cut from a pit to lower ground; empty where there is none.

    Dijkstra's search over the cells around the pit: a step costs the ground's height above the
    cut's bottom, pit - FALL x length, times the step's length. It ends at the first cell below
    the cut's bottom. Longer ways than ``reach_m`` are not looked for.
    """
    reach = math.ceil(reach_m / cell_m)
    side = 2 * reach + 1
    top, left = pit[0] - reach, pit[1] - reach
    cost = np.full(side * side, np.inf)
    length, came = np.zeros(side * side), np.full(side * side, -1)
    done = np.zeros(side * side, np.bool_)
    start = reach * side + reach
    cost[start] = 0.0
    queue = [(0.0, start)]
    while len(queue) > 0:
        _, at = heapq.heappop(queue)
        if done[at]:
            continue
        done[at] = True
        row, column = top + at // side, left + at % side
        if ground[row, column] < ground[pit] - FALL * length[at]:
            return _walked(came, at, side, (top, left))
        for down in range(-1, 2):
            for right in range(-1, 2):
                inside = 0 <= at // side + down < side and 0 <= at % side + right < side
                beside = at + down * side + right
                if not inside or done[beside]:
                    continue
                step = cell_m * math.hypot(down, right)
                lift = _lift(ground, row + down, column + right)
                above = lift - ground[pit] + FALL * (length[at] + step)
                price = cost[at] + max(0.0, above) * step
                if length[at] + step <= reach_m and price < cost[beside]:
                    cost[beside], length[beside], came[beside] = price, length[at] + step, at
                    heapq.heappush(queue, (price, beside))
    return np.empty((0, 2), np.int64)


@njit(cache=True, nogil=True)
def _lift(ground: Floats, row: int, column: int) -> float:
    """Height of a cell; no cut goes through one that is missing or off the raster."""
    if not (0 <= row < ground.shape[0] and 0 <= column < ground.shape[1]):
        return math.inf
    return math.inf if math.isnan(ground[row, column]) else ground[row, column]


@njit(cache=True, nogil=True)
def _walked(came: Cells, last: int, side: int, corner: tuple[int, int]) -> Cells:
    """Rows and columns of the way to a cell, from its start."""
    count, at = 0, last
    while at >= 0:
        count, at = count + 1, came[at]
    path, at = np.empty((count, 2), np.int64), last
    for place in range(count - 1, -1, -1):
        path[place, 0], path[place, 1] = corner[0] + at // side, corner[1] + at % side
        at = came[at]
    return path
