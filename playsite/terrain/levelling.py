"""Level one pad: the finished plane that moves the least earth, and how much that is."""

import math
from dataclasses import dataclass

import numpy as np
import shapely
from affine import Affine
from numba import njit
from numpy.typing import ArrayLike, NDArray

from playsite.terrain.grid import checked_elevation
from playsite.terrain.pad_pieces import Floats, Pieces, Rectangle, pad_pieces, pad_polygon

GRADES_PCT = (1.0, 1.5, 2.0)
"""Crossfalls tried: enough to drain, and below the 2.08 % (1 in 48) that the ADA Standards for
Accessible Design (2010) allow across a route (from memory)."""

DIRECTIONS = 72

COMPACTED_TO_BANK = 0.9
"""Compacted fill from a volume of earth in its bed: common earth, FM 5-434 (from memory)."""

LEAST_KNOWN = 0.9
"""Least share of the pad whose height must be known."""

EXACT_M = 1e-9


@dataclass(frozen=True)
class Finish:
    """A finished plane: it falls by ``grade_pct`` towards ``direction_deg``.

    Attributes
    ----------
    grade_pct
        Grade, %.
    direction_deg
        Direction of the fall, degrees clockwise from north.
    height_m
        Height at the origin, m.
    easting_m, northing_m
        Origin: the pad's centre of gravity, m.
    """

    grade_pct: float
    direction_deg: float
    height_m: float
    easting_m: float
    northing_m: float

    def at_m(self, x: Floats, y: Floats) -> Floats:
        """Height of the plane at eastings and northings, m."""
        east, north = _slope(self.grade_pct, self.direction_deg)
        return self.height_m + east * (x - self.easting_m) + north * (y - self.northing_m)


@dataclass(frozen=True)
class Levelled:
    """A levelled pad, without what happens outside its outline.

    Attributes
    ----------
    finish
        The finished plane.
    cut_m3
        Earth dug, m3 in its bed.
    fill_m3
        Earth placed, m3 compacted; the compacted-to-bank factor times the cut, unless a height
        was asked for.
    deepest_cut_m, highest_fill_m
        Greatest depth of each, m, at a piece's middle.
    area_m2
        Area of the pad, m2.
    ground_grade_pct, ground_direction_deg
        Plane of least squares through the ground: grade, %, and the direction of its fall,
        degrees clockwise from north; NaN on level ground.
    known_share
        Share of the pad with a known height; the volumes are those of the known part, scaled up.
    """

    finish: Finish
    cut_m3: float
    fill_m3: float
    deepest_cut_m: float
    highest_fill_m: float
    area_m2: float
    ground_grade_pct: float
    ground_direction_deg: float
    known_share: float


def level_pad(
    elevation: ArrayLike,
    transform: Affine,
    pad: shapely.Polygon | Rectangle,
    *,
    grades_pct: tuple[float, ...] = GRADES_PCT,
    directions_deg: tuple[float, ...] | None = None,
    height_m: float | None = None,
    compacted_to_bank: float = COMPACTED_TO_BANK,
    least_known: float = LEAST_KNOWN,
) -> Levelled | None:
    """Level a pad: of all planes whose cut makes their own fill, the one with the least cut.

    Parameters
    ----------
    elevation
        2-D array, m; NaN where missing.
    transform
        From column and row to easting and northing, m; north-up.
    pad
        Polygon without holes, or a rectangle: easting m, northing m, rotation of the long side
        (degrees, anticlockwise from east), length m, width m.
    grades_pct
        Grades of the finished plane to try, %.
    directions_deg
        Directions of its fall to try, degrees clockwise from north; None for 72 all round.
    height_m
        Height of the plane at the pad's centre of gravity, m, where it must meet something; None
        for the height at which the cut makes the fill.
    compacted_to_bank
        Compacted fill made of a volume of earth in its bed: 0.85 to 0.90 (common practice, no
        source); sand 0.95.
    least_known
        Least share of the pad whose height must be known.

    Returns
    -------
    Levelled or None
        None where too little of the ground is known.

    Raises
    ------
    ValueError
        If the raster is rotated, the pad no pad, or a figure makes no sense.

    Notes
    -----
    For each grade and direction the height a solves compacted_to_bank cut(a) = fill(a); the left
    side falls and the right one rises with a, so bisection finds it. Cells at the pad's edge
    count by the area inside.

    Examples
    --------
    >>> south = np.arange(60.0)[:, None] * np.ones(60)
    >>> ground, transform = 100 - 0.05 * south, Affine(1, 0, 0, 0, -1, 60)
    >>> pad = level_pad(ground, transform, (30, 30, 0, 31.6, 22.7), compacted_to_bank=1)
    >>> pad.finish.grade_pct, pad.finish.direction_deg, round(pad.cut_m3)
    (2.0, 180.0, 61)
    """
    ground = checked_elevation(elevation)
    _check(grades_pct, compacted_to_bank, height_m)
    pieces = pad_pieces(ground, transform, pad_polygon(pad))
    if pieces.known_share < max(least_known, 1e-9):
        return None
    if directions_deg is None:
        directions_deg = tuple(360 / DIRECTIONS * turn for turn in range(DIRECTIONS))
    tried = [(grade, direction) for grade in grades_pct for direction in directions_deg]
    slopes = np.array([_slope(*finish) for finish in tried])
    known = np.isfinite(pieces.height_m)
    planes = _levelled(
        *(part[known] for part in (pieces.x_m, pieces.y_m, pieces.area_m2, pieces.height_m)),
        slopes,
        compacted_to_bank,
        math.nan if height_m is None else height_m,
    )
    # equal cuts, as on level ground, are decided by the order tried and not by rounding
    best = int(np.argmin(np.round(planes[:, 1], 6)))
    return _result(pieces, tried[best], planes[best])


def _result(pieces: Pieces, tried: tuple[float, float], plane: Floats) -> Levelled:
    height_m, cut_m3, fill_m3, deepest_m, highest_m = (float(value) for value in plane)
    grade_pct, direction_deg = ground_fall(pieces)
    return Levelled(
        finish=Finish(*tried, height_m, *pieces.origin),
        cut_m3=cut_m3 / pieces.known_share,
        fill_m3=fill_m3 / pieces.known_share,
        deepest_cut_m=deepest_m,
        highest_fill_m=highest_m,
        area_m2=float(pieces.area_m2.sum()),
        ground_grade_pct=grade_pct,
        ground_direction_deg=direction_deg,
        known_share=pieces.known_share,
    )


def ground_fall(pieces: Pieces) -> tuple[float, float]:
    """Grade, %, and direction, degrees clockwise from north, of the plane through the ground."""
    known = np.isfinite(pieces.height_m)
    weight = np.sqrt(pieces.area_m2[known])
    x, y, z = pieces.x_m[known], pieces.y_m[known], pieces.height_m[known]
    sides = np.stack([np.ones_like(x), x, y], axis=1) * weight[:, None]
    (_, east, north), *_ = np.linalg.lstsq(sides, (z - z.mean()) * weight, rcond=None)
    grade_pct = 100 * math.hypot(east, north)
    if grade_pct < 1e-6:
        return 0.0, math.nan
    return grade_pct, math.degrees(math.atan2(-east, -north)) % 360


def _slope(grade_pct: float, direction_deg: float) -> tuple[float, float]:
    """Rise of a plane to the east and to the north, m a metre."""
    turn = math.radians(direction_deg)
    return -grade_pct / 100 * math.sin(turn), -grade_pct / 100 * math.cos(turn)


def _check(grades_pct: tuple[float, ...], compacted_to_bank: float, height_m: float | None) -> None:
    if not grades_pct or not all(0 <= grade < math.inf for grade in grades_pct):
        raise ValueError(f"The finish's grades must be 0 % or more, but they are {grades_pct}.")
    if not 0 < compacted_to_bank < math.inf:
        raise ValueError(f"Compacted to bank must be above 0, but it is {compacted_to_bank}.")
    if height_m is not None and not math.isfinite(height_m):
        raise ValueError(f"The finish's height must be a number, but it is {height_m}.")


@njit(cache=True, nogil=True)
def _levelled(
    x: Floats,
    y: Floats,
    area: Floats,
    height: Floats,
    slopes: NDArray[np.float64],
    compacted_to_bank: float,
    fixed: float,
) -> Floats:
    """For each slope: height at the origin, cut, fill, deepest cut and highest fill."""
    planes = np.empty((len(slopes), 5))
    for plane in range(len(slopes)):
        above = height - slopes[plane, 0] * x - slopes[plane, 1] * y
        low, high = above.min(), above.max()
        level = fixed if not math.isnan(fixed) else (low + high) / 2
        while True:
            cut, fill = 0.0, 0.0
            for piece in range(len(above)):
                over = (above[piece] - level) * area[piece]
                if over > 0:
                    cut += over
                else:
                    fill -= over
            if not math.isnan(fixed) or high - low < EXACT_M:
                break
            if compacted_to_bank * cut > fill:
                low = level
            else:
                high = level
            level = (low + high) / 2
        planes[plane] = level, cut, fill, max(above.max() - level, 0), max(level - above.min(), 0)
    return planes
