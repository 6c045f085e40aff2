"""Water arriving from above: which ground drains through a pad, and how much of it."""

import math
from dataclasses import dataclass

import numpy as np
from affine import Affine
from numba import njit
from numpy.typing import ArrayLike, NDArray

from playsite.terrain import _routing
from playsite.terrain.filling import filled
from playsite.terrain.grid import (
    cell_size_m,
    checked_elevation,
    checked_half_sides_m,
    checked_places,
    columns_in_pad,
    first_centre,
    rows_in_pad,
)

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

LEAST_CUT_SHARE = 0.01
"""Less than this share of a border cell's water counts for nothing (a choice, no source)."""


@dataclass(frozen=True)
class RunOn:
    """Ground that drains through a pad.

    Attributes
    ----------
    shares
        Raster: share of a cell's water that reaches the pad, 1 on it, 0 where none does; NaN
        without elevation.
    inflow_m2
        Raster: area whose water enters the pad at each of its cells, over its outline, m2; 0 off
        the pad; NaN without elevation.
    pad_m2
        Area of the pad's cells that have elevation, m2.
    catchment_m2
        Area that drains through the pad, the pad included, m2.
    is_lower_bound
        Whether the edge of the data, or a gap in it, cuts the catchment: it is at least this.
    """

    shares: Floats
    inflow_m2: Floats
    pad_m2: float
    catchment_m2: float
    is_lower_bound: bool

    @property
    def run_on_m2(self) -> float:
        """Area off the pad whose water arrives over the pad's outline, m2."""
        return self.catchment_m2 - self.pad_m2


@dataclass(frozen=True)
class _Routes:
    """Filled ground with a ring of missing cells, and where each cell's water goes."""

    level: Floats
    flat: NDArray[np.int32]
    steps: NDArray[np.int64]
    ways: NDArray[np.uint8]

    def widened(self, mask: Flags) -> Flags:
        """Mask of known cells only, flat and with the ring."""
        return np.pad(mask, 1).ravel() & ~np.isnan(self.level).ravel()

    def of_raster(self, values: Floats) -> Floats:
        """Values without the ring; NaN without elevation."""
        raster: Floats = np.where(np.isnan(self.level), np.nan, values.reshape(self.level.shape))
        return raster[1:-1, 1:-1]


def accumulate(elevation: ArrayLike, transform: Affine, *, multiple: bool = True) -> Floats:
    """Area that drains through each cell, the cell included, m2.

    Parameters
    ----------
    elevation
        2-D array, m; NaN where missing.
    transform
        From column and row to easting and northing, m; north-up.
    multiple
        Divide water among all lower neighbours; else all of it goes the steepest way, which makes
        stripes on even ground.

    Returns
    -------
    ndarray of float64
        m2; NaN where the elevation is missing.

    Raises
    ------
    ValueError
        If the elevation is not 2-D or the raster rotated.

    Notes
    -----
    Hollows are filled. Level ground drains towards lower and away from higher ground: R. Barnes,
    C. Lehman, D. Mulla (2014), "An efficient assignment of drainage direction over flat surfaces
    in raster digital elevation models", Computers & Geosciences 62, 128-135. Water divides as
    slope^1.1: T. G. Freeman (1991), "Calculating catchment area with divergent flow based on a
    regular grid", Computers & Geosciences 17(3), 413-422 (both from memory). Water leaves over
    the raster's edge and into missing cells, but only where no known neighbour lies lower.

    Examples
    --------
    >>> accumulate([[3.0], [2.0], [1.0]], Affine(2, 0, 0, 0, -2, 6)).ravel()
    array([ 4.,  8., 12.])
    """
    cell_m = cell_size_m(transform)
    routes = _routes(elevation, multiple=multiple)
    everywhere = ~np.isnan(routes.level).ravel()
    area_m2 = _added_up(routes, everywhere, ~everywhere)
    area_m2 *= cell_m**2  # in place: large rasters fill the memory
    area_m2[~everywhere] = np.nan
    return area_m2.reshape(routes.level.shape)[1:-1, 1:-1]


def single_ways(elevation: ArrayLike, transform: Affine) -> NDArray[np.uint8]:
    """Bit of the one neighbour that each cell's water runs to, north-west first; 0: it is gone there.

    Parameters and errors as :func:`accumulate`; the raster has a ring of missing cells round it.
    """
    cell_size_m(transform)
    routes = _routes(checked_elevation(elevation), multiple=False)
    return routes.ways.reshape(routes.level.shape)


def run_on(
    elevation: ArrayLike,
    transform: Affine,
    place: ArrayLike,
    *,
    length_m: float,
    width_m: float,
) -> RunOn:
    """Ground that drains through a rectangular pad.

    Only the ground above the pad is walked. Storm drains, kerbs and culverts do not show in an
    elevation: condition it first where they are known.

    Parameters
    ----------
    elevation
        2-D array, m, of the whole watershed if it can be had; NaN where missing.
    transform
        From column and row to easting and northing, m; north-up.
    place
        Easting m and northing m of the pad's centre, rotation of its long side in degrees,
        anticlockwise from east.
    length_m, width_m
        Long and short side, m.

    Returns
    -------
    RunOn
        Of nothing where no cell of the pad has elevation.

    Raises
    ------
    ValueError
        If the raster is rotated or a size makes no sense.

    Notes
    -----
    share(c) = sum over the receivers n of c of fraction(c to n) x share(n), 1 on the pad. The sum
    of the shares is the catchment. Water divides as in :func:`accumulate`.

    Examples
    --------
    >>> plane = np.repeat(np.arange(40.0)[::-1, None], 60, axis=1)
    >>> found = run_on(plane, Affine(1, 0, 0, 0, -1, 40), [30, 4.5, 0], length_m=10, width_m=1)
    >>> found.pad_m2, round(found.catchment_m2, 6), found.is_lower_bound
    (10.0, 360.0, True)
    """
    ground = checked_elevation(elevation)
    return run_on_mask(
        ground,
        transform,
        pad_mask(ground.shape, transform, place, length_m=length_m, width_m=width_m),
    )


def run_on_mask(elevation: ArrayLike, transform: Affine, pad: NDArray[np.bool_]) -> RunOn:
    """Ground that drains through any set of cells; else as :func:`run_on`.

    Raises
    ------
    ValueError
        If the raster is rotated or the mask is of another shape.
    """
    ground, cell_area_m2 = checked_elevation(elevation), cell_size_m(transform) ** 2
    if pad.shape != ground.shape:
        raise ValueError(f"The pad's cells are {pad.shape}, but the elevation is {ground.shape}.")
    routes = _routes(ground, multiple=True)
    on_pad = routes.widened(pad)
    shares = _routing.climb(
        routes.ways, routes.level.ravel(), routes.flat, routes.steps, np.nonzero(on_pad)[0]
    )
    inflow = np.where(on_pad, _added_up(routes, shares > 0, on_pad) - 1, 0.0)
    share = routes.of_raster(shares)
    return RunOn(
        shares=share,
        inflow_m2=cell_area_m2 * routes.of_raster(inflow),
        pad_m2=float(np.count_nonzero(on_pad) * cell_area_m2),
        catchment_m2=float(np.nansum(share) * cell_area_m2),
        is_lower_bound=bool((share[_at_the_edge(ground)] >= LEAST_CUT_SHARE).any()),
    )


def pad_mask(
    shape: tuple[int, ...],
    transform: Affine,
    place: ArrayLike,
    *,
    length_m: float,
    width_m: float,
) -> NDArray[np.bool_]:
    """Cells of a raster whose centre lies inside a pad.

    Raises
    ------
    ValueError
        If the raster is rotated or a size makes no sense.
    """
    where = checked_places(np.reshape(np.asarray(place, np.float64), (1, -1)))
    mask = np.zeros(shape, np.bool_)
    _mark(where[0], checked_half_sides_m(length_m, width_m), first_centre(transform), mask)
    return mask


@njit(cache=True, nogil=True)
def _mark(
    place: Floats, half: tuple[float, float], grid: tuple[float, float, float], out: Flags
) -> None:
    top, bottom = rows_in_pad(place, half, grid)
    for row in range(max(top, 0), min(bottom + 1, out.shape[0])):
        left, right = columns_in_pad(row, place, half, grid)
        out[row, max(left, 0) : max(right + 1, 0)] = True


def _routes(elevation: ArrayLike, *, multiple: bool) -> _Routes:
    level = np.pad(filled(elevation).astype(np.float64), 1, constant_values=math.nan)
    steps = _routing.around(level.shape[1])
    flat = _routing.flat_steps(level, _routing.drops(level), steps)
    return _Routes(level, flat, steps, _routing.ways_down(level, flat, steps, 8 if multiple else 1))


def _added_up(routes: _Routes, used: Flags, taken: Flags) -> Floats:
    total: Floats = _routing.add_up(
        routes.ways, routes.level.ravel(), routes.flat, routes.steps, used, taken
    )
    return total


def _at_the_edge(ground: NDArray[np.floating]) -> Flags:
    """Cells at the raster's edge or beside a missing one."""
    missing = np.pad(np.isnan(ground), 1, constant_values=True)
    rows, columns = ground.shape
    beside = np.zeros(ground.shape, np.bool_)
    for down in range(3):
        for right in range(3):
            beside |= missing[down : down + rows, right : right + columns]
    return beside
