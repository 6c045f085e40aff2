"""Where water would stand: closed hollows that are deeper than the elevation's noise."""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from affine import Affine
from numba import njit
from numpy.typing import ArrayLike, NDArray
from rasterio import features
from scipy import ndimage

from playsite.terrain.filling import filled
from playsite.terrain.grid import (
    cell_size_m,
    checked_elevation,
    checked_half_sides_m,
    checked_places,
    columns_in_pad,
    first_centre,
    rows_in_pad,
)
from playsite.terrain.strips import in_strips

__all__ = ["LowSpots", "filled", "low_spot_polygons", "low_spot_share_pct", "low_spots"]

DEPTH_THAT_MATTERS_M = 0.10
"""Shallower water than this does not stand for long on a play area (common practice, no source)."""

NOISES_DEEP = 3.0
"""Standard deviations of the noise that a hollow must be deep (common practice, no source)."""

LEAST_AREA_M2 = 9.0
"""Smaller hollows are levelled as the pad is built (common practice, no source)."""

LEAST_KNOWN = 0.9
"""Least share of a pad's cells that must have elevation."""

MISSING = -1
"""Label of a cell without elevation."""


@dataclass(frozen=True)
class LowSpots:
    """Low spots of a raster; the arrays have one entry for each, in the order of ``id``.

    Attributes
    ----------
    labels
        Raster: the id of the low spot that a cell lies in, 0 in none, -1 without elevation.
    id
        1, 2, ...
    depth_m
        Greatest depth of the water, m; of noisy ground, that of the averaged ground.
    area_m2
        Area that is at least as deep as the threshold, m2.
    volume_m3
        Water above that area, m3.
    spill_m
        Level at which the water spills, m.
    threshold_m
        Depth that was asked of every cell, m.
    """

    labels: NDArray[np.int32]
    id: NDArray[np.int64]
    depth_m: NDArray[np.floating]
    area_m2: NDArray[np.floating]
    volume_m3: NDArray[np.floating]
    spill_m: NDArray[np.floating]
    threshold_m: float


def low_spots(
    elevation: ArrayLike,
    transform: Affine,
    *,
    noise_m: float,
    noise_length_m: float = 0.0,
    least_depth_m: float | None = None,
    least_area_m2: float = LEAST_AREA_M2,
) -> LowSpots:
    """Low spots: closed hollows deeper than the noise and large enough to matter.

    A first filter, not a probability. Banks without their culvert dam water that in truth runs
    on. The raster's edge and missing cells are outlets. Where the noise is correlated, shallow
    hollows can't be told from it and are not among those found.

    Parameters
    ----------
    elevation
        2-D array, m; NaN where missing or masked as water.
    transform
        From column and row to easting and northing, m; north-up.
    noise_m
        Standard deviation of the elevation's noise, m.
    noise_length_m
        Length L of the noise's correlation exp(-d^2 / (2 L^2)), m; 0 if independent.
    least_depth_m
        Least depth, m; None for 0.10. More where the noise asks for more.
    least_area_m2
        Least area at least that deep, m2.

    Returns
    -------
    LowSpots
        Empty arrays where there are none.

    Raises
    ------
    ValueError
        If the raster is rotated, or the noise, depth or area below 0.

    Notes
    -----
    Noisy ground is first averaged over a square of at most 9 m2, the smallest hollow that
    matters: single cells are noise. The mean of k cells of area a keeps
    s = noise min(1, sqrt(max(a, 2 pi L^2) / (k a))). Averaging also spreads a hole that is smaller
    and deeper, which may then pass.
    depth = filled - ground; cells with depth >= max(least depth, 3 s) and > 0, joined by sides
    and corners, kept when their area is large enough. Neighbours under water always share one
    spill level, so each low spot has one.

    Examples
    --------
    >>> ground = np.full((20, 20), 7.0)
    >>> ground[5:9, 5:9] -= 0.5
    >>> spots = low_spots(ground, Affine(1, 0, 0, 0, -1, 20), noise_m=0)
    >>> spots.depth_m, spots.area_m2, spots.volume_m3, spots.spill_m
    (array([0.5]), array([16.]), array([8.]), array([7.]))
    """
    ground, cell_m = checked_elevation(elevation), cell_size_m(transform)
    depth_m = DEPTH_THAT_MATTERS_M if least_depth_m is None else least_depth_m
    given = {"noise": noise_m, "noise's length": noise_length_m}
    for name, value in (given | {"depth": depth_m, "area": least_area_m2}).items():
        if not 0 <= value < math.inf:
            raise ValueError(f"The {name} must be 0 or more, but it is {value}.")
    side = _side_cells(min(least_area_m2, LEAST_AREA_M2), cell_m) if noise_m > 0 else 1
    piece_m2 = max(cell_m**2, 2 * math.pi * noise_length_m**2)
    left_m = noise_m * min(1.0, math.sqrt(piece_m2) / (side * cell_m))
    threshold_m = max(depth_m, NOISES_DEEP * left_m)
    ground = _averaged(ground, side)
    level = filled(ground)
    return _spots(ground, level, threshold_m, least_area_m2, cell_m**2)


def _side_cells(area_m2: float, cell_m: float) -> int:
    """Side of the largest square of an odd number of cells within an area."""
    cells = math.floor(math.sqrt(area_m2) / cell_m + 1e-9)
    return max(1, cells - 1 + cells % 2)


def _averaged(ground: NDArray[np.floating], side: int) -> NDArray[np.floating]:
    """Ground averaged over squares of cells, over what is known of them; missing stays so."""
    if side == 1:
        return ground
    known = np.isfinite(ground)
    start = ground[known].mean() if known.any() else 0.0  # keeps the digits of 32-bit heights
    from_start = np.where(known, ground - start, 0)
    total = ndimage.uniform_filter(from_start, size=side, mode="constant")
    share = ndimage.uniform_filter(known.astype(np.float32), size=side, mode="constant")
    means = start + total / np.where(known, share, 1)
    return np.where(known, means, np.nan).astype(ground.dtype)


def _spots(
    ground: NDArray[np.floating],
    level: NDArray[np.floating],
    threshold_m: float,
    least_area_m2: float,
    cell_area_m2: float,
) -> LowSpots:
    depth = level - ground
    wet = (depth >= threshold_m) & (depth > 0)
    labels, count = ndimage.label(wet, structure=np.ones((3, 3)))
    areas = np.bincount(labels[wet], minlength=count + 1) * cell_area_m2
    kept = areas >= least_area_m2
    kept[0] = False
    renamed = np.where(kept, np.cumsum(kept), 0).astype(np.int32)
    labels = renamed[labels]
    inside = labels > 0
    members, depths = labels[inside], depth[inside].astype(np.float64)
    spots = np.arange(1, int(kept.sum()) + 1)
    deepest, spill = np.zeros(len(spots)), np.zeros(len(spots))
    np.maximum.at(deepest, members - 1, depths)
    spill[members - 1] = level[inside]
    volumes = np.bincount(members, weights=depths, minlength=len(spots) + 1)[1:] * cell_area_m2
    labels[np.isnan(ground)] = MISSING
    return LowSpots(
        labels=labels,
        id=spots,
        depth_m=deepest,
        area_m2=areas[kept],
        volume_m3=volumes,
        spill_m=spill,
        threshold_m=threshold_m,
    )


def low_spot_polygons(
    labels: NDArray[np.int32], transform: Affine
) -> list[shapely.geometry.base.BaseGeometry]:
    """Outlines of the low spots, along the cells' sides, in the order of their ids.

    Parameters
    ----------
    labels
        Raster of :class:`LowSpots`.
    transform
        From column and row to easting and northing, m; north-up.

    Returns
    -------
    list of shapely geometries
        Valid; of several parts where cells meet at a corner only.

    Examples
    --------
    >>> labels = np.array([[0, 1], [1, -1]], dtype=np.int32)
    >>> [spot.area for spot in low_spot_polygons(labels, Affine(3, 0, 0, 0, -3, 6))]
    [18.0]
    """
    cell_size_m(transform)
    # joined by sides only: joined by corners too, an outline may touch itself and be invalid
    shapes = features.shapes(labels, mask=labels > 0, connectivity=4, transform=transform)
    parts: dict[int, list[Any]] = {}
    for shape, label in shapes:
        parts.setdefault(int(label), []).append(shapely.geometry.shape(shape))
    return [shapely.union_all(parts[label]) for label in sorted(parts)]


def low_spot_share_pct(
    labels: NDArray[np.int32],
    transform: Affine,
    places: ArrayLike,
    *,
    length_m: float,
    width_m: float,
    margin_m: float = 3.0,
) -> NDArray[np.float64]:
    """Share of pads, with a margin around them, that lies in low spots.

    The margin widens the rectangle on all sides and leaves its corners square, which holds a
    little more ground than all within the margin of the pad: 0.9 margin^2 for the four corners.

    Parameters
    ----------
    labels
        Raster of :class:`LowSpots`.
    transform
        From column and row to easting and northing, m; north-up.
    places
        (n, 3): easting m and northing m of the pad's centre, rotation of its long side in
        degrees, anticlockwise from east.
    length_m, width_m
        Long and short side, m.
    margin_m
        Width of the ground looked at around the pad, m.

    Returns
    -------
    ndarray
        Share of the cells with elevation, %; NaN where less than 90 % of the cells have one.

    Raises
    ------
    ValueError
        If the raster is rotated or a size makes no sense.

    Examples
    --------
    >>> labels = np.zeros((40, 40), dtype=np.int32)
    >>> labels[:, :20] = 1
    >>> across = Affine(1, 0, 0, 0, -1, 40)
    >>> low_spot_share_pct(labels, across, [[20, 20, 0]], length_m=14, width_m=8)
    array([50.])
    """
    if not 0 <= margin_m < math.inf:
        raise ValueError(f"The margin must be 0 m or more, but it is {margin_m}.")
    where, grid = checked_places(places), first_centre(transform)
    half = checked_half_sides_m(length_m + 2 * margin_m, width_m + 2 * margin_m)
    counts = np.zeros((len(where), 3), np.int64)
    in_strips(_count, len(where), np.ascontiguousarray(labels), where, half, grid, counts)
    cells, known, low = counts.T
    enough = (known > 0) & (known >= LEAST_KNOWN * cells)
    return np.divide(100.0 * low, known, out=np.full(len(where), np.nan), where=enough)


@njit(cache=True, nogil=True)
def _count(
    first: int,
    last: int,
    labels: NDArray[np.int32],
    places: NDArray[np.float64],
    half: tuple[float, float],
    grid: tuple[float, float, float],
    out: NDArray[np.int64],
) -> None:
    for pad in range(first, last):
        place = places[pad]
        cells = known = low = 0
        top, bottom = rows_in_pad(place, half, grid)
        for row in range(top, bottom + 1):
            left, right = columns_in_pad(row, place, half, grid)
            cells += max(right - left + 1, 0)
            if row < 0 or row >= labels.shape[0]:
                continue
            for column in range(max(left, 0), min(right + 1, labels.shape[1])):
                known += labels[row, column] >= 0
                low += labels[row, column] > 0
        out[pad] = (cells, known, low)
