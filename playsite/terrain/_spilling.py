"""How basins spill into one another, and how high water stands in each before it leaves.

A pass is an entry of three arrays: the two basins it joins, and the height at which it does.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from numba import njit

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Ground: TypeAlias = NDArray[np.floating]
    Cells: TypeAlias = NDArray[np.int32]
    Flags: TypeAlias = NDArray[np.bool_]
    Passes: TypeAlias = tuple[Cells, Cells, Ground]


@njit(cache=True, nogil=True)
def spilling(
    one: Cells, other: Cells, height: Ground, is_open: Flags
) -> tuple[Cells, Ground, Passes]:
    """Where each basin that isn't open spills, at which height, and what passes are left.

    Of each basin the lowest pass is taken, which joins it to the one beyond; so do those joined
    with one another, until only open ones are left. The heights of passes may tie: the first
    counts as the lower one, so no basins spill in a ring of more than two.

    Returns, for each basin, the one it spills into (itself if it doesn't), the height of the
    pass (-inf), and the passes between the open ones; the arrays given are overwritten.
    """
    size, count = len(is_open), len(one)
    into = np.arange(size).astype(np.int32)
    now = into.copy()
    climbs = np.full(size, -np.inf, height.dtype)
    lowest = np.empty(size, height.dtype)
    towards = np.empty(size, np.int32)
    waiting = np.nonzero(~is_open)[0].astype(np.int32)
    while True:
        towards[waiting] = -1
        left = 0
        for k in range(count):
            a, b, climb = now[one[k]], now[other[k]], height[k]
            if a == b:
                continue
            one[left], other[left], height[left] = a, b, climb
            left += 1
            if not is_open[a] and (towards[a] < 0 or climb < lowest[a]):
                lowest[a], towards[a] = climb, b
            if not is_open[b] and (towards[b] < 0 or climb < lowest[b]):
                lowest[b], towards[b] = climb, a
        count = left
        if count == 0 or len(waiting) == 0:
            return into, climbs, (one[:count], other[:count], height[:count])
        joined, waiting = waiting, _joined(waiting, towards, lowest, is_open, into, climbs)
        for basin in joined:
            now[basin] = into[basin]
        for basin in joined:
            last = now[basin]
            while now[last] != last:
                last = now[last]
            now[basin] = last


@njit(cache=True, nogil=True)
def _joined(
    waiting: Cells, towards: Cells, lowest: Ground, is_open: Flags, into: Cells, climbs: Ground
) -> Cells:
    """Join each basin that waits to the one beyond its lowest pass; returns those that remain."""
    remain = np.empty_like(waiting)
    count = 0
    for basin in waiting:
        beyond = towards[basin]
        # of two that spill into each other the first one stays for both
        stays = beyond < 0 or (basin < beyond and not is_open[beyond] and towards[beyond] == basin)
        if stays:
            remain[count] = basin
            count += 1
        else:
            into[basin], climbs[basin] = beyond, lowest[basin]
    return remain[:count]


@njit(cache=True, nogil=True)
def levels(into: Cells, climbs: Ground, level: Ground) -> Cells:
    """Height to which water must stand in each basin to leave it, and the last basin on its way.

    ``level`` is that of the basins that spill into themselves, to begin with; it is overwritten.
    """
    last = np.full(len(into), -1, np.int32)
    path = np.empty(len(into), np.int32)
    for first in range(len(into)):
        count, basin = 0, first
        while last[basin] < 0 and into[basin] != basin:
            path[count] = basin
            count += 1
            basin = into[basin]
        if last[basin] < 0:
            last[basin] = basin
        while count > 0:
            count -= 1
            before = path[count]
            level[before], last[before] = max(climbs[before], level[basin]), last[basin]
            basin = before
    return last
