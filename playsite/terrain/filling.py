"""Fill the ground's closed hollows to the brim, exactly, in one compiled loop."""

import math
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import ArrayLike, NDArray

from playsite.terrain.grid import checked_elevation, checked_out

Ground = NDArray[np.floating]
Cells = NDArray[np.signedinteger[Any]]


def filled(elevation: ArrayLike, *, out: Ground | None = None) -> Ground:
    """Ground with every closed hollow filled to the level at which it spills.

    The raster's edge and missing cells are outlets: a masked lake takes water away. Nothing is
    tilted: a filled hollow is exactly level, and no height changes by rounding.

    Parameters
    ----------
    elevation
        2-D array, m; NaN where missing or masked as water.
    out
        Array of the same shape and kind to write to; it may be the elevation itself.

    Returns
    -------
    ndarray
        Filled elevation, m; NaN where the elevation is missing. ``filled(z) - z`` is the depth of
        water that would stand.

    Raises
    ------
    ValueError
        If the elevation is not 2-D or ``out`` does not match.

    Notes
    -----
    Each cell gets the least, over all 8-connected ways out, of the greatest height on the way:
    the priority-flood of R. Barnes, C. Lehman, D. Mulla (2014), "Priority-flood: an optimal
    depression-filling and watershed-labeling algorithm for digital elevation models", Computers
    & Geosciences 62, 117-127. Water climbs from the outlets. A cell no lower than one already
    reached is done at once, in any order, as its way out climbs no more; only reached cells with
    a lower neighbour behind them wait in the queue, lowest first. So the queue holds the rims of
    hollows and not every cell.

    Examples
    --------
    >>> pit = np.array([[5.0, 5, 5, 5], [5, 1, 2, 5], [5, 5, 4, 3], [5, 5, 5, 5]])
    >>> filled(pit)[1]
    array([5., 3., 3., 5.])
    """
    ground = checked_elevation(elevation)
    out = checked_out(out, ground)
    # two rings of missing cells: the edge is then an outlet by the one rule that missing cells
    # are, and no neighbour needs a test of bounds
    level = np.pad(ground, 2, constant_values=np.nan)
    # half the memory while it will do: the work is bound by memory
    kind: type[np.signedinteger[Any]]
    kind = np.int32 if level.size < np.iinfo(np.int32).max else np.int64
    _flood(level, np.isnan(level), np.empty(level.size, kind), np.empty(level.size, kind))
    out[...] = level[2:-2, 2:-2]
    return out


@njit(cache=True, nogil=True)
def _flood(ground: Ground, reached: NDArray[np.bool_], queue: Cells, doubtful: Cells) -> None:
    """Raise the ground in place; ``reached`` is true at missing cells to begin with.

    ``queue`` and ``doubtful`` are room for as many cells as there are.
    """
    columns = ground.shape[1]
    level, seen = ground.ravel(), reached.ravel()
    around = np.array(
        [-columns - 1, -columns, -columns + 1, -1, 1, columns - 1, columns, columns + 1]
    )
    rims, heights, waiting = np.empty(1024, np.int64), np.empty(1024, ground.dtype), 0
    water, queued = -math.inf, _outlets(ground, seen, around, queue)
    while True:
        doubts = _climb(level, seen, around, queue, queued, doubtful, water)
        for doubt in range(doubts):
            cell = int(doubtful[doubt])
            if _dry_beside(cell, seen, around):
                rims, heights = _with_room(rims, waiting + 1), _with_room(heights, waiting + 1)
                _put(rims, heights, waiting, cell, level[cell])
                waiting += 1
        if waiting == 0:
            return
        water, queue[0], queued = heights[0], rims[0], 1
        waiting -= 1
        _drop_lowest(rims, heights, waiting)


@njit(cache=True, nogil=True)
def _climb(
    level: Ground,
    seen: NDArray[np.bool_],
    around: Cells,
    queue: Cells,
    queued: int,
    doubtful: Cells,
    water: float,
) -> int:
    """Go up from the cells in the queue, and fill what lies below the water beside them.

    Doubtful are the cells above the water with a lower neighbour that is dry so far: it may yet
    be reached by a lower way. First in, first out: water that spreads on a broad front leaves
    half the doubts of one that runs ahead. Returns their number.
    """
    doubts = at = 0
    while at < queued:
        cell = int(queue[at])
        at += 1
        here = level[cell]
        lower_behind = False
        for way in range(8):
            beside = cell + around[way]
            if seen[beside]:
                continue
            if level[beside] < here:
                if here > water:
                    lower_behind = True
                    continue
                level[beside] = here
            seen[beside] = True
            queue[queued] = beside
            queued += 1
        if lower_behind:
            doubtful[doubts] = cell
            doubts += 1
    return doubts


@njit(cache=True, nogil=True)
def _outlets(ground: Ground, seen: NDArray[np.bool_], around: Cells, queue: Cells) -> int:
    """Queue the cells beside a missing one, now seen: they drain at their own height."""
    rows, columns = ground.shape
    level = ground.ravel()
    queued = 0
    for row in range(1, rows - 1):
        for cell in range(row * columns + 1, (row + 1) * columns - 1):
            if not math.isnan(level[cell]):
                continue
            for way in around:
                if not seen[cell + way]:
                    seen[cell + way] = True
                    queue[queued] = cell + way
                    queued += 1
    return queued


@njit(cache=True, nogil=True)
def _dry_beside(cell: int, seen: NDArray[np.bool_], around: Cells) -> bool:
    """Whether a neighbour is still dry: most that looked so were reached from elsewhere since."""
    for way in around:  # noqa: SIM110 - not compiled otherwise
        if not seen[cell + way]:
            return True
    return False


@njit(cache=True, nogil=True)
def _with_room(array: NDArray[Any], room: int) -> NDArray[Any]:
    return array if room <= len(array) else np.concatenate((array, np.empty_like(array)))


@njit(cache=True, nogil=True)
def _put(rims: Cells, heights: Ground, waiting: int, cell: int, height: float) -> None:
    """Put one more cell in the queue: a binary heap, the lowest at its head."""
    at = waiting
    while at > 0:
        parent = (at - 1) >> 1
        if heights[parent] <= height:
            break
        heights[at], rims[at] = heights[parent], rims[parent]
        at = parent
    heights[at], rims[at] = height, cell


@njit(cache=True, nogil=True)
def _drop_lowest(rims: Cells, heights: Ground, waiting: int) -> None:
    """Take the head out of the queue, which then holds ``waiting`` cells."""
    height, cell = heights[waiting], rims[waiting]
    at = 0
    while True:
        child = 2 * at + 1
        if child >= waiting:
            break
        if child + 1 < waiting and heights[child + 1] < heights[child]:
            child += 1
        if heights[child] >= height:
            break
        heights[at], rims[at] = heights[child], rims[child]
        at = child
    heights[at], rims[at] = height, cell
