"""How much of a pad lies in shade, at each of many suns."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from playsite.sun.casters import CROWN_FROM
from playsite.sun.shadows import crown_ellipses, ellipse_polygons, prism_shadows, throw

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray
    from shapely.geometry.base import BaseGeometry

    from playsite.sun.casters import Crowns, Walls
    from playsite.sun.position import Suns

__all__ = ["LOWEST_DEG", "shaded_pct", "shadows_on"]

LOWEST_DEG = 5.0
"""Suns below this are left out: their shadows are longer than any map is right."""


def shadows_on(
    area: BaseGeometry, crowns: Crowns, walls: Walls, suns: Suns, *, level_m: float
) -> NDArray[np.object_]:
    """All shade on level ground that touches an area, under each sun.

    Parameters
    ----------
    area
        What the shade is looked for on; shadows that miss its bounds are left out.
    crowns, walls
        What casts shade, by elevation; what has none stands on the level ground itself.
    suns
        (m,) with azimuths from the grid's north.
    level_m
        Elevation of the level ground; NaN where it is unknown: then all stands level with it.

    Returns
    -------
    ndarray
        (m,) shapes, cut to the area's bounds; None where the sun is too low to tell.
    """
    up = suns.altitude_deg >= LOWEST_DEG
    thrown = throw(np.where(up, suns.altitude_deg, 90.0), suns.azimuth_deg)
    bounds = np.array(area.bounds)
    cast = np.full((len(thrown), len(crowns.xy) + len(walls.outline)), None, dtype=object)
    _cast_crowns(cast[:, : len(crowns.xy)], crowns, thrown, bounds, level_m)
    _cast_walls(cast[:, len(crowns.xy) :], walls, thrown, bounds, level_m)
    together = np.array(shapely.union_all(shapely.clip_by_rect(cast, *bounds), axis=1))
    together[~up] = None
    return together


def _cast_crowns(
    cast: NDArray[np.object_],
    crowns: Crowns,
    thrown: NDArray[np.float64],
    bounds: NDArray[np.float64],
    level_m: float,
) -> None:
    rise_m = np.nan_to_num(crowns.ground_m - level_m)
    top_m = crowns.height_m + rise_m
    bottom_m = np.maximum(CROWN_FROM * crowns.height_m + rise_m, 0.0)
    centre, spread = crown_ellipses(
        crowns.xy, crowns.radius_m, np.minimum(bottom_m, top_m), top_m, thrown
    )
    half = np.sqrt((spread**2).sum(axis=-1))
    meets = ((centre + half > bounds[:2]) & (centre - half < bounds[2:])).all(axis=-1)
    meets &= top_m > 0
    cast[meets] = ellipse_polygons(centre[meets], spread[meets])


def _cast_walls(
    cast: NDArray[np.object_],
    walls: Walls,
    thrown: NDArray[np.float64],
    bounds: NDArray[np.float64],
    level_m: float,
) -> None:
    rise_m = np.nan_to_num(walls.ground_m - level_m)
    top_m, bottom_m = walls.height_m + rise_m, walls.bottom_m + rise_m
    box = shapely.bounds(walls.outline).reshape(-1, 4)
    moved = thrown[:, None, :] * np.maximum(top_m, 0.0)[None, :, None]
    low = box[None, :, :2] + np.minimum(moved, 0.0)
    high = box[None, :, 2:] + np.maximum(moved, 0.0)
    sun, wall = np.nonzero(((high > bounds[:2]) & (low < bounds[2:])).all(axis=-1))
    sun, wall = sun[top_m[wall] > 0], wall[top_m[wall] > 0]
    cast[sun, wall] = prism_shadows(walls.outline[wall], bottom_m[wall], top_m[wall], thrown[sun])


def shaded_pct(parts: ArrayLike, shadows: NDArray[np.object_]) -> NDArray[np.float64]:
    """Share of each part that lies in shade: (k,) polygons and (m,) shadows to (m, k); NaN where None.

    Parameters
    ----------
    parts
        Polygons: a pad, its sides.
    shadows
        As `shadows_on` gives them.
    """
    shapes = np.asarray(parts, dtype=object)
    shared = shapely.area(shapely.intersection(shadows[:, None], shapes[None, :]))
    whole = shapely.area(shapes)
    share = np.clip(100 * shared / np.where(whole > 0, whole, np.nan), 0, 100)
    return np.where(shapely.is_missing(shadows)[:, None], np.nan, share)
