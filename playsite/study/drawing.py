"""What map and memo draw under the pads: simplified layers and contours around the placed parcels."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import contourpy
import geopandas as gpd
import numpy as np
import shapely
from scipy import ndimage

if TYPE_CHECKING:
    from playsite.site import Ground, Site

__all__ = ["base_map", "contours"]

_MARGIN_M = 250.0
_TOLERANCE_M = 0.25
_CONTOUR_M = {"feet": 0.3048, "metres": 0.25}
_KINDS = (
    "paths",
    "water",
    "buildings",
    "trees",
    "lots",
    "restrooms",
    "parking",
    "picnic",
    "fences",
    "easements",
    "playgrounds",
)
_COLUMNS = ("name", "class", "kind", "crown_m", "diameter_m", "height_m", "is_public")


def base_map(site: Site) -> dict[str, gpd.GeoDataFrame]:
    """Layers near the parcels, simplified for drawing; kinds that the study lacks are left out."""
    area = shapely.box(*site.layers.parcels.total_bounds).buffer(_MARGIN_M, join_style="mitre")
    drawn = {kind: site.layer(kind) for kind in _KINDS if site.has(kind)}
    if site.has("streets"):
        drawn["streets"], drawn["street_lines"] = site.pavement, site.layer("streets")
    return {kind: _simplified(frame, area) for kind, frame in drawn.items()}


def _simplified(frame: gpd.GeoDataFrame, area: shapely.Polygon) -> gpd.GeoDataFrame:
    near = frame.iloc[np.sort(frame.sindex.query(area, predicate="intersects"))]
    columns = [name for name in _COLUMNS if name in near.columns]
    shapes = near.geometry.simplify(_TOLERANCE_M)
    table = near[columns].reset_index(drop=True)
    return gpd.GeoDataFrame(table, geometry=shapes.to_numpy(), crs=frame.crs)


def contours(parcels: gpd.GeoDataFrame, site: Site, *, units: str) -> gpd.GeoDataFrame:
    """Contours at 1 ft or 0.25 m around each parcel, smoothed over noise: to look at, not to measure.

    Parameters
    ----------
    parcels
        Index ``parcel_id``.
    """
    rows: list[tuple[str, float, shapely.LineString]] = []
    elevation = site.layers.elevation
    for parcel_id, shape in parcels.geometry.items() if elevation is not None else ():
        whole = elevation is not None and elevation.is_whole
        ground = (site if whole else site.part(parcels.loc[[parcel_id]])).ground
        lines = _around(shape, ground, units) if ground is not None else []
        rows.extend((str(parcel_id), level, line) for level, line in lines)
    table = {"parcel_id": [row[0] for row in rows], "elevation_m": [row[1] for row in rows]}
    return gpd.GeoDataFrame(table, geometry=[row[2] for row in rows], crs=parcels.crs)


def _around(
    shape: shapely.Geometry, ground: Ground, units: str
) -> list[tuple[float, shapely.LineString]]:
    west, south, east, north = shapely.buffer(shape, 30).bounds
    at = ground.transform
    column, row = (west - at.c) / at.a, (north - at.f) / at.e
    last_column, last_row = (east - at.c) / at.a, (south - at.f) / at.e
    rows = slice(max(int(row), 0), max(int(last_row) + 1, 0))
    columns = slice(max(int(column), 0), max(int(last_column) + 1, 0))
    window = ground.elevation[rows, columns].astype(float)
    if min(window.shape) < 3 or not np.isfinite(window).any():
        return []
    known = np.isfinite(window)
    sigma = 1.5 / ground.cell_m
    weight = ndimage.gaussian_filter(known.astype(float), sigma)
    smooth = ndimage.gaussian_filter(np.where(known, window, 0.0), sigma) / np.maximum(weight, 1e-9)
    x = ground.transform.c + (np.arange(window.shape[1]) + columns.start + 0.5) * ground.transform.a
    y = ground.transform.f + (np.arange(window.shape[0]) + rows.start + 0.5) * ground.transform.e
    lines: Any = contourpy.contour_generator(x, y, np.ma.masked_array(smooth, ~known))
    step = _CONTOUR_M[units]
    levels = np.arange(np.ceil(np.nanmin(window) / step), np.nanmax(window) / step) * step
    found: list[tuple[float, shapely.LineString]] = [
        (float(level), shapely.LineString(part).simplify(0.1))
        for level in levels
        for part in lines.lines(level)
        if len(part) > 3
    ]
    return found
