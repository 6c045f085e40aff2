"""Pads made of several rectangles, and their outline at a place."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray
    from shapely.geometry.base import BaseGeometry

__all__ = ["Part", "compound_polygons", "corners", "mirrored", "own_outline"]

# Sides that meet on paper must meet in the union, whatever the rounding of their sums.
_SAME_M = 1e-9


@dataclass(frozen=True)
class Part:
    """One rectangle of a pad, in the pad's own frame at rotation 0.

    Parameters
    ----------
    x_m, y_m
        Its middle, from the pad's place.
    length_m, width_m
        Its sides along x and along y; either may be the longer.

    Raises
    ------
    ValueError
        When a side is not above 0, or a number is missing.
    """

    x_m: float
    y_m: float
    length_m: float
    width_m: float

    def __post_init__(self) -> None:
        """Refuse what is no rectangle."""
        numbers = (self.x_m, self.y_m, self.length_m, self.width_m)
        if not (np.isfinite(numbers).all() and min(numbers[2:]) > 0):
            raise ValueError(f"A part needs its middle and two sides above 0 m; given {numbers}.")

    @property
    def sides_m(self) -> tuple[float, float]:
        """The longer side and the shorter."""
        return max(self.length_m, self.width_m), min(self.length_m, self.width_m)

    @property
    def upright_deg(self) -> float:
        """How far the longer side is turned from the pad's x axis: 0 or 90."""
        return 90.0 if self.width_m > self.length_m else 0.0

    def offset_m(self, angle: float | NDArray[np.float64]) -> NDArray[np.float64]:
        """From the pad's place to this part's middle, the pad turned by so many radians."""
        c, s = np.cos(angle), np.sin(angle)
        turned = [self.x_m * c - self.y_m * s, self.x_m * s + self.y_m * c]
        return np.stack(turned, axis=-1)


def mirrored(parts: Sequence[Part]) -> tuple[Part, ...]:
    """Mirror image of a pad: no rotation of an L gives it.

    Parameters
    ----------
    parts
        The rectangles.

    Returns
    -------
    tuple of Part
        Mirrored at the pad's own y axis.
    """
    return tuple(replace(part, x_m=-part.x_m) for part in parts)


def own_outline(parts: Sequence[Part]) -> BaseGeometry:
    """Outline of a pad in its own frame, with its corners alone.

    Parameters
    ----------
    parts
        The rectangles; they may overlap, touch or lie apart.

    Returns
    -------
    Polygon or MultiPolygon
        Their union.

    Raises
    ------
    ValueError
        When there is no part.
    """
    if not parts:
        raise ValueError("A pad needs at least one part.")
    x, y, length, width = np.array([(p.x_m, p.y_m, p.length_m, p.width_m) for p in parts]).T
    boxes = shapely.box(x - length / 2, y - width / 2, x + length / 2, y + width / 2)
    if len(boxes) == 1:
        return boxes[0]
    joined = shapely.get_parts(shapely.union_all(boxes, grid_size=_SAME_M))
    cleaned = [
        shapely.Polygon(corners(each.exterior, _SAME_M), [*map(_ring, each.interiors)])
        for each in joined
    ]
    return cleaned[0] if len(cleaned) == 1 else shapely.MultiPolygon(cleaned)


def _ring(line: BaseGeometry) -> NDArray[np.float64]:
    return corners(line, _SAME_M)


def compound_polygons(places: ArrayLike, parts: Sequence[Part]) -> NDArray[np.object_]:
    """Outlines of one pad of several rectangles at many places.

    The union is made once, in the pad's own frame, and turned with it: sides that meet do so at
    every rotation.

    Parameters
    ----------
    places
        (n, 3): easting and northing in metres of the point that the parts are told from,
        rotation in degrees, counter-clockwise from east.
    parts
        The rectangles.

    Returns
    -------
    ndarray of Polygon or MultiPolygon
        (n,) outlines; an L is one polygon of 6 corners.

    Raises
    ------
    ValueError
        When there is no part.

    Examples
    --------
    >>> ell = [Part(20, 10, 40, 20), Part(10, 35, 20, 30)]
    >>> turned = compound_polygons([[100, 200, 90]], ell)[0]
    >>> turned.bounds, turned.area, len(turned.exterior.coords) - 1
    ((50.0, 200.0, 100.0, 240.0), 1400.0, 6)
    """
    rows = np.asarray(places, dtype=float).reshape(-1, 3)
    shapes = np.full(len(rows), own_outline(parts), dtype=object)
    points, of = shapely.get_coordinates(shapes, return_index=True)
    c, s = np.cos(np.radians(rows[of, 2])), np.sin(np.radians(rows[of, 2]))
    x = rows[of, 0] + points[:, 0] * c - points[:, 1] * s
    y = rows[of, 1] + points[:, 0] * s + points[:, 1] * c
    turned: NDArray[np.object_] = shapely.set_coordinates(shapes, np.column_stack([x, y]))
    return turned


def corners(ring: BaseGeometry, tolerance_m: float) -> NDArray[np.float64]:
    """Points of a ring at which it turns.

    Parameters
    ----------
    ring
        A closed line.
    tolerance_m
        A point nearer to the line between its neighbours is no corner.

    Returns
    -------
    ndarray
        (n, 2), the first not repeated.
    """
    points = shapely.get_coordinates(ring)
    points = points[:-1][np.hypot(*np.diff(points, axis=0).T) > tolerance_m]
    before, after = np.roll(points, 1, axis=0), np.roll(points, -1, axis=0)
    chord, reach = after - before, points - before
    off = np.abs(chord[:, 0] * reach[:, 1] - chord[:, 1] * reach[:, 0])
    return points[off > tolerance_m * np.hypot(*chord.T)]
