"""From legal centres, which are areas, to single points: a lattice along the pad's sides."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray
    from shapely import MultiPolygon, Polygon

__all__ = ["lattice"]

_POINTS_AT_ONCE = 500_000


def lattice(centres: MultiPolygon, angle: float, step_m: float) -> Iterator[NDArray[np.float64]]:
    """Points of a lattice within each part of the legal centres, in bounded memory.

    Parameters
    ----------
    centres
        Where the pad's centre may lie.
    angle
        Direction of the lattice in radians.
    step_m
        Greatest distance of neighbours.

    Yields
    ------
    ndarray
        (k, 2) points, k above 0. A part too small to catch any gives one point inside.
    """
    c, s = np.cos(angle), np.sin(angle)
    for part in shapely.get_parts(centres):
        caught = 0
        shapely.prepare(part)
        for points in _grid(part, c, s, step_m):
            held = points[shapely.contains_xy(part, points[:, 0], points[:, 1])]
            caught += len(held)
            if len(held):
                yield held
        if not caught:
            yield shapely.get_coordinates(shapely.point_on_surface(part))


def _grid(part: Polygon, c: float, s: float, step_m: float) -> Iterator[NDArray[np.float64]]:
    """Lattice over the part's box along the pad's sides, half a step in from its edge."""
    points = shapely.get_coordinates(part)
    along, across = points @ (c, s), points @ (-s, c)
    u, v = (_stations(values, step_m) for values in (along, across))
    rows_at_once = max(1, _POINTS_AT_ONCE // len(u))
    for start in range(0, len(v), rows_at_once):
        uu, vv = (grid.ravel() for grid in np.meshgrid(u, v[start : start + rows_at_once]))
        yield np.column_stack([uu * c - vv * s, uu * s + vv * c])


def _stations(values: NDArray[np.float64], step_m: float) -> NDArray[np.float64]:
    extent = float(np.ptp(values))
    count = max(1, int(np.ceil(extent / step_m - 1e-9)))
    return values.min() + (np.arange(count) + 0.5) * (extent / count)
