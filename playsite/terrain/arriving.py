"""How much land drains through each of many pads, without following each one's water uphill."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numba import njit

from playsite.terrain._routing import fractions
from playsite.terrain.grid import cell_size_m

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from playsite.terrain.drainage import Drainage

    Floats = NDArray[np.float64]
    Cells = NDArray[np.int64]
    Numbers = NDArray[np.int32]
    Ground = tuple[NDArray[np.uint8], Floats, Numbers, Cells, Floats]
    Marks = tuple[int, int, Numbers, Cells]

__all__ = ["arriving_m2"]


def arriving_m2(ways: Drainage, pads: Sequence[NDArray[np.intp]]) -> Floats:
    """Land that drains through each pad, itself not counted.

    Parameters
    ----------
    ways
        Of the water over all the ground.
    pads
        Of each pad (k, 2) rows and columns of its cells.

    Returns
    -------
    ndarray of float64
        (n,) m2; NaN where a pad has no cell with elevation.

    Notes
    -----
    What lies above a pad is what drains through the cells that give to it, less the water that
    has been on the pad before: of that, all comes through cells that the pad's own water reaches,
    none lower than its lowest, so only those few are followed. The same figure as adding up
    ``Drainage.shares``.
    """
    columns = ways.routes.level.shape[1]
    cells = [(pad[:, 0] + 1) * columns + pad[:, 1] + 1 for pad in pads]
    begins = np.concatenate([[0], np.cumsum([len(each) for each in cells])]).astype(np.int64)
    flat = np.concatenate([*cells, np.zeros(0, np.int64)]).astype(np.int64)
    at, out = ways.routes, np.empty(len(pads))
    ground = (at.ways, at.level.ravel(), at.flat, at.steps, ways.accumulated)
    _arriving(flat, begins, ground, out)
    return cell_size_m(ways.transform) ** 2 * out


@njit(cache=True, nogil=True)
def _arriving(cells: Cells, begins: Cells, ground: Ground, out: Floats) -> None:
    """Cells of land above each pad, one pad after the other with the same working memory."""
    size = len(ground[1])
    owner, slot = np.full(size, -1, np.int32), np.full(size, -1, np.int64)
    reached = owner.copy()
    zone, ready = np.empty(size, np.int64), np.empty(size, np.int64)
    through, awaited = np.empty(size), np.empty(size, np.uint8)
    base = 0
    for pad in range(len(out)):
        own, marks = cells[begins[pad] : begins[pad + 1]], (pad, base, owner, slot)
        bottom = _marked(own, ground[1], owner, pad)
        if np.isnan(bottom):
            out[pad] = np.nan
            continue
        _reach(own, bottom, ground, marks, reached, ready)
        count, out[pad] = _zone(own, ground, marks, reached, zone), 0.0
        for cell in own:
            out[pad] += _from_above(cell, ground, marks)[0]
        for at in range(count):
            through[at], awaited[at] = _from_above(zone[at], ground, marks)
            through[at] += 1.0
        out[pad] += _down(zone[:count], ground, marks, through, awaited, ready)
        base += count


@njit(cache=True, nogil=True)
def _marked(own: Cells, height: Floats, owner: Numbers, pad: int) -> float:
    """Mark the pad's cells and give the height of its lowest; NaN where none has elevation."""
    bottom = np.nan
    for cell in own:
        owner[cell] = pad
        if not np.isnan(height[cell]) and not bottom <= height[cell]:
            bottom = height[cell]
    return bottom


@njit(cache=True, nogil=True)
def _reach(
    own: Cells, bottom: float, ground: Ground, marks: Marks, reached: Numbers, queue: Cells
) -> None:
    """Mark the cells that the pad's water runs through, down to its lowest cell."""
    ways, height, _, steps, _ = ground
    pad, _, owner, _ = marks
    count, at = 0, -len(own)
    while at < count:
        cell = own[at + len(own)] if at < 0 else queue[at]
        at += 1
        for way in range(8):
            beside = cell + steps[way]
            if not ways[cell] >> way & 1 or owner[beside] == pad or reached[beside] == pad:
                continue
            if height[beside] >= bottom:
                reached[beside], queue[count] = pad, beside
                count += 1


@njit(cache=True, nogil=True)
def _zone(own: Cells, ground: Ground, marks: Marks, reached: Numbers, zone: Cells) -> int:
    """Number the cells above the pad that its own water reaches; give how many."""
    ways, _, _, steps, _ = ground
    pad, base, owner, slot = marks
    count, at = 0, -len(own)
    while at < count:
        cell = own[at + len(own)] if at < 0 else zone[at]
        at += 1
        for way in range(8):
            giver = cell + steps[way]
            if not ways[giver] >> (7 - way) & 1 or owner[giver] == pad:
                continue
            if reached[giver] == pad and slot[giver] < base:
                slot[giver], zone[count] = base + count, giver
                count += 1
    return count


@njit(cache=True, nogil=True)
def _from_above(cell: int, ground: Ground, marks: Marks) -> tuple[float, int]:
    """Water that a cell gets from beyond zone and pad, and how many of the zone give to it."""
    ways, height, flat, steps, total = ground
    pad, base, owner, slot = marks
    share, water, waits = np.empty(8), 0.0, 0
    for way in range(8):
        giver = cell + steps[way]
        if not ways[giver] >> (7 - way) & 1 or owner[giver] == pad:
            continue
        if slot[giver] >= base:
            waits += 1
        else:
            fractions(giver, ways, height, flat, steps, share)
            water += share[7 - way] * total[giver]
    return water, waits


@njit(cache=True, nogil=True)
def _down(
    zone: Cells,
    ground: Ground,
    marks: Marks,
    through: Floats,
    awaited: NDArray[np.uint8],
    ready: Cells,
) -> float:
    """Hand the water of the zone on, each cell once it has got it all; give what the pad gets."""
    ways, height, flat, steps, _ = ground
    pad, base, owner, slot = marks
    share, arrived, count = np.empty(8), 0.0, 0
    for at in range(len(zone)):
        if awaited[at] == 0:
            ready[count] = at
            count += 1
    while count > 0:
        count -= 1
        at = ready[count]
        fractions(zone[at], ways, height, flat, steps, share)
        for way in np.nonzero(share)[0]:
            beside = zone[at] + steps[way]
            if owner[beside] == pad:
                arrived += share[way] * through[at]
            elif slot[beside] >= base:
                to = slot[beside] - base
                through[to] += share[way] * through[at]
                awaited[to] -= 1
                if awaited[to] == 0:
                    ready[count] = to
                    count += 1
    return arrived
