"""The way that water takes from a place, down to where it is gone."""

import math

import numpy as np
import shapely
from affine import Affine
from numba import njit
from numpy.typing import ArrayLike, NDArray

from playsite.terrain.run_on import single_ways

Cells = NDArray[np.int64]


def way_down(
    elevation: ArrayLike, transform: Affine, easting_m: float, northing_m: float
) -> shapely.LineString | None:
    """Line of steepest fall from a place, over hollows that are full, to the elevation's end.

    Parameters
    ----------
    elevation
        2-D array, m; NaN where missing: water that reaches such a cell is gone.
    transform
        From column and row to easting and northing, m; north-up.
    easting_m, northing_m
        The place.

    Returns
    -------
    LineString or None
        Through the middles of cells; None where the place has no elevation or no way on.

    Raises
    ------
    ValueError
        If the elevation is not 2-D or the raster rotated.

    Examples
    --------
    >>> south = np.repeat(np.arange(5.0)[::-1, None], 3, axis=1)
    >>> way_down(south, Affine(1, 0, 0, 0, -1, 5), 1.5, 3.5).wkt
    'LINESTRING (1.5 3.5, 1.5 2.5, 1.5 1.5, 1.5 0.5)'
    """
    column, row = (math.floor(each) for each in ~transform @ (easting_m, northing_m))
    ways = single_ways(elevation, transform)
    rows, columns = ways.shape
    if not (0 <= row < rows - 2 and 0 <= column < columns - 2):
        return None
    cells = _followed(ways.ravel(), columns, (row + 1) * columns + column + 1)
    if len(cells) < 2:
        return None
    down, across = np.divmod(cells, columns)
    middles = [transform @ (c - 0.5, r - 0.5) for r, c in zip(down, across, strict=True)]
    return shapely.LineString(middles)


@njit(cache=True, nogil=True)
def _followed(ways: NDArray[np.uint8], columns: int, first: int) -> Cells:
    """Cells from one on, each giving to the next; the ring of missing cells gives to none."""
    steps = np.array(
        [-columns - 1, -columns, -columns + 1, -1, 1, columns - 1, columns, columns + 1]
    )
    path, cell, count = np.empty(ways.size, np.int64), first, 0
    while count < ways.size:
        path[count] = cell
        count += 1
        given = -1
        for way in range(8):
            if ways[cell] >> way & 1:
                given = way
        if given < 0 or ways[cell + steps[given]] == 0:
            if given >= 0:
                path[count] = cell + steps[given]
                count += 1
            break
        cell = cell + steps[given]
    return path[:count]
