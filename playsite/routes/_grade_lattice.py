"""The places that an accessible route may lead over: a lattice of 2 m on the ground round one pad."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from affine import Affine

from playsite.terrain.along import heights_at
from playsite.terrain.burning import burnt

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

CELL_M = 2.0
"""Distance of two places: four of them in a ring must not gain what the layers have between them."""

FINE_M = 0.25
_FINE = round(CELL_M / FINE_M)
_NEXT_M = 1.5 * CELL_M
_STEEPEST = 0.33
"""Ground steeper than this isn't benched for a walk (common practice, no source)."""


@dataclass(frozen=True)
class Lattice:
    """Places round one pad, as the search reads them; raster of what is solid beside it."""

    pad: Any
    goals: NDArray[np.object_]
    place: Array
    height_m: Array
    start: Array
    end: Array
    rest_m: Array
    solid: NDArray[np.bool_]
    corner: Array
    fine_m: float = FINE_M


def lattice(
    pad: Any,
    goals: NDArray[np.object_],
    elevation: NDArray[np.floating],
    transform: Affine,
    blocks: NDArray[np.object_],
    *,
    clear_m: float,
    margin_m: float,
) -> Lattice:
    """Lay places over the ground within a margin of a pad.

    They lie on round coordinates, so that neighbours see the same ones. A place that something
    stands on moves to the nearest free spot of its square: a gate is found that lies between two.
    """
    low, high = np.array(pad.bounds[:2]) - margin_m, np.array(pad.bounds[2:]) + margin_m
    low, high = np.floor(low / CELL_M) * CELL_M, np.ceil(high / CELL_M) * CELL_M
    columns, rows = np.rint((high - low) / CELL_M).astype(int)
    corner = np.array([low[0], high[1]])
    solid = _solid(blocks, corner, (rows, columns), clear_m, shapely.box(*low, *high))
    place, has_room = _places(solid, corner)
    height_m = _heights(elevation, transform, corner, (rows, columns))
    points = shapely.points(place)
    away_m = shapely.distance(points, pad)
    near_goals = goals[shapely.dwithin(goals, pad, 2 * margin_m + np.hypot(*(high - low)))]
    rest_m = _least(points, near_goals)
    gone = ~has_room | (away_m == 0) | (_steepness(height_m) > _STEEPEST)
    height_m = np.where(gone, np.nan, height_m)
    return Lattice(
        pad=pad,
        goals=near_goals,
        place=place,
        height_m=height_m,
        start=_ends(points, np.array([pad]), away_m, elevation, transform),
        end=_ends(points, near_goals, rest_m, elevation, transform),
        rest_m=rest_m,
        solid=solid,
        corner=corner,
    )


def _ends(
    points: NDArray[np.object_],
    shapes: NDArray[np.object_],
    away_m: Array,
    elevation: NDArray[np.floating],
    transform: Affine,
) -> Array:
    """Length of the leg from each place to a shape next to it (inf: none), and the ground there."""
    next_to = away_m <= _NEXT_M
    found = np.full((2, *away_m.shape), np.inf)
    if next_to.any():
        own = points[next_to]
        nearest = shapes[shapely.STRtree(shapes).nearest(own)]
        feet = shapely.get_coordinates(shapely.get_point(shapely.shortest_line(own, nearest), 1))
        height_m = heights_at(elevation, transform, feet)
        found[0, next_to] = np.where(np.isfinite(height_m), away_m[next_to], np.inf)
        found[1, next_to] = height_m
    return found


def _least(points: NDArray[np.object_], goals: NDArray[np.object_]) -> Array:
    if not len(goals):
        return np.full(points.shape, np.inf)
    tree = shapely.STRtree(goals)
    nearest = tree.nearest(points.ravel())
    return np.asarray(shapely.distance(points, goals[nearest].reshape(points.shape)))


def _solid(
    blocks: NDArray[np.object_], corner: Array, shape: tuple[int, int], clear_m: float, window: Any
) -> NDArray[np.bool_]:
    """Fine raster of what the middle of a way can't enter: all that stands, widened by half."""
    size = (shape[0] * _FINE, shape[1] * _FINE)
    near = blocks[shapely.dwithin(blocks, window, clear_m)] if len(blocks) else blocks
    if not len(near):
        return np.zeros(size, dtype=bool)
    grown = shapely.buffer(near, clear_m / 2)
    at = Affine(FINE_M, 0, corner[0], 0, -FINE_M, corner[1])
    return burnt(grown, size, at)


def _places(solid: NDArray[np.bool_], corner: Array) -> tuple[Array, NDArray[np.bool_]]:
    """Free spot nearest the middle of each square, and whether it has one."""
    rows, columns = solid.shape[0] // _FINE, solid.shape[1] // _FINE
    squares = solid.reshape(rows, _FINE, columns, _FINE).swapaxes(1, 2).reshape(rows, columns, -1)
    own = (np.arange(_FINE) + 0.5) * FINE_M
    x, y = np.meshgrid(own, own)
    off_m = np.hypot(x - CELL_M / 2, y - CELL_M / 2).ravel()
    spot = np.where(squares, np.inf, off_m).argmin(axis=2)
    middle = ~squares.any(axis=2)
    inside_x = np.where(middle, CELL_M / 2, x.ravel()[spot])
    inside_y = np.where(middle, CELL_M / 2, y.ravel()[spot])
    east = corner[0] + np.arange(columns) * CELL_M + inside_x
    north = corner[1] - (np.arange(rows) * CELL_M)[:, None] - inside_y
    has_room = np.asarray(~squares.all(axis=2))
    return np.stack([east, north], axis=-1), has_room


def _heights(
    elevation: NDArray[np.floating], transform: Affine, corner: Array, shape: tuple[int, int]
) -> Array:
    """Mean of the ground's cells in each square; of larger cells what lies between their middles."""
    count = max(1, round(CELL_M / transform.a))
    total, known = np.zeros(shape), np.zeros(shape)
    for i in range(count):
        for j in range(count):
            east = corner[0] + CELL_M * (np.arange(shape[1]) + (j + 0.5) / count)
            north = corner[1] - CELL_M * (np.arange(shape[0]) + (i + 0.5) / count)
            at = np.stack(np.meshgrid(east, north), axis=-1).reshape(-1, 2)
            heights = heights_at(elevation, transform, at).reshape(shape)
            total += np.nan_to_num(heights)
            known += np.isfinite(heights)
    with np.errstate(invalid="ignore"):
        return np.where(known > 0, total / np.maximum(known, 1), np.nan)


def _steepness(height_m: Array) -> Array:
    """Slope of the ground over 4 m, rise over run; 0 where too little is known."""
    wide = np.pad(height_m, 1, constant_values=np.nan)
    across = (wide[1:-1, 2:] - wide[1:-1, :-2]) / (2 * CELL_M)
    down = (wide[2:, 1:-1] - wide[:-2, 1:-1]) / (2 * CELL_M)
    return np.hypot(np.nan_to_num(across), np.nan_to_num(down))
