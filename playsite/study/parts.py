"""A large town in parts: parcels that lie together, few enough and near enough to be held at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import geopandas as gpd
    import numpy.typing as npt

__all__ = ["MOST_PARCELS", "parts_of"]

MOST_PARCELS = 4_000
"""Parcels of a part: some 256,000 pads are measured at once."""

_MOST_EXTENT_CELLS = 3.6e7
_AROUND_M = 600.0


def parts_of(parcels: gpd.GeoDataFrame, *, cell_m: float | None) -> list[gpd.GeoDataFrame]:
    """Split parcels by halves along their longer extent until each part can be held at once.

    The same parcels give the same parts, whatever their order in the file.

    Parameters
    ----------
    parcels
        Index ``parcel_id``.
    cell_m
        Side of the elevation's cells, where it is read in windows; else None.
    """
    middles = parcels.geometry.representative_point()
    points = np.column_stack([middles.x, middles.y])
    order = np.lexsort((parcels.index.to_numpy().astype(str), points[:, 1], points[:, 0]))
    return [parcels.iloc[np.sort(rows)] for rows in _halved(parcels, points, order, cell_m)]


def _halved(
    parcels: gpd.GeoDataFrame,
    points: npt.NDArray[np.float64],
    rows: npt.NDArray[np.intp],
    cell_m: float | None,
) -> list[npt.NDArray[np.intp]]:
    west, south, east, north = parcels.geometry.iloc[rows].total_bounds
    cells = 0.0
    if cell_m is not None:
        cells = (east - west + _AROUND_M) * (north - south + _AROUND_M) / cell_m**2
    if len(rows) == 1 or (len(rows) <= MOST_PARCELS and cells <= _MOST_EXTENT_CELLS):
        return [rows]
    axis = 0 if np.ptp(points[rows, 0]) >= np.ptp(points[rows, 1]) else 1
    sorted_rows = rows[np.argsort(points[rows, axis], kind="stable")]
    half = len(rows) // 2
    return [
        *_halved(parcels, points, sorted_rows[:half], cell_m),
        *_halved(parcels, points, sorted_rows[half:], cell_m),
    ]
