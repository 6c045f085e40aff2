"""Which neighbours each cell's water runs to, across level ground too, and how it adds up.

All arrays are flat with a ring of missing cells around them, so that no neighbour needs a test
of bounds. The eight ways are numbered as in ``around``; the way back of way w is 7 - w.
"""

import math
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Cells = NDArray[np.signedinteger[Any]]
Ways = NDArray[np.uint8]
Flags = NDArray[np.bool_]

DONE = 255
"""Awaited by a cell that has handed on its water: more than eight neighbours can give."""

DIVERGENCE = 1.1
"""Power of the slope by which water divides: 1.1 keeps a cone's flow even (Freeman 1991)."""


def around(columns: int) -> Cells:
    """Steps in a flat array to the eight neighbours, from north-west to south-east."""
    return np.array(
        [-columns - 1, -columns, -columns + 1, -1, 1, columns - 1, columns, columns + 1]
    )


@njit(cache=True, nogil=True)
def drops(level: Floats) -> Flags:
    """Whether a cell's water can leave it downhill, or over the data's edge.

    ``level`` is 2-D with its ring; the answer is flat.
    """
    found = np.zeros(level.shape, np.bool_)
    for row in range(1, level.shape[0] - 1):
        north, here, south, out = level[row - 1], level[row], level[row + 1], found[row]
        for k in range(1, level.shape[1] - 1):
            z = here[k]
            # missing is no height: the water leaves there too
            all_hold = (north[k - 1] >= z) & (north[k] >= z) & (north[k + 1] >= z)
            all_hold &= (here[k - 1] >= z) & (here[k + 1] >= z)
            all_hold &= (south[k - 1] >= z) & (south[k] >= z) & (south[k + 1] >= z)
            out[k] = (not all_hold) & (z == z)  # noqa: PLR0124 - itself not missing
    return found.ravel()


@njit(cache=True, nogil=True)
def _spread(
    height: Floats, inside: Flags, steps: Cells, number: Cells, queue: Cells, queued: int
) -> int:
    """Number cells of level ground by their steps from those queued, which are numbered 1.

    Returns how many are queued in the end, those farthest away last.
    """
    at = 0
    while at < queued:
        cell = queue[at]
        at += 1
        for step in steps:
            beside = cell + step
            if inside[beside] and number[beside] == 0 and height[beside] == height[cell]:
                number[beside] = number[cell] + 1
                queue[queued] = beside
                queued += 1
    return queued


@njit(cache=True, nogil=True)
def _mark_sides(
    height: Floats, dropping: Flags, steps: Cells, patch: Cells, away: Cells, towards: Cells
) -> None:
    """Number 1 the cells beside higher ground, and those beside a way out at their own level."""
    for cell in patch:
        for step in steps:
            if height[cell + step] > height[cell]:
                away[cell] = 1
            elif dropping[cell + step] and height[cell + step] == height[cell]:
                towards[cell] = 1


@njit(cache=True, nogil=True)
def _ones(patch: Cells, number: Cells, queue: Cells) -> int:
    """Queue the cells of a patch that are numbered 1; returns how many there are."""
    count = 0
    for cell in patch:
        if number[cell] == 1:
            queue[count] = cell
            count += 1
    return count


@njit(cache=True, nogil=True)
def flat_steps(level: Floats, dropping: Flags, steps: Cells) -> Cells:
    """Heights in whole steps that drain level ground towards lower and away from higher ground.

    0 where the ground isn't level or a cell drops by itself. Each other cell has a neighbour of
    its own level whose number is less: one nearer to the way out counts two less, and steps
    away from the higher ground differ by one at most.
    """
    height = level.ravel()
    inside = ~dropping & ~np.isnan(height)
    away, towards = np.zeros(height.size, np.int32), np.zeros(height.size, np.int32)
    room = np.count_nonzero(inside)
    patch, queue = np.empty(room, np.int64), np.empty(room, np.int64)
    for first in range(height.size):
        if not inside[first] or towards[first] > 0:
            continue
        # one patch of level ground after the other: all it needs is near at hand
        away[first], patch[0] = 1, first
        size = _spread(height, inside, steps, away, patch, 1)
        for cell in patch[:size]:
            away[cell] = 0
        _mark_sides(height, dropping, steps, patch[:size], away, towards)
        high = _spread(height, inside, steps, away, queue, _ones(patch[:size], away, queue))
        farthest = away[queue[high - 1]] if high > 0 else 0
        _spread(height, inside, steps, towards, queue, _ones(patch[:size], towards, queue))
        for cell in patch[:size]:
            towards[cell] = 2 * towards[cell] + farthest - away[cell]
    return towards


@njit(cache=True, nogil=True)
def slope_to(cell: int, way: int, height: Floats, flat: Cells, steps: Cells) -> float:
    """Fall to a neighbour by its distance in cells; across level ground, in whole steps."""
    beside = cell + steps[way]
    far = 1.0 if way in (1, 3, 4, 6) else math.sqrt(2.0)
    if flat[cell] > 0:
        return (flat[cell] - flat[beside]) / far if height[beside] == height[cell] else 0.0
    return (height[cell] - height[beside]) / far


@njit(cache=True, nogil=True)
def ways_down(level: Floats, flat: Cells, steps: Cells, most: int) -> Ways:
    """Bits of the neighbours that each cell gives to: all lower ones, or if ``most`` is 1 one."""
    height = level.ravel()
    ways = np.zeros(height.size, np.uint8)
    for cell in range(height.size):
        if math.isnan(height[cell]):
            continue
        steepest = 0.0
        for way in range(8):
            slope = slope_to(cell, way, height, flat, steps)
            if most > 1 and slope > 0:
                ways[cell] |= np.uint8(1 << way)
            elif slope > steepest:
                steepest = slope
                ways[cell] = np.uint8(1 << way)
    return ways


@njit(cache=True, nogil=True)
def fractions(
    cell: int, ways: Ways, height: Floats, flat: Cells, steps: Cells, out: Floats
) -> None:
    """Share of a cell's water that each of the eight neighbours gets."""
    total = 0.0
    for way in range(8):
        out[way] = 0.0
        if ways[cell] >> way & 1:
            out[way] = slope_to(cell, way, height, flat, steps) ** DIVERGENCE
            total += out[way]
    for way in range(8):
        if out[way] > 0:
            out[way] /= total


@njit(cache=True, nogil=True)
def add_up(
    ways: Ways, height: Floats, flat: Cells, steps: Cells, used: Flags, taken: Flags
) -> Floats:
    """Cells that drain through each used cell, itself counted; what reaches a taken one stays.

    Every cell that gives to a used one must be used too. A cell hands on its water once it has
    got it all; the cells that are then ready come next, while what they need is near at hand.
    """
    total, awaited = np.zeros(height.size), _givers(ways, steps, used, taken)
    ready, share = np.empty(height.size, np.int64), np.empty(8)
    for first in range(height.size):
        if not used[first] or awaited[first] > 0:
            continue
        ready[0], count = first, 1
        while count > 0:
            count -= 1
            cell = ready[count]
            awaited[cell] = DONE
            total[cell] += 1.0
            if taken[cell]:
                continue
            alone = ways[cell] & (ways[cell] - 1) == 0
            if not alone:
                fractions(cell, ways, height, flat, steps, share)
            for way in range(8):
                beside = cell + steps[way]
                if not used[beside] or not ways[cell] >> way & 1:
                    continue
                total[beside] += total[cell] if alone else share[way] * total[cell]
                awaited[beside] -= 1
                if awaited[beside] == 0:
                    ready[count] = beside
                    count += 1
    return total


@njit(cache=True, nogil=True)
def _givers(ways: Ways, steps: Cells, used: Flags, taken: Flags) -> Ways:
    """How many used cells, those taken left out, give to each used cell."""
    count = np.zeros(ways.size, np.uint8)
    for cell in range(ways.size):
        if not used[cell] or taken[cell]:
            continue
        for way in range(8):
            if ways[cell] >> way & 1 and used[cell + steps[way]]:
                count[cell + steps[way]] += 1
    return count


@njit(cache=True, nogil=True)
def _look_up(ways: Ways, steps: Cells, found: Flags, queue: Cells, queued: int) -> Ways:
    """Find all cells above those queued; count each one's receivers among the cells found."""
    receivers = np.zeros(ways.size, np.uint8)
    at = 0
    while at < queued:
        cell = queue[at]
        at += 1
        for way in range(8):
            giver = cell + steps[way]
            if not ways[giver] >> (7 - way) & 1:
                continue
            receivers[giver] += 1
            if not found[giver]:
                found[giver] = True
                queue[queued] = giver
                queued += 1
    return receivers


@njit(cache=True, nogil=True)
def climb(ways: Ways, height: Floats, flat: Cells, steps: Cells, pad: Cells) -> Floats:
    """Share of each cell's water that reaches the pad: 1 on it, 0 where none does.

    Cells are found by going up from the pad. A cell's share is reckoned once those of all its
    receivers on the way are known: sum of fraction times the receiver's share.
    """
    shares, on_pad = np.zeros(height.size), np.zeros(height.size, np.bool_)
    on_pad[pad] = True
    queue, queued, at = np.empty(height.size, np.int64), len(pad), 0
    queue[:queued] = pad
    awaited = _look_up(ways, steps, on_pad.copy(), queue, queued)
    share = np.empty(8)
    while at < queued:
        cell = queue[at]
        at += 1
        if on_pad[cell]:
            shares[cell] = 1.0
        else:
            fractions(cell, ways, height, flat, steps, share)
            for way in range(8):
                shares[cell] += share[way] * shares[cell + steps[way]]
        for way in range(8):
            giver = cell + steps[way]
            if on_pad[giver] or not ways[giver] >> (7 - way) & 1:
                continue
            awaited[giver] -= 1
            if awaited[giver] == 0:
                queue[queued] = giver
                queued += 1
    return shares
