"""Ground as a drawing shows it: contours, and where a finish cuts and fills; to look at only."""

import itertools
import math
from typing import Any

import contourpy
import numpy as np
import shapely
from affine import Affine
from numpy.typing import ArrayLike, NDArray
from scipy import ndimage
from shapely.geometry.base import BaseGeometry

from playsite.terrain.grid import checked_elevation, first_centre
from playsite.terrain.levelling import Finish
from playsite.terrain.pad_pieces import Floats

__all__ = ["contour_lines", "cut_and_fill"]

SMOOTHED_M = 1.5
"""Standard deviation of the averaging that keeps contours from following the noise."""

FINE_M = 0.1
"""How far a drawn line may lie off the computed one."""

LEAST_M2 = 1.0
"""Smaller patches of cut or fill are specks of noise."""


def contour_lines(
    elevation: ArrayLike, transform: Affine, *, step_m: float
) -> list[tuple[float, shapely.LineString]]:
    """Contours at whole steps of height, smoothed over the noise.

    Parameters
    ----------
    elevation
        2-D array, m; NaN where missing.
    transform
        From column and row to easting and northing, m; north-up.
    step_m
        From one contour to the next, m.

    Returns
    -------
    list
        Height, m, and line; several lines may have one height.

    Examples
    --------
    >>> south = np.arange(40.0)[:, None] * np.ones(40)
    >>> lines = contour_lines(10 - 0.05 * south, Affine(1, 0, 0, 0, -1, 40), step_m=0.5)
    >>> [(level, round(line.centroid.y)) for level, line in lines]
    [(8.5, 10), (9.0, 20), (9.5, 30)]
    """
    drawn = _Drawn(checked_elevation(elevation).astype(float), transform)
    if drawn.lines is None:
        return []
    low, high = float(drawn.height_m.min()), float(drawn.height_m.max())
    levels = np.arange(math.ceil(low / step_m), math.floor(high / step_m) + 1) * step_m
    return [
        (float(level), shapely.LineString(part).simplify(FINE_M))
        for level in levels
        for part in drawn.lines.lines(level)
        if len(part) > 3
    ]


def cut_and_fill(
    elevation: ArrayLike, transform: Affine, outline: shapely.Polygon, finish: Finish
) -> tuple[BaseGeometry, BaseGeometry]:
    """Parts of a pad that a finished plane cuts and fills, smoothed over the noise.

    Parameters
    ----------
    elevation, transform
        As for :func:`contour_lines`.
    outline
        The pad, m.
    finish
        The finished plane.

    Returns
    -------
    tuple of shapely geometries
        Cut and fill; both empty where the ground is not known.

    Examples
    --------
    >>> east = np.ones((40, 1)) * np.arange(40.0)
    >>> level = Finish(0.0, 0.0, 2.0, 20.0, 20.0)
    >>> pad = shapely.box(10, 10, 30, 30)
    >>> cut, fill = cut_and_fill(0.1 * (east + 0.5), Affine(1, 0, 0, 0, -1, 40), pad, level)
    >>> round(cut.centroid.x), round(fill.area)
    (25, 200)
    """
    ground = checked_elevation(elevation).astype(float)
    x0, y0, cell_m = first_centre(transform)
    rows, columns = (np.arange(float(side)) for side in ground.shape)
    x, y = np.meshgrid(x0 + columns * cell_m, y0 - rows * cell_m)
    over = ground - finish.at_m(x, y)
    drawn = _Drawn(over, transform)
    if drawn.lines is None:
        return shapely.Polygon(), shapely.Polygon()
    return drawn.above(0.0, outline), drawn.above(0.0, outline, sign=-1)


class _Drawn:
    """Heights, averaged over what is known of them, with their contours (None where unknown)."""

    def __init__(self, height_m: Floats, transform: Affine) -> None:
        known: NDArray[np.bool_] = np.isfinite(height_m)
        self.lines: Any = None
        if min(height_m.shape) < 3 or not known.any():
            return
        x0, y0, cell_m = first_centre(transform)
        sigma, start = SMOOTHED_M / cell_m, float(height_m[known].mean())
        weight = ndimage.gaussian_filter(known.astype(float), sigma)
        sums = ndimage.gaussian_filter(np.where(known, height_m - start, 0.0), sigma)
        means = start + sums / np.maximum(weight, 1e-9)
        self.height_m = np.ma.masked_array(means, ~known)
        rows, columns = height_m.shape
        self.lines = contourpy.contour_generator(
            x0 + cell_m * np.arange(columns), y0 - cell_m * np.arange(rows), self.height_m
        )

    def above(self, level_m: float, outline: shapely.Polygon, *, sign: int = 1) -> BaseGeometry:
        """Part of an outline that lies above (or, with sign -1, below) a level, without specks."""
        ends = (level_m, math.inf) if sign > 0 else (-math.inf, level_m)
        points, offsets = self.lines.filled(*ends)
        rings = [
            shapely.Polygon(line[first:last])
            for line, starts in zip(points, offsets, strict=True)
            for first, last in itertools.pairwise(starts)
            if last - first > 3
        ]
        # holes come as rings too: what is covered twice is none of it
        whole: BaseGeometry = shapely.Polygon()
        for ring in rings:
            whole = shapely.symmetric_difference(whole, shapely.make_valid(ring))
        parts = shapely.get_parts(shapely.intersection(whole, outline).simplify(FINE_M))
        large = [part for part in parts if part.area >= LEAST_M2]
        return shapely.union_all(large) if large else shapely.Polygon()
