"""Fill the ground's closed hollows to the brim, exactly: basins, and how they spill."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

import numpy as np
from numba import njit

from playsite.engine import in_threads
from playsite.terrain._basins import basins, lowest_beside, passes
from playsite.terrain._spilling import levels, spilling
from playsite.terrain.grid import checked_elevation, checked_out

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Ground: TypeAlias = NDArray[np.floating]
    Cells: TypeAlias = NDArray[np.int32]
    Labels: TypeAlias = NDArray[np.uint16]
    Passes: TypeAlias = tuple[Cells, Cells, Ground]

SIDE = 256
"""Cells along a tile: small enough for the processor's own memory, and for 16-bit numbers."""


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
    R. Barnes, C. Lehman, D. Mulla (2014), "Priority-flood: an optimal depression-filling and
    watershed-labeling algorithm for digital elevation models", Computers & Geosciences 62,
    117-127. No queue of cells is needed for it. All cells whose water comes to one lowest cell
    are a basin, which spills over its lowest pass into the next one; a cell stands at its own
    height or at the level of its basin, whichever is higher. That level is the greatest pass on
    the basin's way out in the tree of least passes, which joins every basin to another by its
    own lowest one, again and again: O. Boruvka (1926), in the way of G. Cordonnier, B. Bovy,
    J. Braun (2019), "A versatile, linear complexity algorithm for flow routing in topographies
    with depressions", Earth Surface Dynamics 7, 549-562. Tiles are first solved by themselves,
    basins at their borders left open, then joined: R. Barnes (2016), "Parallel priority-flood
    depression filling for trillion cell digital elevation models on desktops or clusters",
    Computers & Geosciences 96, 56-68 (all four from memory).

    Examples
    --------
    >>> pit = np.array([[5.0, 5, 5, 5], [5, 1, 2, 5], [5, 5, 4, 3], [5, 5, 5, 5]])
    >>> filled(pit)[1]
    array([5., 3., 3., 5.])
    """
    ground = checked_elevation(elevation)
    out = checked_out(out, ground)
    basin = np.empty(ground.shape, np.uint16)
    rows, columns = (range(0, length, SIDE) for length in ground.shape)
    corners = [(row, column) for row in rows for column in columns]
    tiles = list(in_threads(lambda at: _solved(ground, basin, *at), corners))
    if not tiles:
        return out
    levels_of = _joined(ground, basin, tiles, (len(rows), len(columns)))
    work = list(zip(corners, levels_of, strict=True))
    for _ in in_threads(lambda each: _raise(ground, basin, *each[0], each[1], out), work):
        pass
    return out


class _Tile(NamedTuple):
    """What others need to know of a tile: its basins, and how those left open are joined.

    ``node`` and ``level`` have one entry for each basin: the open one that its water comes to,
    numbered from 1 (0 is the outside), and the height at which it does.
    """

    node: Cells
    level: Ground
    nodes: int
    ways: Passes


def _joined(
    ground: Ground, basin: Labels, tiles: list[_Tile], shape: tuple[int, int]
) -> list[Ground]:
    """How high water must stand in the basins of each tile before it is outside."""
    before = np.cumsum([0, *(tile.nodes for tile in tiles)])

    def of_all(own: Cells, tile: int) -> Cells:
        return np.where(own > 0, own + before[tile], 0).astype(np.int32)

    node = [of_all(tile.node, k) for k, tile in enumerate(tiles)]
    start = np.cumsum([0, *(len(own) for own in node[:-1])]).reshape(shape)
    seams = _seams(ground, basin, np.concatenate(node), start)
    inner = [(of_all(t.ways[0], k), of_all(t.ways[1], k), t.ways[2]) for k, t in enumerate(tiles)]
    one, other, height = (np.concatenate(parts) for parts in zip(seams, *inner, strict=True))
    is_open = np.zeros(before[-1] + 1, np.bool_)
    is_open[0] = True
    into, climbs, _ = spilling(one, other, height, is_open)
    level = np.full(len(is_open), -math.inf, ground.dtype)
    levels(into, climbs, level)
    return [np.maximum(tile.level, level[own]) for tile, own in zip(tiles, node, strict=True)]


def _solved(ground: Ground, basin: Labels, top: int, left: int) -> _Tile:
    """Number a tile's basins, and let all spill that have no cell at its border."""
    own = _with_ring(ground, top, left)
    inner = (slice(1, -1), slice(1, -1))
    count, number = basins(own, lowest_beside(own))
    basin[top : top + SIDE, left : left + SIDE] = number[inner]
    is_open = np.zeros(count, np.bool_)
    is_open[0] = True
    for line in (number[inner][0], number[inner][-1], number[inner][:, 0], number[inner][:, -1]):
        is_open[line] = True
    into, climbs, (one, other, height) = spilling(*passes(own, number), is_open)
    level = np.full(count, -math.inf, ground.dtype)
    last = levels(into, climbs, level)
    node = (np.cumsum(is_open) - 1).astype(np.int32)
    # of the passes between open basins the tree of the lowest ones is enough
    all_spill = np.zeros(is_open.sum(), np.bool_)
    into, climbs, _ = spilling(node[one], node[other], height, all_spill)
    tree = np.flatnonzero(into != np.arange(len(into))).astype(np.int32)
    return _Tile(node[last], level, len(into) - 1, (tree, into[tree], climbs[tree]))


def _with_ring(ground: Ground, top: int, left: int) -> Ground:
    """Tile with a ring: the outside, -inf, where the raster ends; NaN where other tiles begin."""
    tile = ground[top : top + SIDE, left : left + SIDE]
    rows, columns = tile.shape
    own = np.full((rows + 2, columns + 2), np.nan, ground.dtype)
    own[1:-1, 1:-1] = np.where(np.isnan(tile), -math.inf, tile)
    if top == 0:
        own[0] = -math.inf
    if left == 0:
        own[:, 0] = -math.inf
    if top + rows == ground.shape[0]:
        own[-1] = -math.inf
    if left + columns == ground.shape[1]:
        own[:, -1] = -math.inf
    return own


@njit(cache=True, nogil=True)
def _seams(ground: Ground, basin: Labels, node: Cells, start: NDArray[np.int64]) -> Passes:
    """Passes between neighbours in different tiles.

    ``node`` is that of all basins, tile after tile; ``start`` the place of each tile's first.
    """
    rows, columns = ground.shape
    room = 3 * ((rows - 1) // SIDE * columns + (columns - 1) // SIDE * rows)
    one, other = np.empty(room, np.int32), np.empty(room, np.int32)
    climb = np.empty(room, ground.dtype)
    count = 0
    for is_down in (True, False):
        for line in range(SIDE, rows if is_down else columns, SIDE):
            length = columns if is_down else rows
            for at in range(length):
                here = (line - 1, at) if is_down else (at, line - 1)
                a = node[start[here[0] // SIDE, here[1] // SIDE] + basin[here]]
                for beside in range(max(at - 1, 0), min(at + 2, length)):
                    there = (line, beside) if is_down else (beside, line)
                    b = node[start[there[0] // SIDE, there[1] // SIDE] + basin[there]]
                    if a == b:
                        continue
                    # a missing cell is the outside, at any height
                    low, high = ground[here], ground[there]
                    one[count], other[count] = a, b
                    climb[count] = high if not low > high else low
                    if math.isnan(high):
                        climb[count] = low
                    count += 1
    return one[:count], other[:count], climb[:count]


@njit(cache=True, nogil=True)
def _raise(ground: Ground, basin: Labels, top: int, left: int, level: Ground, out: Ground) -> None:
    """Raise a tile's cells to the level of their basin; a missing cell is never lower."""
    for row in range(top, min(top + SIDE, ground.shape[0])):
        for column in range(left, min(left + SIDE, ground.shape[1])):
            water, height = level[basin[row, column]], ground[row, column]
            out[row, column] = water if height < water else height  # noqa: FURB136 - NaN stays
