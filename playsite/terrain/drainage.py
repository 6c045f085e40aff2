"""Where all water of a piece of ground goes, found once and asked about many pads."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from affine import Affine
from numba import njit

from playsite.terrain import _routing
from playsite.terrain.grid import (
    cell_size_m,
    checked_elevation,
    columns_in_pad,
    first_centre,
    rows_in_pad,
)
from playsite.terrain.run_on import _added_up, _Routes, _routes

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

__all__ = ["Drainage", "drainage"]

Floats = np.ndarray[tuple[int, ...], np.dtype[np.float64]]


@dataclass(frozen=True)
class Drainage:
    """Ways of the water over some ground; made by :func:`drainage`."""

    routes: _Routes
    transform: Affine

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns of the ground."""
        rows, columns = self.routes.level.shape
        return rows - 2, columns - 2

    @cached_property
    def accumulated(self) -> NDArray[np.float64]:
        """Cells that drain through each cell, flat and with the ring of missing cells."""
        known = self.routes.widened(np.ones(self.shape, dtype=bool))
        return _added_up(self.routes, known, ~known)

    def cropped(self, rows: slice, columns: slice) -> Drainage:
        """Part of the ground, whose water runs as it does on the whole."""
        if (rows.start, columns.start, rows.stop, columns.stop) == (0, 0, *self.shape):
            return self
        near = (slice(rows.start, rows.stop + 2), slice(columns.start, columns.stop + 2))
        level, shape = self.routes.level[near], self.routes.level.shape
        ways = self.routes.ways.reshape(shape)[near].copy()
        # water comes from the ring's cells on the whole, but they are no part of this
        ways[[0, -1]] = ways[:, [0, -1]] = 0
        part = _Routes(
            np.ascontiguousarray(level),
            self.routes.flat.reshape(shape)[near].ravel(),
            _routing.around(level.shape[1]),
            ways.ravel(),
        )
        moved = self.transform @ Affine.translation(columns.start, rows.start)
        return Drainage(part, moved)

    def crossing_m2(
        self, places: ArrayLike, sides_m: ArrayLike, pad: NDArray[np.intp]
    ) -> NDArray[np.float64]:
        """Area whose water comes in over the uphill edge of each of many pads, m2.

        Of each cell at the edge what comes in less what goes out counts, where it is more than
        none: along a side that the water passes the two cancel. Quick, and near what
        :meth:`shares` gives: within a fifth on even ground, on noisy ground mostly more. Of pads
        one cell wide, across the slope, it may be far too little.

        Parameters
        ----------
        places
            (k, 3) middles of rectangles, m, and the rotation of their long side, degrees.
        sides_m
            (k, 2) long and short side.
        pad
            (k,) number of the pad that each rectangle belongs to, ascending from 0.

        Returns
        -------
        ndarray of float64
            (n,) m2; NaN where no cell of the pad has elevation.
        """
        where = np.ascontiguousarray(places, np.float64).reshape(-1, 3)
        half = np.ascontiguousarray(sides_m, np.float64).reshape(-1, 2) / 2
        count = int(pad.max(initial=-1)) + 1
        begins = np.searchsorted(pad, np.arange(count + 1))
        west, north, cell_m = first_centre(self.transform)
        ring = (west - cell_m, north + cell_m, cell_m)
        out = np.empty(count)
        at = self.routes
        height = at.level.ravel()
        ground = (at.ways, height, at.flat, at.steps, self.accumulated)
        _crossing(where, half, begins, ring, at.level.shape, ground, out)
        return cell_m**2 * out

    def shares(self, pad: NDArray[np.bool_]) -> NDArray[np.float64]:
        """Share of each cell's water that reaches some cells: 1 on them; NaN without elevation."""
        at, on_pad = self.routes, np.nonzero(self.routes.widened(pad))[0]
        return at.of_raster(
            _routing.climb(at.ways, at.level.ravel(), at.flat, at.steps, on_pad),
        )


def drainage(elevation: ArrayLike, transform: Affine) -> Drainage:
    """Find the ways of all water, as :func:`playsite.terrain.run_on.accumulate` does.

    Parameters
    ----------
    elevation
        2-D array, m; NaN where missing: water that reaches such a cell is gone.
    transform
        From column and row to easting and northing, m; north-up.

    Raises
    ------
    ValueError
        If the elevation is not 2-D or the raster rotated.

    Examples
    --------
    >>> from affine import Affine
    >>> south = drainage(np.repeat(np.arange(40.0)[::-1, None], 60, axis=1), Affine(1, 0, 0, 0, -1, 40))
    >>> south.crossing_m2([[30, 4.5, 0]], [[10, 1]], np.array([0])).round(6)
    array([350.])
    """
    cell_size_m(transform)
    return Drainage(_routes(checked_elevation(elevation), multiple=True), transform)


@njit(cache=True, nogil=True)
def _crossing(
    places: Floats,
    half: Floats,
    begins: NDArray[np.int64],
    grid: tuple[float, float, float],
    shape: tuple[int, int],
    ground: tuple[
        NDArray[np.uint8], Floats, NDArray[np.int32], NDArray[np.int64], NDArray[np.float64]
    ],
    out: Floats,
) -> None:
    """Cells that drain into each pad over its outline; the grid counts from the ring."""
    ways, height, flat, steps, total = ground
    owner = np.full(height.size, -1, np.int64)
    share = np.empty(8)
    for pad in range(len(out)):
        cells = _own(places, half, begins[pad : pad + 2], grid, shape, owner, pad)
        inflow, known = 0.0, False
        for cell in cells:
            if np.isnan(height[cell]):
                continue
            known, net = True, 0.0
            for way in range(8):
                giver = cell + steps[way]
                if owner[giver] != pad and ways[giver] >> (7 - way) & 1:
                    _routing.fractions(giver, ways, height, flat, steps, share)
                    net += share[7 - way] * total[giver]
            if net > 0:
                _routing.fractions(cell, ways, height, flat, steps, share)
                out_of, stays = 0.0, False
                for way in range(8):
                    if owner[cell + steps[way]] != pad:
                        out_of += share[way] * total[cell]
                    elif share[way] > 0:
                        stays = True
                # where nothing stays the water has run through, and not past
                net -= out_of if stays else 0.0
                inflow += max(net, 0.0)
        out[pad] = inflow if known else np.nan


@njit(cache=True, nogil=True)
def _own(
    places: Floats,
    half: Floats,
    rows_of_pad: NDArray[np.int64],
    grid: tuple[float, float, float],
    shape: tuple[int, int],
    owner: NDArray[np.int64],
    pad: int,
) -> NDArray[np.int64]:
    """Mark a pad's cells, of all its rectangles, and give each once."""
    rows, columns = shape
    cells = [np.int64(0) for _ in range(0)]
    for each in range(rows_of_pad[0], rows_of_pad[1]):
        sides = (half[each, 0], half[each, 1])
        top, bottom = rows_in_pad(places[each], sides, grid)
        for row in range(max(top, 1), min(bottom + 1, rows - 1)):
            left, right = columns_in_pad(row, places[each], sides, grid)
            for column in range(max(left, 1), min(right + 1, columns - 1)):
                cell = row * columns + column
                if owner[cell] != pad:
                    owner[cell] = pad
                    cells.append(np.int64(cell))
    found = np.empty(len(cells), np.int64)
    for at in range(len(cells)):
        found[at] = cells[at]
    return found
