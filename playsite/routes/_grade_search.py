"""The compiled search behind the accessible route: places, heights over the ground, directions."""

from __future__ import annotations

import heapq
import math
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from numba import njit

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array: TypeAlias = NDArray[np.float64]
    Flags: TypeAlias = NDArray[np.bool_]
    Labels: TypeAlias = NDArray[np.float32]
    Places: TypeAlias = NDArray[np.int64]
    Seen: TypeAlias = NDArray[np.int8]
    Lattice: TypeAlias = tuple[Array, Array, Array, Flags, Array]
    States: TypeAlias = tuple[Labels, Places, Seen]
    Heap: TypeAlias = list[tuple[np.float64, np.int64]]

LAYERS = 13
"""Heights over or under the ground that a way may have at a place: six up, six down, none."""

_STEPS = (
    (1, 0), (2, 1), (1, 1), (1, 2), (0, 1), (-1, 2), (-1, 1), (-2, 1),
    (-1, 0), (-2, -1), (-1, -1), (-1, -2), (0, -1), (1, -2), (1, -1), (2, -1),
)  # fmt: skip
STEPS = np.array(_STEPS, dtype=np.int64)
"""Sixteen moves on the lattice, as columns and rows, in the order of their directions."""

MIDDLE = LAYERS // 2
_TURN = 4  # sixteenths of a circle: a right angle
_SAME_M = 1e-4


@njit(cache=True, nogil=True)
def is_free(a: Array, b: Array, solid: Flags, corner: Array, fine_m: float) -> bool:
    """Tell whether a line crosses no solid cell of a raster whose north-west corner is given."""
    length = math.hypot(b[0] - a[0], b[1] - a[1])
    count = int(2 * length / fine_m) + 1
    for k in range(count + 1):
        x = a[0] + (b[0] - a[0]) * k / count
        y = a[1] + (b[1] - a[1]) * k / count
        row, column = int((corner[1] - y) / fine_m), int((x - corner[0]) / fine_m)
        if not (0 <= row < solid.shape[0] and 0 <= column < solid.shape[1]):
            return False
        if solid[row, column]:
            return False
    return True


@njit(cache=True, nogil=True)
def _meets(own_m: float, end: Array, slope: float, layer_m: float) -> bool:
    """Tell whether a leg to an end, its length and height, keeps to the slope; half a layer is none."""
    return abs(own_m - end[1]) <= slope * end[0] + layer_m / 2 if math.isfinite(end[0]) else False


@njit(cache=True, nogil=True)
def _seeds(height: Array, start: Array, rest_m: Array, sizes: Array, label: Labels) -> Heap:
    """States next to the start, in every direction, by the least length of a way through them."""
    rows, columns = height.shape
    heap = [(np.float64(0.0), np.int64(-1))]
    heap.pop()
    for row in range(rows):
        for column in range(columns):
            for layer in range(LAYERS):
                own_m = height[row, column] + (layer - MIDDLE) * sizes[2]
                if not _meets(own_m, start[:, row, column], sizes[1], sizes[2]):
                    continue
                for turn in range(len(STEPS)):
                    at = ((row * columns + column) * LAYERS + layer) * len(STEPS) + turn
                    label[at] = start[0, row, column]
                    heapq.heappush(heap, (label[at] + rest_m[row, column], np.int64(at)))
    return heap


@njit(cache=True, nogil=True)
def _spread(
    at: int,
    lattice: Lattice,
    states: States,
    heap: Heap,
    sizes: Array,
    most_m: float,
) -> None:
    """Lower the labels of states that one move leads to: a turn of a right angle at most."""
    place, height, rest_m, solid, corner = lattice
    label, before, is_open = states
    fine_m, slope, layer_m, least_m = sizes[:4]
    rows, columns = height.shape
    moves = len(STEPS)
    layer, cell = (at // moves) % LAYERS, at // moves // LAYERS
    row, column = cell // columns, cell % columns
    own_m = height[row, column] + (layer - MIDDLE) * layer_m
    for k in range(-_TURN, _TURN + 1):
        to = (at + k) % moves  # a state's number begins with its direction
        c, r = column + STEPS[to, 0], row - STEPS[to, 1]
        if not (0 <= r < rows and 0 <= c < columns) or not math.isfinite(height[r, c]):
            continue
        if is_open[row, column, to] < 0:
            clear = is_free(place[row, column], place[r, c], solid, corner, fine_m)
            is_open[row, column, to] = 1 if clear else 0
        length = math.hypot(
            place[r, c, 0] - place[row, column, 0], place[r, c, 1] - place[row, column, 1]
        )
        far_m = label[at] + length
        if not is_open[row, column, to] or length < least_m or far_m + rest_m[r, c] >= most_m:
            continue
        rise = slope * length + 1e-9
        lowest = math.ceil((own_m - rise - height[r, c]) / layer_m - 1e-9)
        highest = math.floor((own_m + rise - height[r, c]) / layer_m + 1e-9)
        for up in range(max(lowest, -MIDDLE), min(highest, MIDDLE) + 1):
            there = ((r * columns + c) * LAYERS + up + MIDDLE) * moves + to
            if far_m < label[there] - _SAME_M:
                label[there] = far_m
                before[there] = at
                heapq.heappush(heap, (label[there] + rest_m[r, c], np.int64(there)))


@njit(cache=True, nogil=True)
def graded_way(
    place: Array,
    height: Array,
    start: Array,
    end: Array,
    rest_m: Array,
    solid: Flags,
    corner: Array,
    sizes: Array,
) -> tuple[float, Places, Places]:
    """Search the shortest way over a lattice whose own height never changes faster than a slope.

    Parameters
    ----------
    place
        (rows, columns, 2) easting and northing of each place.
    height
        (rows, columns) height of the ground; NaN where no way may be.
    start, end
        (2, rows, columns) length from the start to a place, or from it to the end (inf: not next to
        it), and the height of the start or the end there.
    rest_m
        (rows, columns) least length to the end that is known.
    solid, corner
        What no way may cross, and the north-west corner of that raster.
    sizes
        Cell of ``solid`` (m), steepest slope (ratio), step between layers (m), least move (m),
        longest way (m).

    Returns
    -------
    length, places, layers
        Metres (inf: none), the places of the way (row * columns + column) and its layer at each.
    """
    rows, columns = height.shape
    moves = len(STEPS)
    count = rows * columns * LAYERS * moves
    label = np.full(count, np.inf, dtype=np.float32)
    before = np.full(count, -1, dtype=np.int64)
    done = np.zeros(count, dtype=np.bool_)
    is_open = np.full((rows, columns, moves), -1, dtype=np.int8)
    heap = _seeds(height, start, rest_m, sizes, label)
    lattice = place, height, rest_m, solid, corner
    best, last = np.inf, np.int64(-1)
    while heap:
        bound, at = heapq.heappop(heap)
        if bound >= min(best, sizes[4]):
            break
        if done[at]:
            continue
        done[at] = True
        layer, cell = (at // moves) % LAYERS, at // moves // LAYERS
        row, column = cell // columns, cell % columns
        own_m = height[row, column] + (layer - MIDDLE) * sizes[2]
        if _meets(own_m, end[:, row, column], sizes[1], sizes[2]):
            length = label[at] + end[0, row, column]
            if length < best:
                best, last = length, at
        most_m = min(best, sizes[4])
        _spread(at, lattice, (label, before, is_open), heap, sizes, most_m)
    return best, *_traced(last, before)


@njit(cache=True, nogil=True)
def _traced(last: int, before: Places) -> tuple[Places, Places]:
    """Places and layers of the way that ends in a state."""
    count, at = 0, last
    while at >= 0:
        count, at = count + 1, before[at]
    places, layers = np.empty(count, dtype=np.int64), np.empty(count, dtype=np.int64)
    at = last
    for k in range(count - 1, -1, -1):
        cell = at // len(STEPS)
        places[k], layers[k] = cell // LAYERS, cell % LAYERS - MIDDLE
        at = before[at]
    return places, layers
