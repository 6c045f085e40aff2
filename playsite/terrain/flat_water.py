"""Patches of exactly level ground: water that was flattened in the elevation."""

import math

import numpy as np
from affine import Affine
from numba import njit
from numpy.typing import ArrayLike, NDArray

from playsite.terrain.grid import cell_size_m, checked_elevation

Labels = NDArray[np.int32]


def level_patches(
    elevation: ArrayLike,
    transform: Affine,
    *,
    least_area_m2: float = 200.0,
    tolerance_m: float = 0.001,
) -> Labels:
    """Patches that are exactly level, as no ground is and flattened water is.

    A sign of water, not a proof: a slab, a roof left in, or heights rounded to the centimetre on
    nearly level ground look the same. Water that was not flattened does not show.

    Parameters
    ----------
    elevation
        2-D array, m; NaN where missing.
    transform
        From column and row to easting and northing, m; north-up.
    least_area_m2
        Smaller patches are left out, m2.
    tolerance_m
        How far a cell may lie from the patch's first (most northerly) cell, m.

    Returns
    -------
    ndarray of int32
        1, 2, ... in each patch, 0 elsewhere and where the elevation is missing.

    Raises
    ------
    ValueError
        If the raster is rotated or a size makes no sense.

    Notes
    -----
    Cells are joined by their sides and held against the patch's first cell, not against their
    neighbour: a slope of less than the tolerance a cell is no patch. Each cell is tried once.

    Examples
    --------
    >>> ground = np.add.outer(np.arange(30.0), np.arange(30.0))
    >>> ground[5:20, 5:20] = 12.5
    >>> patches = level_patches(ground, Affine(1, 0, 0, 0, -1, 30))
    >>> int(patches.max()), int((patches == 1).sum())
    (1, 225)
    """
    ground, cell_area_m2 = checked_elevation(elevation), cell_size_m(transform) ** 2
    for name, given in (("area", least_area_m2), ("tolerance", tolerance_m)):
        if not 0 <= given < math.inf:
            raise ValueError(f"The {name} must be 0 or more, but it is {given}.")
    labels = np.zeros(ground.shape, np.int32)
    _label(ground, least_area_m2 / cell_area_m2, tolerance_m, labels)
    return labels


@njit(cache=True, nogil=True)
def _label(ground: NDArray[np.floating], least_cells: float, tolerance: float, out: Labels) -> None:
    rows, columns = ground.shape
    heights, labels = ground.ravel(), out.ravel()
    patch = np.empty(1024, np.int64)
    count = 0
    tried = -1
    for first in range(heights.size):
        level = heights[first]
        if labels[first] != 0 or math.isnan(level):
            continue
        labels[first] = tried
        patch[0], size, at = first, 1, 0
        while at < size:
            cell = patch[at]
            at += 1
            row, column = divmod(cell, columns)
            if size + 4 > len(patch):
                patch = np.concatenate((patch, np.empty_like(patch)))
            for beside, is_there in (
                (cell - columns, row > 0),
                (cell - 1, column > 0),
                (cell + 1, column < columns - 1),
                (cell + columns, row < rows - 1),
            ):
                if is_there and labels[beside] == 0 and abs(heights[beside] - level) <= tolerance:
                    labels[beside] = tried
                    patch[size] = beside
                    size += 1
        if size >= least_cells:
            count += 1
            labels[patch[:size]] = count
    for cell in range(labels.size):
        labels[cell] = max(labels[cell], 0)
