"""Ground under lines: heights at points, and places that are too steep for a vehicle."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from affine import Affine
from scipy.ndimage import correlate1d, map_coordinates

from playsite.terrain.burning import outlines

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["heights_at", "padded_window_of", "steep_ground", "window_of"]

_FEWEST_CELLS = 3
_SPECK_M2 = 6.0


def heights_at(
    elevation: NDArray[np.floating], transform: Affine, xy: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Height of the ground at points, between the middles of the four cells round each.

    Parameters
    ----------
    elevation, transform
        Heights, m, NaN where nothing is known; north-up with square cells.
    xy
        (n, 2) easting and northing.

    Returns
    -------
    ndarray
        (n,) metres; NaN where one of the four is not known.

    Examples
    --------
    >>> ground = np.array([[0.0, 1.0], [2.0, 3.0]])
    >>> heights_at(ground, Affine(1, 0, 0, 0, -1, 2), np.array([[1.0, 1.0], [0.5, 1.5]])).tolist()
    [1.5, 0.0]
    """
    rows = (transform.f - xy[:, 1]) / transform.a - 0.5
    columns = (xy[:, 0] - transform.c) / transform.a - 0.5
    return np.asarray(
        map_coordinates(
            elevation, [rows, columns], order=1, mode="constant", cval=np.nan, output=np.float64
        )
    )


def window_of(
    elevation: NDArray[np.floating], transform: Affine, bounds: tuple[float, float, float, float]
) -> tuple[NDArray[np.floating], Affine]:
    """Cells of a raster inside some bounds, and where they lie.

    Examples
    --------
    >>> part, at = window_of(np.zeros((9, 9)), Affine(1, 0, 0, 0, -1, 9), (2, 1, 5, 7))
    >>> part.shape, at.c, at.f
    ((6, 3), 2.0, 7.0)
    """
    west, south, east, north = bounds
    size = transform.a
    left, right = int((west - transform.c) // size), int(-((transform.c - east) // size))
    top, bottom = int((transform.f - north) // size), int(-((south - transform.f) // size))
    left, top = max(left, 0), max(top, 0)
    at = Affine(size, 0, transform.c + left * size, 0, -size, transform.f - top * size)
    return elevation[top : max(bottom, top), left : max(right, left)], at


def padded_window_of(
    elevation: NDArray[np.floating], transform: Affine, bounds: tuple[float, float, float, float]
) -> tuple[NDArray[np.floating], Affine]:
    """Cells that cover some bounds, NaN where the raster doesn't reach.

    Examples
    --------
    >>> part, _ = padded_window_of(np.zeros((9, 9)), Affine(1, 0, 0, 0, -1, 9), (-2, 0, 3, 9))
    >>> part.shape, int(np.isnan(part).sum())
    ((9, 5), 18)
    """
    west, south, east, north = bounds
    size = transform.a
    left, right = int((west - transform.c) // size), int(-((transform.c - east) // size))
    top, bottom = int((transform.f - north) // size), int(-((south - transform.f) // size))
    whole = np.full((bottom - top, right - left), np.nan)
    rows = slice(max(top, 0), max(min(bottom, elevation.shape[0]), 0))
    columns = slice(max(left, 0), max(min(right, elevation.shape[1]), 0))
    part = elevation[rows, columns]
    if part.size:
        r, c = rows.start - top, columns.start - left
        whole[r : r + part.shape[0], c : c + part.shape[1]] = part
    return whole, Affine(size, 0, transform.c + left * size, 0, -size, transform.f - top * size)


def steep_ground(
    elevation: NDArray[np.floating], transform: Affine, *, limit_pct: float, over_m: float
) -> NDArray[np.object_]:
    """Outlines of ground that is steeper than a limit, measured over a vehicle's length.

    Parameters
    ----------
    elevation, transform
        Heights, m, NaN where nothing is known: unknown ground is not said to be steep.
    limit_pct
        Steepest grade, in any direction.
    over_m
        Side of the square through which the plane of least squares is laid.

    Returns
    -------
    ndarray
        Polygons; specks of less than 6 m² are left out.

    Examples
    --------
    A bank of 30 % between two lawns, 10 m wide:

    >>> height = np.clip(np.arange(60) - 25, 0, 10) * 0.3
    >>> ground = np.broadcast_to(height, (40, 60))
    >>> found = steep_ground(ground, Affine(1, 0, 0, 0, -1, 40), limit_pct=15, over_m=5)
    >>> len(found), bool(24 < found[0].bounds[0] < found[0].bounds[2] < 37)
    (1, True)
    """
    count = max(_FEWEST_CELLS, 2 * round((over_m / transform.a - 1) / 2) + 1)
    if min(elevation.shape) < count:
        return np.empty(0, dtype=object)
    off = np.arange(count) - count // 2
    slope, mean = off / (off**2).sum() / transform.a, np.full(count, 1 / count)
    heights: NDArray[Any] = np.asarray(elevation, dtype=np.float64)
    across, down = (
        correlate1d(
            correlate1d(heights, slope, axis, mode="constant", cval=np.nan),
            mean, 1 - axis, mode="constant", cval=np.nan,
        )
        for axis in (1, 0)
    )  # fmt: skip
    with np.errstate(invalid="ignore"):
        steep = 100 * np.hypot(across, down) > limit_pct
    found = outlines(steep, transform)
    found = found[shapely.area(found) >= _SPECK_M2]
    return np.asarray(shapely.simplify(found, transform.a), dtype=object)
