"""Where the cells of a raster lie, and which of them have their centre inside a pad."""

import math

import numpy as np
import shapely
from affine import Affine
from numba import njit
from numpy.typing import ArrayLike, NDArray
from shapely.geometry.base import BaseGeometry

ON_THE_LINE_M = 1e-6
"""A centre this close to a pad's outline counts as inside: rounding must not decide."""


def cell_size_m(transform: Affine) -> float:
    """Side of a raster's square cells.

    Parameters
    ----------
    transform
        From column and row to easting and northing, m.

    Returns
    -------
    float
        Side of a cell, m.

    Raises
    ------
    ValueError
        If the raster is rotated, not north-up, or its cells are not square.

    Examples
    --------
    >>> cell_size_m(Affine(0.5, 0, 1000, 0, -0.5, 2000))
    0.5
    """
    wide, turned_x, turned_y, tall = transform.a, transform.b, transform.d, -transform.e
    if turned_x != 0 or turned_y != 0 or wide <= 0 or tall <= 0:
        raise ValueError(
            f"The raster must be north-up and not rotated, but its transform is {transform!r}: "
            "warp it to a north-up grid first."
        )
    if not math.isclose(wide, tall, rel_tol=1e-4):
        raise ValueError(
            f"The raster's cells must be square, but they are {wide} m wide and {tall} m tall: "
            "resample it to square cells first."
        )
    return float(wide)


def first_centre(transform: Affine) -> tuple[float, float, float]:
    """Easting and northing of the north-west cell's centre, and the side of a cell, all in m.

    Examples
    --------
    >>> first_centre(Affine(2, 0, 100, 0, -2, 900))
    (101.0, 899.0, 2.0)
    """
    cell_m = cell_size_m(transform)
    return transform.c + cell_m / 2, transform.f - cell_m / 2, cell_m


def checked_elevation(elevation: ArrayLike) -> NDArray[np.floating]:
    """Elevation as a contiguous 2-D array of float32 or float64, copied only where it must be.

    A masked array's mask becomes NaN: plain conversion would drop it without a word.

    Raises
    ------
    ValueError
        If it is not two-dimensional.
    """
    array = np.asarray(elevation)
    if array.ndim != 2:
        raise ValueError(f"Elevation must be a 2-D array, but its shape is {array.shape}.")
    kind: type[np.floating] = np.float32 if array.dtype == np.float32 else np.float64
    ground = np.ascontiguousarray(array, dtype=kind)
    if isinstance(elevation, np.ma.MaskedArray):
        ground = np.where(np.ma.getmaskarray(elevation), kind(np.nan), ground)
    return ground


def checked_out(
    out: NDArray[np.floating] | None, ground: NDArray[np.floating]
) -> NDArray[np.floating]:
    """Array to write to: the one given, if it is like the ground, or a new one.

    Raises
    ------
    ValueError
        If its shape, kind or layout is not that of the ground.
    """
    if out is None:
        return np.empty_like(ground)
    if out.shape != ground.shape or out.dtype != ground.dtype or not out.flags.c_contiguous:
        raise ValueError(
            f"The array to write to must be contiguous {ground.dtype} of shape {ground.shape}, "
            f"but it is {out.dtype} of shape {out.shape}."
        )
    return out


def checked_places(places: ArrayLike) -> NDArray[np.float64]:
    """Places as an (n, 3) array of easting m, northing m and rotation of the long side, degrees.

    Raises
    ------
    ValueError
        If the array has another shape.
    """
    array = np.ascontiguousarray(places, dtype=np.float64)
    if array.ndim != 2 or array.shape[1] != 3:
        raise ValueError(
            "Places must be an (n, 3) array of easting, northing and rotation, "
            f"but the shape is {array.shape}."
        )
    return array


def checked_half_sides_m(length_m: float, width_m: float) -> tuple[float, float]:
    """Half of a pad's long and short side, m.

    Raises
    ------
    ValueError
        If a side is not a positive number.
    """
    if not (0 < length_m < math.inf and 0 < width_m < math.inf):
        raise ValueError(f"A pad's sides must be above 0 m, but they are {length_m} x {width_m} m.")
    return length_m / 2, width_m / 2


@njit(cache=True, nogil=True)
def rows_in_pad(
    place: NDArray[np.float64],
    half: tuple[float, float],
    grid: tuple[float, float, float],
) -> tuple[int, int]:
    """First and last row of cells with a centre in a pad's bounding box, rows outside included.

    Empty, the last before the first, for a place that is not finite.
    """
    if not np.isfinite(place).all():
        return 0, -1
    turn = math.radians(place[2])
    reach = half[0] * abs(math.sin(turn)) + half[1] * abs(math.cos(turn)) + ON_THE_LINE_M
    middle = (grid[1] - place[1]) / grid[2]
    return math.ceil(middle - reach / grid[2]), math.floor(middle + reach / grid[2])


@njit(cache=True, nogil=True)
def columns_in_pad(
    row: int,
    place: NDArray[np.float64],
    half: tuple[float, float],
    grid: tuple[float, float, float],
) -> tuple[int, int]:
    """First and last column of a row's cells with a centre in a pad, columns outside included.

    The pad is where two strips cross, |x cos + y sin| <= half length and |y cos - x sin| <= half
    width; each cuts a row in one interval. Empty when the last column is before the first.
    """
    turn = math.radians(place[2])
    cosine, sine = math.cos(turn), math.sin(turn)
    y = grid[1] - row * grid[2] - place[1]
    low, high = -math.inf, math.inf
    for along, across, reach in ((cosine, sine, half[0]), (-sine, cosine, half[1])):
        if abs(along) > 1e-12:
            middle = -y * across / along
            span = (reach + ON_THE_LINE_M) / abs(along)
            low, high = max(low, middle - span), min(high, middle + span)
        elif abs(y * across) > reach + ON_THE_LINE_M:
            return 0, -1
    offset = place[0] - grid[0]
    return math.ceil((low + offset) / grid[2]), math.floor((high + offset) / grid[2])


def cells_within(
    shape: BaseGeometry, size: tuple[int, ...], transform: Affine
) -> NDArray[np.bool_]:
    """Cells of a raster of a size, rows by columns, whose middle lies in a shape.

    No rasterio here: its warnings escape where several threads work.
    """
    x, y, cell_m = first_centre(transform)
    down, across = np.indices(size)
    shapely.prepare(shape)
    return np.asarray(shapely.contains_xy(shape, x + across * cell_m, y - down * cell_m))
