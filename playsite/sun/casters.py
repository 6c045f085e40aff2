"""What casts shade: crowns and buildings with their heights, given or estimated."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np
import shapely

from playsite.sun.shadows import convex_parts

if TYPE_CHECKING:
    from collections.abc import Callable

    import geopandas as gpd
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    Level = Callable[[NDArray[np.float64]], NDArray[np.float64]]
    """Elevation at (n, 2) places; NaN where nobody knows it."""

__all__ = [
    "CROWN_FROM",
    "HOUSE_M",
    "Bodies",
    "Crowns",
    "Walls",
    "crowns_of",
    "height_curve",
    "some",
    "walls_of",
    "without",
]

CROWN_FROM = 0.3
"""Height of a crown's lower edge over the tree's: common practice, no source."""

HOUSE_M = 6.0
"""Taken of a building whose height nobody tells: common practice, no source."""

_HOUSE_OFF, _GROVE_OFF = 0.5, 0.4
_LEAST_TREES = 30
_USUAL = (2.6, 0.5, 0.3)  # metres of height: 2.6 times the root of the stem's centimetres
_GROVE_RADIUS_M, _GROVE_M = 10.0, 12.0
_TALLEST_GUESS_M = 25.0
_USUAL_CROWN_M, _USUAL_HEIGHT_M = 3.0, 8.0


@dataclass(frozen=True)
class Crowns:
    """Trees, one a row.

    Parameters
    ----------
    xy
        (n, 2) stems.
    radius_m, height_m
        Of the crown and of the whole tree.
    off
        By what part the height may be off either way; 0 where it was given.
    ground_m
        Elevation of the stem's foot; NaN unknown.
    is_sized
        False where nothing is known of the tree's size: what stands here is then a usual tree.
    """

    xy: NDArray[np.float64]
    radius_m: NDArray[np.float64]
    height_m: NDArray[np.float64]
    off: NDArray[np.float64]
    ground_m: NDArray[np.float64]
    is_sized: NDArray[np.bool_]


@dataclass(frozen=True)
class Walls:
    """Buildings, and woods drawn as one outline, as upright prisms in convex parts.

    Parameters
    ----------
    outline
        (k,) convex polygons.
    bottom_m, height_m, off, ground_m
        As of crowns; the lower edge of a wood is that of its crowns.
    is_wood
        Which are woods.
    """

    outline: NDArray[np.object_]
    bottom_m: NDArray[np.float64]
    height_m: NDArray[np.float64]
    off: NDArray[np.float64]
    ground_m: NDArray[np.float64]
    is_wood: NDArray[np.bool_]


class Bodies:
    """All crowns and walls of a town, and which are near a place.

    Parameters
    ----------
    crowns, walls
        As `crowns_of` and `walls_of` give them.
    """

    def __init__(self, crowns: Crowns, walls: Walls) -> None:
        self.crowns, self.walls = crowns, walls
        self.tallest_m = float(max([0.0, *crowns.height_m, *walls.height_m]))
        self._stems = shapely.STRtree(shapely.points(crowns.xy))
        self._outlines = shapely.STRtree(walls.outline)

    def near(self, area: BaseGeometry) -> tuple[Crowns, Walls]:
        """Trees with their stem in the box round an area, and prisms whose box meets it."""
        box = shapely.box(*area.bounds)
        rows = [np.sort(tree.query(box)) for tree in (self._stems, self._outlines)]
        return some(self.crowns, rows[0]), some(self.walls, rows[1])


Kind = TypeVar("Kind", Crowns, Walls)


def some(bodies: Kind, which: Any) -> Kind:
    """Keep some of the bodies, by a mask or by rows."""
    return type(bodies)(*(getattr(bodies, field.name)[which] for field in fields(bodies)))


def height_curve(
    diameter_m: NDArray[np.float64], height_m: NDArray[np.float64]
) -> tuple[float, float, float]:
    """How tall a tree of a stem is: height = a times (diameter in centimetres) to the power b.

    Fitted to the layer's own trees, in logarithms, where 30 or more give both; else the root of
    the diameter times 2.6, within 30 percent (common practice, no source).

    Parameters
    ----------
    diameter_m, height_m
        Of trees; NaN unknown.

    Returns
    -------
    tuple
        a, b, and by what part a height may be off (one standard deviation).
    """
    both = (diameter_m > 0) & (height_m > 0)
    if both.sum() < _LEAST_TREES or np.ptp(diameter_m[both]) == 0:
        return _USUAL
    x, y = np.log(100 * diameter_m[both]), np.log(height_m[both])
    b, log_a = np.polyfit(x, y, 1)
    spread = float(np.std(y - log_a - b * x, ddof=2))
    return float(np.exp(log_a)), float(b), float(np.expm1(spread))


def crowns_of(trees: gpd.GeoDataFrame, level: Level) -> Crowns:
    """Trees as spheroids on stems; woods drawn as one outline stand among the walls.

    The height is the layer's own, else by its `height_curve`, else four times the crown's radius.

    Parameters
    ----------
    trees
        ``crown_m``, ``height_m``, ``diameter_m`` (NaN unknown) and points or outlines of crowns.
    level
        Elevation at places.
    """
    single = trees[~_is_wood(trees)]
    given, stem_m, crown_m = (
        single[name].to_numpy(float) for name in ("height_m", "diameter_m", "crown_m")
    )
    a, b, off = height_curve(stem_m, given)
    by_stem = np.minimum(a * (100 * stem_m) ** b, max(_TALLEST_GUESS_M, np.nanmax([0.0, *given])))
    by_crown = np.minimum(4 * crown_m, _TALLEST_GUESS_M)
    known = [np.isfinite(each) for each in (given, by_stem, by_crown)]
    xy = shapely.get_coordinates(shapely.centroid(single.geometry.to_numpy()))
    return Crowns(
        xy=xy,
        radius_m=np.where(np.isfinite(crown_m), crown_m, _USUAL_CROWN_M),
        height_m=np.select(known, [given, by_stem, by_crown], _USUAL_HEIGHT_M),
        off=np.select(known, [0.0, off, _USUAL[2]], _USUAL[2]),
        ground_m=level(xy),
        is_sized=np.any(known, axis=0),
    )


def walls_of(buildings: gpd.GeoDataFrame, trees: gpd.GeoDataFrame, level: Level) -> Walls:
    """Buildings and woods; a building without a height is taken as 6 m high, within half of that.

    Parameters
    ----------
    buildings, trees
        Outlines with ``height_m``, NaN unknown; either may be empty and without columns.
    level
        Elevation at places.
    """
    woods = trees[_is_wood(trees)]
    outline = np.concatenate([buildings.geometry.to_numpy(), woods.geometry.to_numpy()])
    is_wood = np.repeat([False, True], [len(buildings), len(woods)])
    given = np.concatenate([_heights(buildings), _heights(woods)])
    height_m = np.where(np.isfinite(given), given, np.where(is_wood, _GROVE_M, HOUSE_M))
    off = np.where(np.isfinite(given), 0.0, np.where(is_wood, _GROVE_OFF, _HOUSE_OFF))
    middle = shapely.get_coordinates(shapely.point_on_surface(outline)).reshape(-1, 2)
    bottom_m = np.where(is_wood, CROWN_FROM * height_m, 0.0)
    return _in_parts(Walls(outline, bottom_m, height_m, off, level(middle), is_wood))


def without(walls: Walls, gone: BaseGeometry) -> Walls:
    """The same walls, with the part of each wood that stands on an area cut away."""
    if not shapely.intersects(walls.outline[walls.is_wood], gone).any():
        return walls
    left = np.where(walls.is_wood, shapely.difference(walls.outline, gone), walls.outline)
    return _in_parts(replace(walls, outline=left))


def _in_parts(walls: Walls) -> Walls:
    parts, owner = convex_parts(walls.outline)
    return replace(some(walls, owner), outline=parts)


def _heights(frame: gpd.GeoDataFrame) -> NDArray[np.float64]:
    if "height_m" not in frame:
        return np.full(len(frame), np.nan)
    heights: NDArray[np.float64] = frame["height_m"].to_numpy(float)
    return heights


def _is_wood(trees: gpd.GeoDataFrame) -> NDArray[np.bool_]:
    """Outlines too large for one crown."""
    wide: NDArray[np.bool_] = trees.area.to_numpy() > np.pi * _GROVE_RADIUS_M**2
    return wide
