"""The land's outline as the search reads it: polygons, boundary segments, main directions."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import MultiPolygon

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

__all__ = ["Outline", "edge_angles_deg", "outline", "polygonal"]

# Edges that differ by less are one direction: digitised lot lines wander by about as much.
_SAME_DIRECTION_DEG = 1.0
# A direction is the land's own if this share of all its boundary runs along or across it.
_MAIN_SHARE = 0.10
_MOST_DIRECTIONS = 3


@dataclass(frozen=True)
class Outline:
    """Boundary of a piece of land in metres from a whole-metre origin.

    Parameters
    ----------
    segments
        (n, 4): x and y of both ends of every boundary segment, holes included.
    origin
        Easting and northing that were taken off. They are whole metres, so taking them off
        rounds nothing.
    """

    segments: NDArray[np.float64]
    origin: tuple[float, float]


def polygonal(land: BaseGeometry) -> MultiPolygon:
    """Take the areas out of any geometry, valid, every part and hole kept.

    Parameters
    ----------
    land
        Any geometry; lines and points in it have no area and are left out.

    Returns
    -------
    MultiPolygon
        Empty where there is no area.
    """
    if not shapely.is_valid(land):
        land = shapely.make_valid(land)
    parts = [p for p in shapely.get_parts(shapely.get_parts(land)) if p.geom_type == "Polygon"]
    parts = [p for p in parts if not p.is_empty]
    if land.geom_type == "GeometryCollection" and len(parts) > 1:
        return polygonal(shapely.union_all(parts))
    return MultiPolygon([shapely.force_2d(p) for p in parts])


def outline(land: MultiPolygon) -> Outline:
    """Boundary segments of the land about a local origin.

    Parameters
    ----------
    land
        Valid polygons, not empty.

    Returns
    -------
    Outline
        All segments of all rings.
    """
    west, south, east, north = land.bounds
    origin = np.round([(west + east) / 2, (south + north) / 2])
    rings = shapely.get_rings(shapely.get_parts(land))
    points, ring = shapely.get_coordinates(rings, return_index=True)
    local = points - origin
    inside_a_ring = ring[1:] == ring[:-1]
    segments = np.hstack([local[:-1], local[1:]])[inside_a_ring]
    return Outline(np.ascontiguousarray(segments), (float(origin[0]), float(origin[1])))


def edge_angles_deg(segments: NDArray[np.float64]) -> NDArray[np.float64]:
    """Directions along and across the land's own long edges.

    Lots are seldom aligned to steps of 15 degrees, and an exactly fitting lot is fitted at the
    angle of its own edges only. Edges are gathered modulo 90 degrees, each gathering is given
    the direction of its longest edge, and those that hold a tenth of the boundary are kept,
    three at most.

    Parameters
    ----------
    segments
        (n, 4) boundary segments.

    Returns
    -------
    ndarray
        Degrees, 0 to below 180, longest direction first; empty for land without a main one.
    """
    dx, dy = segments[:, 2] - segments[:, 0], segments[:, 3] - segments[:, 1]
    length = np.hypot(dx, dy)
    angle = np.degrees(np.arctan2(dy, dx)) % 90.0
    left = length.copy()
    found: list[float] = []
    for _ in range(_MOST_DIRECTIONS):
        longest = int(np.argmax(left))
        apart = np.abs((angle - angle[longest] + 45.0) % 90.0 - 45.0)
        near = (apart <= _SAME_DIRECTION_DEG) & (left > 0)
        if left[near].sum() < _MAIN_SHARE * length.sum():
            break
        along = float(np.degrees(np.arctan2(dy[longest], dx[longest])) % 180.0)
        found += [along, (along + 90.0) % 180.0]
        left[near] = 0.0
        if not left.any():
            break
    return np.array(found)
