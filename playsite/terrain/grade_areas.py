"""Where ground is as steep as what, seen by a window as large as a pad: areas between grades."""

import itertools
import math
from collections.abc import Sequence
from typing import Any

import contourpy
import numpy as np
import shapely
from affine import Affine
from numpy.typing import ArrayLike
from shapely.geometry.base import BaseGeometry

from playsite.terrain.grade import pad_grade
from playsite.terrain.pad_plane import Floats

__all__ = ["STEP_M", "grade_areas"]

STEP_M = 2.0
"""From one window to the next: from place to place a plane through a pad changes slowly."""

FINE_M = 0.25
"""How far a drawn edge may lie off the computed one."""

_MOST_PLACES = 20_000
_MOST_CELLS = 3_000  # of a window: more change its plane by hundredths of a point
_LEAST_M2 = 4.0  # a patch smaller than one step's square is no area


def grade_areas(
    elevation: ArrayLike,
    transform: Affine,
    outline: BaseGeometry,
    *,
    at: tuple[float, float, float],
    sides_m: tuple[float, float],
    breaks_pct: Sequence[float],
) -> list[tuple[int | None, BaseGeometry]]:
    """Parts of an outline by the grade of the plane through a window as large as a pad.

    The plane is that of :func:`playsite.terrain.grade.pad_grade`, laid at places on a lattice that
    holds ``at``: there the area is that of the pad's own grade. Between places it is interpolated.
    Everywhere it is the plane's own to 0.1 points, with noise of 5 cm on cells of 0.25 to 1 m.

    Parameters
    ----------
    elevation, transform
        As for :func:`playsite.terrain.grade.pad_grade`.
    outline
        Polygon, projected metres: what is drawn ends there.
    at
        Easting m and northing m of one place, and the rotation of every window, degrees.
    sides_m
        Long and short side of the window, m.
    breaks_pct
        Rising grades between the classes, %.

    Returns
    -------
    list
        Class and polygons: 0 up to the first break, 1 to the second, and so on; None where too
        little is known. A class that is nowhere is left out.

    Raises
    ------
    ValueError
        If the breaks don't rise, or as for ``pad_grade``.

    Examples
    --------
    A slope of 3 %:

    >>> plane = np.tile(0.03 * np.arange(100.0), (100, 1))
    >>> lot = shapely.box(40, 40, 60, 60)
    >>> found = grade_areas(plane, Affine(1, 0, 0, 0, -1, 100), lot, at=(50, 50, 0),
    ...     sides_m=(32, 22), breaks_pct=(2, 4.5, 8))
    >>> [(step, round(shape.area)) for step, shape in found]
    [(1, 400)]
    """
    if any(low >= high for low, high in itertools.pairwise(breaks_pct)):
        raise ValueError(f"Grades between classes must rise, but they are {list(breaks_pct)}.")
    x, y = _lattice(outline, at)
    near = shapely.dwithin(outline, shapely.points(*np.meshgrid(x, y)), 1.5 * (x[1] - x[0]))
    places = np.column_stack([each[near] for each in np.meshgrid(x, y)])
    found = pad_grade(
        elevation,
        transform,
        np.column_stack([places, np.full(len(places), at[2])]),
        length_m=sides_m[0],
        width_m=sides_m[1],
        most_cells=_MOST_CELLS,
    )
    grade_pct = np.full(near.shape, np.nan)
    grade_pct[near] = found.grade_pct
    drawn = contourpy.contour_generator(x, y, np.ma.masked_invalid(grade_pct))
    ends = (-math.inf, *breaks_pct, math.inf)
    parts: list[tuple[int | None, BaseGeometry]] = []
    known: BaseGeometry = shapely.Polygon()
    for step, (low, high) in enumerate(itertools.pairwise(ends)):
        areas = zip(*drawn.filled(low, high), strict=True)
        shapes = [_polygon(points, offsets) for points, offsets in areas]
        whole = shapely.intersection(shapely.union_all(shapes), outline)
        known = shapely.union(known, whole)
        parts.append((step, whole))
    parts.append((None, shapely.difference(outline, known)))
    return [
        (step, shape) for step, whole in parts if not (shape := _without_specks(whole)).is_empty
    ]


def _lattice(outline: BaseGeometry, at: tuple[float, float, float]) -> tuple[Floats, Floats]:
    """Eastings and northings of places that reach a step beyond an outline, one of them ``at``."""
    west, south, east, north = outline.bounds
    step_m = max(STEP_M, math.sqrt((east - west) * (north - south) / _MOST_PLACES))
    return _axis(at[0], west, east, step_m), _axis(at[1], south, north, step_m)


def _axis(through: float, low: float, high: float, step_m: float) -> Floats:
    first, last = math.floor((low - through) / step_m) - 1, math.ceil((high - through) / step_m) + 1
    return np.asarray(through + step_m * np.arange(first, last + 1), dtype=np.float64)


def _polygon(points: Any, offsets: Any) -> BaseGeometry:
    """One area of `contourpy`: its outline, then its holes."""
    shell, *holes = (points[a:b] for a, b in itertools.pairwise(offsets))
    return shapely.make_valid(shapely.Polygon(shell, holes))


def _without_specks(shape: BaseGeometry) -> BaseGeometry:
    parts = shapely.get_parts(shape.simplify(FINE_M))
    large = [part for part in parts if part.geom_type == "Polygon" and part.area >= _LEAST_M2]
    return shapely.MultiPolygon(large)
