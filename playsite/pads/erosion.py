"""All legal centres of a pad at one rotation, exactly."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import MultiPolygon

from playsite.pads.outline import outline, polygonal
from playsite.pads.shape import check_sides

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

__all__ = ["eroded", "legal_centres", "pieces"]


def legal_centres(
    land: BaseGeometry, *, length_m: float, width_m: float, rotation_deg: float
) -> MultiPolygon:
    """Where the centre of a pad of this rotation may lie.

    The pad crosses a boundary segment pq just if its centre lies inside the convex hull of
    p and q, each shifted by the half sides both ways (the segment's Minkowski sum with the
    pad); a convex hole is taken as one piece in the same way. The land less all those hulls is
    the answer. It is exact: vertices are turned, never the pad on a grid, and every part and
    hole of the land is kept.

    Parameters
    ----------
    land
        What may be built on.
    length_m, width_m
        Sides of the pad.
    rotation_deg
        Direction of the long side, counter-clockwise from east.

    Returns
    -------
    MultiPolygon
        In map coordinates; empty where the pad fits nowhere. A lot of exactly the pad's size
        has a single legal centre, which is no area: it comes out empty.

    Raises
    ------
    ValueError
        When the sides make no pad.

    Notes
    -----
    The erosion of a set is its complement's Minkowski sum with the mirrored pad, taken off:
    Serra 1982, *Image Analysis and Mathematical Morphology*, chapter II (from memory).

    Examples
    --------
    >>> from shapely import box
    >>> centres = legal_centres(box(0, 0, 50, 40), length_m=30, width_m=20, rotation_deg=90)
    >>> [float(round(value, 6)) for value in centres.bounds]
    [10.0, 15.0, 40.0, 25.0]
    """
    check_sides(length_m, width_m)
    ground = polygonal(land)
    if ground.is_empty:
        return MultiPolygon()
    shape = outline(ground)
    local = shapely.transform(ground, lambda points: points - shape.origin)
    angle = float(np.radians(rotation_deg))
    centres = eroded(local, pieces(local), angle, length_m / 2, width_m / 2)
    return shapely.transform(centres, lambda points: points + shape.origin)


def pieces(ground: MultiPolygon) -> tuple[NDArray[np.float64], NDArray[np.intp]]:
    """Cut the boundary into convex pieces whose hulls are no part of the land's inside.

    A hole that is convex (a tree, a house) is one piece; of all other rings each segment is one.

    Parameters
    ----------
    ground
        Valid polygons, not empty.

    Returns
    -------
    ndarray, ndarray
        (k, 2) points and the piece each belongs to, ascending.
    """
    rings = shapely.get_rings(shapely.get_parts(ground))
    holes = shapely.polygons(rings)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    # a hull of as many points leaves none of the ring inside; outer rings are no holes
    hull_size = shapely.get_num_coordinates(shapely.convex_hull(holes))
    outer = np.concatenate([np.arange(1 + n) == 0 for n in _holes_of(ground)])
    convex = (hull_size == shapely.get_num_coordinates(rings)) & ~outer
    whole = convex[ring]
    start = np.flatnonzero((ring[1:] == ring[:-1]) & ~whole[1:])
    ends = points[np.column_stack([start, start + 1]).ravel()]
    of_end = np.repeat(np.arange(len(start)), 2)
    return np.vstack([ends, points[whole]]), np.concatenate([of_end, len(start) + ring[whole]])


def _holes_of(ground: MultiPolygon) -> NDArray[np.intp]:
    return np.asarray(shapely.get_num_interior_rings(shapely.get_parts(ground)))


def eroded(
    ground: MultiPolygon,
    cut: tuple[NDArray[np.float64], NDArray[np.intp]],
    angle: float,
    a: float,
    b: float,
) -> MultiPolygon:
    """Legal centres of the pad of half sides a and b, all about one local origin."""
    points, piece = cut
    ahead = np.array([np.cos(angle), np.sin(angle)]) * a
    left = np.array([-np.sin(angle), np.cos(angle)]) * b
    corners = np.array([ahead + left, left - ahead, -ahead - left, ahead - left])
    shifted = (points[:, None, :] + corners).reshape(-1, 2)
    _, dense = np.unique(piece, return_inverse=True)
    # a line through the points has their hull, and is made far quicker than so many points
    hulls = shapely.convex_hull(shapely.linestrings(shifted, indices=np.repeat(dense, 4)))
    return polygonal(shapely.difference(ground, shapely.union_all(hulls)))
