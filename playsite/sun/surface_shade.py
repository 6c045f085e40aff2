"""Shade read off a surface model: light from the sun, followed over the tops of roofs and crowns."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from numba import njit

from playsite.sun.shade import LOWEST_DEG
from playsite.sun.shadows import throw

if TYPE_CHECKING:
    from affine import Affine
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from playsite.sun.casters import Crowns
    from playsite.sun.position import Suns

__all__ = ["Tops", "cleared", "is_shaded", "points_in", "shadows_of_tops", "share_pct"]

_POINT_M = 0.5


@dataclass(frozen=True, eq=False)
class Tops:
    """Elevation of roofs and crowns, rows from north to south, NaN unknown; and where its cells lie."""

    top_m: NDArray[np.floating]
    transform: Affine


def cleared(tops: Tops, dug: BaseGeometry, taken: Crowns) -> Tops:
    """The same without what stands on an area, and without the crowns of trees that are taken out.

    Parameters
    ----------
    tops
        A window round the area.
    dug
        Pad and excavation.
    taken
        Trees that go; of unknown size ones nothing more is known than where they stand.
    """
    rows, columns = tops.top_m.shape
    at = tops.transform
    x, y = np.meshgrid(
        at.c + (np.arange(columns) + 0.5) * at.a, at.f + (np.arange(rows) + 0.5) * at.e
    )
    gone = shapely.contains_xy(dug, x, y)
    for (east, north), radius_m in zip(taken.xy, taken.radius_m, strict=True):
        gone |= np.hypot(x - east, y - north) <= radius_m
    return Tops(np.where(gone, np.nan, tops.top_m), at)


def points_in(area: BaseGeometry, *, step_m: float = _POINT_M) -> NDArray[np.float64]:
    """Points over the box round an area: (rows, columns, 2) from the north-west, middles of squares."""
    west, south, east, north = area.bounds
    columns, rows = max(1, int((east - west) / step_m)), max(1, int((north - south) / step_m))
    x = west + (np.arange(columns) + 0.5) * (east - west) / columns
    y = north - (np.arange(rows) + 0.5) * (north - south) / rows
    return np.stack(np.meshgrid(x, y), axis=-1)


def is_shaded(
    xy: NDArray[np.float64], tops: Tops, suns: Suns, *, level_m: float
) -> NDArray[np.bool_]:
    """Whether points on level ground lie in shade: (n, 2) points and (m,) suns to (m, n).

    Light is followed toward the sun in steps of half a cell until it is higher than all tops. What
    nobody knows casts no shade. Of suns below 5 degrees nothing is told: False.
    """
    up = suns.altitude_deg >= LOWEST_DEG
    altitude_deg = np.where(up, suns.altitude_deg, 90.0)
    toward = -throw(altitude_deg, suns.azimuth_deg)
    flat = np.ascontiguousarray(tops.top_m, dtype=np.float64)
    found: NDArray[np.bool_] = _followed(
        np.ascontiguousarray(xy, dtype=np.float64),
        toward,
        flat,
        np.array([tops.transform.c, tops.transform.f, tops.transform.a]),
        level_m,
        float(np.nanmax(flat, initial=level_m)),
    )
    found[~up] = False
    return found


@njit(cache=True, nogil=True)
def _followed(xy, toward, tops, place, level_m, highest_m):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """March from each point: ``toward`` is how far the light goes to rise by one metre."""
    shaded = np.zeros((len(toward), len(xy)), dtype=np.bool_)
    for k in range(len(toward)):
        long = np.hypot(toward[k, 0], toward[k, 1])
        if long <= 0.0:
            continue
        rise_m = place[2] / 2 / long
        for n in range(len(xy)):
            up_m = rise_m
            while level_m + up_m < highest_m:
                column = int(np.floor((xy[n, 0] + up_m * toward[k, 0] - place[0]) / place[2]))
                row = int(np.floor((place[1] - xy[n, 1] - up_m * toward[k, 1]) / place[2]))
                if not (0 <= row < tops.shape[0] and 0 <= column < tops.shape[1]):
                    break
                # A comparison with NaN is false: what nobody knows hides nothing.
                if tops[row, column] > level_m + up_m:
                    shaded[k, n] = True
                    break
                up_m += rise_m
    return shaded


def share_pct(
    parts: list[BaseGeometry], tops: Tops, suns: Suns, *, level_m: float
) -> NDArray[np.float64]:
    """Share of each part in shade: (k,) polygons and (m,) suns to (m, k); NaN where the sun is too low.

    Parameters
    ----------
    parts
        The first holds the others: a pad and its sides.
    """
    xy = points_in(parts[0]).reshape(-1, 2)
    shaded = is_shaded(xy, tops, suns, level_m=level_m)
    inside = [shapely.contains_xy(part, xy) for part in parts]
    share = np.full((len(shaded), len(parts)), np.nan)
    for k, own in enumerate(inside):
        if own.any():
            share[:, k] = 100 * shaded[:, own].mean(axis=1)
    share[suns.altitude_deg < LOWEST_DEG] = np.nan
    return share


def shadows_of_tops(
    area: BaseGeometry, tops: Tops, suns: Suns, *, level_m: float
) -> NDArray[np.object_]:
    """Shade on level ground in the box round an area, in squares of half a metre, to be drawn.

    Returns
    -------
    ndarray
        (m,) shapes; None where the sun is too low to tell.
    """
    grid = points_in(area)
    shaded = is_shaded(grid.reshape(-1, 2), tops, suns, level_m=level_m)
    west, south, east, north = area.bounds
    rows, columns = grid.shape[:2]
    dx, dy = (east - west) / columns / 2, (north - south) / rows / 2
    x, y = grid[..., 0].ravel(), grid[..., 1].ravel()
    squares = shapely.box(x - dx, y - dy, x + dx, y + dy)
    found = np.array([shapely.union_all(squares[own]) for own in shaded], dtype=object)
    found[suns.altitude_deg < LOWEST_DEG] = None
    return found
