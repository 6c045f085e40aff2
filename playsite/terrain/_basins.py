"""Which basin each cell's water comes to, and the passes between basins.

A pass is an entry of three arrays: the two basins it joins, and the height at which it does.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from numba import njit

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Ground: TypeAlias = NDArray[np.floating]
    Cells: TypeAlias = NDArray[np.int32]
    Flags: TypeAlias = NDArray[np.bool_]
    Passes: TypeAlias = tuple[Cells, Cells, Ground]

KNOWN = 4096
"""Places to remember passes by, a power of 2, so that the lowest of the same two is kept."""


@njit(cache=True, nogil=True)
def lowest_beside(ground: Ground) -> Cells:
    """Place, in the flat array, of each cell's lowest neighbour; its own where none is lower.

    Of equal heights the earlier cell counts as the lower one: no way leads round in a ring.
    NaN is never lower. ``ground`` has a ring around it, of cells that lead nowhere.
    """
    rows, columns = ground.shape
    place = np.arange(ground.size).astype(np.int32).reshape(ground.shape)
    # as wide as a 32-bit height: the compiler then does many cells at once
    here_, one, line = np.int32(0), np.int32(1), np.int32(columns)
    for row in range(1, rows - 1):
        north, here, south, out = ground[row - 1], ground[row], ground[row + 1], place[row]
        for k in range(1, columns - 1):
            low, to = here[k], here_
            low, to = (north[k - 1], -line - one) if north[k - 1] <= low else (low, to)
            low, to = (north[k], -line) if north[k] <= low else (low, to)
            low, to = (north[k + 1], -line + one) if north[k + 1] <= low else (low, to)
            low, to = (here[k - 1], -one) if here[k - 1] <= low else (low, to)
            low, to = (here[k + 1], one) if here[k + 1] < low else (low, to)
            low, to = (south[k - 1], line - one) if south[k - 1] < low else (low, to)
            low, to = (south[k], line) if south[k] < low else (low, to)
            low, to = (south[k + 1], line + one) if south[k + 1] < low else (low, to)
            out[k] += to
    return place.ravel()


@njit(cache=True, nogil=True)
def basins(ground: Ground, to: Cells) -> tuple[int, Cells]:
    """Number of basins, and that of each cell; 0 is the outside, where the ground is -inf.

    ``to`` is where each cell's water goes to next; it is overwritten. As all cells look twice
    as far ahead again and again, no way need be walked.
    """
    height, number = ground.ravel(), np.zeros(ground.size, np.int32)
    columns, count = ground.shape[1], 1
    for row in range(1, ground.shape[0] - 1):
        for cell in range(row * columns + 1, (row + 1) * columns - 1):
            if height[cell] == -math.inf:
                to[cell] = 0
            elif to[cell] == cell:
                number[cell] = count
                count += 1
    ahead = np.empty_like(to)
    while True:
        farther = 0
        for cell in range(len(to)):
            ahead[cell] = to[to[cell]]
            farther |= ahead[cell] ^ to[cell]
        if farther == 0:
            break
        to, ahead = ahead, to
    for cell in range(len(to)):
        ahead[cell] = number[to[cell]]
    return count, ahead.reshape(ground.shape)


@njit(cache=True, nogil=True)
def _choices(ground: Ground, basin: Cells, ends: Cells, second: Cells, many: Flags) -> None:
    """Basins that each cell's water may go down to: the least and greatest number, and others.

    ``ends`` holds both in one number, ``second`` the second least; ``many`` is true of four.
    """
    for row in range(1, ground.shape[0] - 1):
        z0, z1, z2 = ground[row - 1], ground[row], ground[row + 1]
        b0, b1, b2 = basin[row - 1], basin[row], basin[row + 1]
        both, third, four = ends[row], second[row], many[row]
        for k in range(1, len(z1) - 1):
            z, b = z1[k], b1[k]
            n0 = b0[k - 1] if z0[k - 1] <= z else b
            n1 = b0[k] if z0[k] <= z else b
            n2 = b0[k + 1] if z0[k + 1] <= z else b
            n3 = b1[k - 1] if z1[k - 1] <= z else b
            n4 = b1[k + 1] if z1[k + 1] < z else b
            n5 = b2[k - 1] if z2[k - 1] < z else b
            n6 = b2[k] if z2[k] < z else b
            n7 = b2[k + 1] if z2[k + 1] < z else b
            low = min(n0, n1, n2, n3, n4, n5, n6, n7, b)
            high = max(n0, n1, n2, n3, n4, n5, n6, n7, b)
            up, down = high, low
            for n in (n0, n1, n2, n3, n4, n5, n6, n7, b):
                up = min(up, n if n != low else high)
                down = max(down, n if n != high else low)
            both[k] = (low << np.int32(15)) | high
            third[k] = up
            four[k] = (up != down) & (up != high)


@njit(cache=True, nogil=True)
def _needed(row: int, ground: Ground, ends: Cells, second: Cells, many: Flags, out: Flags) -> None:
    """Cells of a row with a choice that no lower neighbour has too."""
    z0, z1, z2 = ground[row - 1], ground[row], ground[row + 1]
    e0, e1, e2 = ends[row - 1], ends[row], ends[row + 1]
    s0, s1, s2 = second[row - 1], second[row], second[row + 1]
    four = many[row]
    for k in range(1, len(z1) - 1):
        z, e, s = z1[k], e1[k], s1[k]
        d = (z0[k - 1] <= z) & (e0[k - 1] == e) & (s0[k - 1] == s)
        d |= (z0[k] <= z) & (e0[k] == e) & (s0[k] == s)
        d |= (z0[k + 1] <= z) & (e0[k + 1] == e) & (s0[k + 1] == s)
        d |= (z1[k - 1] <= z) & (e1[k - 1] == e) & (s1[k - 1] == s)
        d |= (z1[k + 1] < z) & (e1[k + 1] == e) & (s1[k + 1] == s)
        d |= (z2[k - 1] < z) & (e2[k - 1] == e) & (s2[k - 1] == s)
        d |= (z2[k] < z) & (e2[k] == e) & (s2[k] == s)
        d |= (z2[k + 1] < z) & (e2[k + 1] == e) & (s2[k + 1] == s)
        out[k] = ((e >> 15) != (e & 32767)) & (four[k] | ~d)


@njit(cache=True, nogil=True)
def passes(ground: Ground, basin: Cells) -> Passes:
    """Cells from which water may go down into two basins, at their own height.

    The lowest pass between two basins is among them: of two neighbours in different basins the
    higher one lies in its own basin and beside the other. Most others are left out.
    """
    columns = ground.shape[1]
    ends, second = np.zeros(ground.shape, np.int32), np.zeros(ground.shape, np.int32)
    many, needed = np.zeros(ground.shape, np.bool_), np.zeros(columns, np.bool_)
    where, known = np.empty(columns, np.int32), np.zeros(KNOWN, np.int32)
    _choices(ground, basin, ends, second, many)
    room = 8 * ground.size  # two a cell, one a pair of neighbours, more for the ring
    found = (np.empty(room, np.int32), np.empty(room, np.int32), np.empty(room, ground.dtype))
    count = 0
    for row in range(1, ground.shape[0] - 1):
        _needed(row, ground, ends, second, many, needed)
        cells = 0
        for k in range(1, columns - 1):
            where[cells] = k
            cells += needed[k]
        for k in where[:cells]:
            low, high, height = ends[row, k] >> 15, ends[row, k] & 32767, ground[row, k]
            count = _noted(low, high, height, found, known, count)
            if second[row, k] != high:
                count = _noted(low, second[row, k], height, found, known, count)
            if not many[row, k]:
                continue
            for down in range(row - 1, row + 2):
                for right in range(k - 1, k + 2):
                    is_later = down > row or (down == row and right >= k)
                    beside = ground[down, right]
                    if beside < height or (beside == height and not is_later):
                        count = _noted(low, basin[down, right], height, found, known, count)
    return found[0][:count], found[1][:count], found[2][:count]


@njit(cache=True, nogil=True)
def _noted(low: int, high: int, climb: float, found: Passes, known: Cells, count: int) -> int:
    """Keep a pass, or lower the one that is known between the two; returns how many there are."""
    one, other, height = found
    slot = (31 * low + high) & (KNOWN - 1)
    at = known[slot]
    if at < count and one[at] == low and other[at] == high:
        height[at] = min(height[at], climb)
        return count
    known[slot] = count
    one[count], other[count], height[count] = low, high, climb
    return count + 1
