"""The rectangles that pads consist of, so that what is measured on one works for an L and for two."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from playsite.pads.rectangles import rectangles_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    import geopandas as gpd
    from numpy.typing import ArrayLike, NDArray

__all__ = ["Rectangles", "rectangles_of_pads"]

_CORNERS = 5  # of a closed rectangle


@dataclass(frozen=True)
class Rectangles:
    """All rectangles of some pads.

    Parameters
    ----------
    pad
        (k,) row of the pad that each belongs to, ascending.
    places
        (k, 3) easting and northing of its middle in metres, rotation of its long side in degrees.
    sides_m
        (k, 2) long and short side.
    """

    pad: NDArray[np.intp]
    places: NDArray[np.float64]
    sides_m: NDArray[np.float64]

    def by_size(self) -> Iterator[tuple[NDArray[np.intp], float, float]]:
        """Rows of each size, to the millimetre, with long and short side in metres."""
        if len(self.sides_m) and (self.sides_m == self.sides_m[0]).all():
            yield np.arange(len(self.sides_m)), *self.sides_m[0].tolist()
            return
        sizes, of = np.unique(np.round(self.sides_m, 3), axis=0, return_inverse=True)
        for number in range(len(sizes)):
            rows = np.flatnonzero(of.ravel() == number)
            # their own sides where they are equal: a millimetre can move a cell in or out
            yield rows, *self.sides_m[rows[0]].tolist()

    def worst(self, values: ArrayLike) -> NDArray[np.intp]:
        """Row of each pad's rectangle of the greatest value; one that isn't known comes first."""
        given = np.asarray(values, float)
        order = np.lexsort((-np.where(np.isnan(given), np.inf, given), self.pad))
        first: NDArray[np.intp] = order[np.unique(self.pad[order], return_index=True)[1]]
        return first

    def mean(self, values: ArrayLike, weights: ArrayLike) -> NDArray[np.float64]:
        """Mean over each pad's rectangles; NaN where one of them isn't known."""
        weight = np.asarray(weights, float)
        total = np.bincount(self.pad, weights=np.asarray(values, float) * weight)
        mean: NDArray[np.float64] = total / np.bincount(self.pad, weights=weight)
        return mean


def rectangles_of_pads(pads: gpd.GeoDataFrame) -> Rectangles:
    """Rectangles of each pad.

    Parameters
    ----------
    pads
        As criteria are given them: a pad that is one rectangle is taken from its columns, any
        other from its outline.
    """
    columns = ["easting", "northing", "rotation_deg", "length_m", "width_m"]
    rows = pads[columns].to_numpy(float)
    shapes = pads.geometry.to_numpy()
    odd = np.flatnonzero(shapely.get_num_coordinates(shapes) != _CORNERS)
    if not len(odd):
        return Rectangles(np.arange(len(pads)), rows[:, :3], rows[:, 3:])
    plain = np.setdiff1d(np.arange(len(pads)), odd)
    cut = [rectangles_of(shapes[row]) for row in odd]
    pad = np.concatenate([plain, np.repeat(odd, [len(each) for each in cut])])
    all_rows = np.concatenate([rows[plain], *cut])
    order = np.argsort(pad, kind="stable")
    return Rectangles(pad[order], all_rows[order, :3], all_rows[order, 3:])
