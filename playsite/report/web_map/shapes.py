"""Shapes for the page: degrees, six decimals, written as small whole numbers.

A ring or line is one list ``[x, y, dx, dy, …]`` in millionths of a degree, each vertex as its
step from the one before: a third of the size of pairs of decimals. ``study.js`` reads it back.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Iterable

    from shapely.geometry.base import BaseGeometry

    Steps = list[int]
    Shape = list[list[Steps]]

__all__ = ["DEGREES", "all_polygons", "as_area", "lines", "polygons", "spots", "steps"]

DEGREES = "EPSG:4326"
PER_DEGREE = 1_000_000
TREE_RADIUS_M = 2.5
_POLYGON = 3


def steps(coordinates: np.ndarray[Any, Any]) -> Steps:
    """Write vertices, shape (n, 2) in degrees, as steps; repeated vertices fall away.

    Examples
    --------
    >>> steps(np.array([[-83.0, 40.0], [-82.999999, 40.0], [-82.999999, 40.000002]]))
    [-83000000, 40000000, 1, 0, 0, 2]
    """
    whole = np.rint(np.asarray(coordinates, dtype=float)[:, :2] * PER_DEGREE).astype(np.int64)
    moved = np.diff(whole, axis=0)
    kept = moved[(moved != 0).any(axis=1)]
    flat: Steps = np.vstack([whole[:1], kept]).ravel().tolist()
    return flat


def polygons(geometry: BaseGeometry | None) -> Shape:
    """Every polygon of a geometry as a list of rings, outer ring first; nothing for the rest."""
    return all_polygons([geometry])[0]


def all_polygons(geometries: Iterable[BaseGeometry | None], *, closed: bool = True) -> list[Shape]:
    """`polygons` of each geometry, at once: a hundred thousand lots take a second or two.

    With ``closed=False`` the last vertex of a ring, which is its first, is left out.
    """
    given = np.array(list(geometries), dtype=object)
    shapes: list[Shape] = [[] for _ in given]
    parts, of_shape = shapely.get_parts(given, return_index=True)
    parts, inner = shapely.get_parts(parts, return_index=True)  # a collection holds more of them
    of_shape = of_shape[inner]
    whole = (shapely.get_type_id(parts) == _POLYGON) & ~shapely.is_empty(parts)
    rings, of_part = shapely.get_rings(parts[whole], return_index=True)
    flat, starts = _ring_steps(rings, closed=closed)
    new_part = np.diff(of_part, prepend=-1) > 0
    for shape, is_new, start, end in zip(
        of_shape[whole][of_part].tolist(), new_part.tolist(), starts[:-1], starts[1:], strict=True
    ):
        if is_new:
            shapes[shape].append([])
        shapes[shape][-1].append(flat[start:end])
    return shapes


def _ring_steps(rings: np.ndarray[Any, Any], *, closed: bool) -> tuple[Steps, list[int]]:
    """`steps` of all rings in one list, and where each begins in it."""
    at, of_ring = shapely.get_coordinates(rings, return_index=True)
    whole = np.rint(at * PER_DEGREE).astype(np.int64)
    moved = np.diff(whole, axis=0, prepend=0)
    first = np.diff(of_ring, prepend=-1) > 0
    moved[first] = whole[first]
    kept = first | (moved != 0).any(axis=1)
    if not closed:
        kept[np.flatnonzero(first)[1:] - 1] = False
        kept[-1:] = False
    counts = np.bincount(of_ring[kept], minlength=len(rings))
    starts: list[int] = np.r_[0, 2 * np.cumsum(counts)].tolist()
    flat: Steps = moved[kept].ravel().tolist()
    return flat, starts


def lines(geometry: BaseGeometry | None) -> list[Steps]:
    """Every line of a geometry, outlines of polygons too."""
    found = [steps(shapely.get_coordinates(part)) for part in _parts(geometry, "LineString")]
    return found + [ring for polygon in polygons(geometry) for ring in polygon]


def spots(geometries: Iterable[BaseGeometry | None]) -> list[Steps]:
    """One point for each geometry, inside it where it has an inside."""
    present = [g for g in geometries if g is not None and not g.is_empty]
    points = shapely.get_coordinates(shapely.point_on_surface(np.array(present, dtype=object)))
    return [steps(point[None, :]) for point in points]


def as_area(frame: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Points and lines grown to small areas: trees to their crown, where the study knows it."""
    thin = ~frame.geom_type.isin(["Polygon", "MultiPolygon"]).to_numpy()
    if not thin.any():
        return frame
    radius_m = np.full(len(frame), TREE_RADIUS_M)
    if "crown_m" in frame:
        crown_m = frame["crown_m"].to_numpy(dtype=float)
        radius_m = np.where(crown_m > 0, crown_m, radius_m)
    shapes = frame.geometry.to_numpy().copy()
    shapes[thin] = shapely.buffer(shapes[thin], radius_m[thin], quad_segs=3)
    return frame.set_geometry(gpd.GeoSeries(shapes, index=frame.index, crs=frame.crs))


def _parts(geometry: BaseGeometry | None, kind: str) -> list[Any]:
    if geometry is None or geometry.is_empty:
        return []
    kinds = {kind, "LinearRing"} if kind == "LineString" else {kind}
    parts = shapely.get_parts(geometry)
    if any(part.geom_type.startswith(("Multi", "Geometry")) for part in parts):
        parts = shapely.get_parts(parts)
    return [part for part in parts if part.geom_type in kinds and not part.is_empty]
