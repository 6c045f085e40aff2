"""Shapes into cells and cells into shapes, safe to be called from several threads."""

from __future__ import annotations

from threading import Lock
from typing import TYPE_CHECKING

import numpy as np
import shapely
from rasterio.features import rasterize, shapes

if TYPE_CHECKING:
    from affine import Affine
    from numpy.typing import NDArray

__all__ = ["burnt", "outlines"]

_ONE_AT_A_TIME = Lock()
"""The library mutes a warning of its own meanwhile, for all threads at once."""


def burnt(
    drawn: NDArray[np.object_],
    size: tuple[int, ...],
    transform: Affine,
    *,
    all_touched: bool = False,
) -> NDArray[np.bool_]:
    """Cells whose middle lies in one of some shapes, or that one touches.

    Parameters
    ----------
    drawn
        Shapes; none: no cell.
    size, transform
        Rows and columns, and where they lie.
    all_touched
        Whether touching is enough.
    """
    if not len(drawn):
        return np.zeros(size, dtype=bool)
    pairs = [(shape, 1) for shape in drawn]
    with _ONE_AT_A_TIME:
        cells = rasterize(pairs, size, transform=transform, all_touched=all_touched, dtype="uint8")
    return np.asarray(cells, dtype=bool)


def outlines(cells: NDArray[np.bool_], transform: Affine) -> NDArray[np.object_]:
    """Polygons round the cells that are set, those that share a side in one."""
    if not cells.any():
        return np.empty(0, dtype=object)
    with _ONE_AT_A_TIME:
        found = list(shapes(cells.astype(np.uint8), mask=cells, transform=transform))
    return np.array([shapely.geometry.shape(each) for each, _ in found], dtype=object)
