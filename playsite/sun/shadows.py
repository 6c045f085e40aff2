"""Shadows of crowns and buildings on level ground, as polygons, in closed form.

The sun's light is parallel: a point at height z throws its shadow z / tan(altitude) away from the
sun. So the shadow of a body is its image under one linear map, and that of an ellipsoid an ellipse.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

__all__ = ["convex_parts", "crown_ellipses", "ellipse_polygons", "prism_shadows", "throw"]

_CORNERS = 24
_TURN = 2 * np.pi * np.arange(_CORNERS) / _CORNERS
_SAME_AREA = np.sqrt(2 * np.pi / _CORNERS / np.sin(2 * np.pi / _CORNERS))
"""A polygon of 24 corners so much larger than the inscribed one has the ellipse's own area."""


def throw(altitude_deg: ArrayLike, azimuth_deg: ArrayLike) -> NDArray[np.float64]:
    """How far and where to a point one metre up throws its shadow.

    Parameters
    ----------
    altitude_deg, azimuth_deg
        Of the sun, azimuth clockwise from the grid's north.

    Returns
    -------
    ndarray
        (..., 2) metres east and north a metre of height.

    Examples
    --------
    >>> throw(45.0, 270.0).round(6).tolist()  # the sun in the west, as high as far
    [1.0, 0.0]
    """
    away = np.radians(np.asarray(azimuth_deg, dtype=float) + 180.0)
    far = 1 / np.tan(np.radians(np.asarray(altitude_deg, dtype=float)))
    return np.stack([far * np.sin(away), far * np.cos(away)], axis=-1)


def crown_ellipses(
    stems: NDArray[np.float64],
    radius_m: NDArray[np.float64],
    bottom_m: NDArray[np.float64],
    top_m: NDArray[np.float64],
    thrown: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Shadows of crowns that are spheroids: where their ellipses lie and how they are drawn out.

    Parameters
    ----------
    stems
        (n, 2).
    radius_m, bottom_m, top_m
        (n,) of each crown, heights over the level ground that the shadow falls on.
    thrown
        (m, 2) as `throw` gives it.

    Returns
    -------
    centre : ndarray
        (m, n, 2).
    spread : ndarray
        (m, n, 2, 2): the ellipse is ``centre + spread @ (cos, sin)``; its area is pi times the
        determinant. For a sphere of radius r at an altitude a that is pi r squared / sin a.
    """
    middle_m, half_m = (bottom_m + top_m) / 2, (top_m - bottom_m) / 2
    centre = stems[None] + thrown[:, None, :] * middle_m[None, :, None]
    drawn = thrown[:, None, :] * half_m[None, :, None]
    # Cholesky factor of r^2 I + d d', which is the spheroid's own matrix seen along the light.
    r2 = (radius_m**2)[None, :]
    spread = np.zeros((*centre.shape, 2))
    first = np.sqrt(r2 + drawn[..., 0] ** 2)
    spread[..., 0, 0] = first
    spread[..., 1, 0] = drawn[..., 0] * drawn[..., 1] / first
    spread[..., 1, 1] = np.sqrt(r2 + drawn[..., 1] ** 2 - spread[..., 1, 0] ** 2)
    return centre, spread


def ellipse_polygons(
    centre: NDArray[np.float64], spread: NDArray[np.float64]
) -> NDArray[np.object_]:
    """Polygons of 24 corners with the ellipses' own areas; (k, 2) and (k, 2, 2) to (k,)."""
    circle = _SAME_AREA * np.stack([np.cos(_TURN), np.sin(_TURN)])
    rings = centre[:, None, :] + np.swapaxes(spread @ circle, 1, 2)
    polygons: NDArray[np.object_] = shapely.polygons(rings)
    return polygons


def convex_parts(
    outlines: NDArray[np.object_],
) -> tuple[NDArray[np.object_], NDArray[np.intp]]:
    """Cut shapes into convex parts, triangles where they are not convex; and whose each part is.

    What a shape casts is what its parts cast together.
    """
    parts, owner = shapely.get_parts(outlines, return_index=True)
    hollow = shapely.area(shapely.convex_hull(parts)) > (1 + 1e-9) * shapely.area(parts)
    cut = shapely.constrained_delaunay_triangles(parts[hollow])
    triangles, of_cut = shapely.get_parts(cut, return_index=True)
    return (
        np.concatenate([parts[~hollow], triangles]),
        np.concatenate([owner[~hollow], owner[hollow][of_cut]]),
    )


def prism_shadows(
    outlines: NDArray[np.object_],
    bottom_m: NDArray[np.float64],
    top_m: NDArray[np.float64],
    thrown: NDArray[np.float64],
) -> NDArray[np.object_]:
    """Shadows of upright convex prisms: outline, and what it sweeps along the light.

    Parameters
    ----------
    outlines
        (k,) convex polygons; see `convex_parts`.
    bottom_m, top_m
        (k,) heights over the level ground, above 0 at the top.
    thrown
        (k, 2) as `throw` gives it, one for each.

    Returns
    -------
    ndarray
        (k,) polygons.
    """
    xy, owner = shapely.get_coordinates(outlines, return_index=True)
    low = xy + (thrown * np.maximum(bottom_m, 0.0)[:, None])[owner]
    high = xy + (thrown * top_m[:, None])[owner]
    order = np.argsort(np.concatenate([owner, owner]), kind="stable")
    lines = shapely.linestrings(
        np.concatenate([low, high])[order], indices=np.concatenate([owner, owner])[order]
    )
    swept: NDArray[np.object_] = shapely.convex_hull(lines)
    return swept
