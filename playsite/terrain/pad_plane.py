"""The plane of least squares through a pad's cells, and how sure it is."""

import math
from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from playsite.terrain.grid import columns_in_pad, rows_in_pad
from playsite.terrain.strips import in_strips

Floats = NDArray[np.float64]
Ground = NDArray[np.floating]
Grid = tuple[float, float, float]
Half = tuple[float, float]

FEWEST_CELLS = 9
"""A plane through fewer cells than this says nothing about a pad."""

TWO_SIDED_90 = 1.6449
"""Standard errors on each side of a normal estimate that hold the truth 90 times in 100."""

SUMS = ("all", "n", "x", "y", "z", "xx", "xy", "yy", "xz", "yz", "zz", "from")
"""Running sums over a pad's cells: x, y from the pad's centre, z from the height ``from``."""


@dataclass(frozen=True)
class Plane:
    """Planes z = height + east x + north y about the pads' centres, and their scatter."""

    east: Floats
    north: Floats
    height_m: Floats
    residual_rms_m: Floats
    known_share: Floats
    cells: NDArray[np.int64]
    scatter: tuple[Floats, Floats, Floats]


def pad_planes(
    ground: Ground, places: Floats, half: Half, grid: Grid, *, step: int, least_known: float
) -> Plane:
    """Lay a plane through every ``step``-th cell of each pad; NaN where too little is known.

    Sums are taken about the pad's centre and from the height of its first cell, so that large
    coordinates and heights cost no digits.
    """
    moments = np.full((len(places), len(SUMS)), np.nan)
    in_strips(_gather_sums, len(places), ground, places, half, grid, step, moments)
    s = dict(zip(SUMS, moments.T, strict=True))
    with np.errstate(invalid="ignore", divide="ignore"):
        x, y, z = (s[axis] / s["n"] for axis in "xyz")
        xx, xy, yy = s["xx"] - s["x"] * x, s["xy"] - s["x"] * y, s["yy"] - s["y"] * y
        xz, yz, zz = s["xz"] - s["x"] * z, s["yz"] - s["y"] * z, s["zz"] - s["z"] * z
        known_share = s["n"] / s["all"]
        determinant = xx * yy - xy * xy
        # cells in one line have no determinant but for rounding
        fits = (s["n"] >= FEWEST_CELLS) & (known_share >= least_known)
        fits &= determinant > 1e-9 * xx * yy
        determinant = np.where(fits, determinant, np.nan)
        east = (xz * yy - yz * xy) / determinant
        north = (yz * xx - xz * xy) / determinant
        off = np.maximum(zz - east * xz - north * yz, 0) / s["n"]
    return Plane(
        east=east,
        north=north,
        height_m=s["from"] + z - east * x - north * y,
        residual_rms_m=np.sqrt(off),
        known_share=known_share,
        cells=np.nan_to_num(s["n"]).astype(np.int64),
        scatter=(xx, xy, yy),
    )


def grade_interval_pct(
    plane: Plane, *, noise_m: float, noise_length_m: float, cell_area_m2: float
) -> tuple[Floats, Floats]:
    """Interval of the planes' grade, %, that holds the truth 90 times in 100.

    The gradient's covariance is noise_m^2 f S^-1 (see :func:`playsite.terrain.grade.pad_grade`).
    Noise can only lengthen a gradient of nothing, so the covariance's trace is first taken off
    the squared grade; the standard error is that along the fall.
    """
    blob = max(1.0, 2 * math.pi * noise_length_m**2 / cell_area_m2)
    xx, xy, yy = plane.scatter
    grade = np.hypot(plane.east, plane.north)
    with np.errstate(invalid="ignore", divide="ignore"):
        scale = noise_m**2 * blob / (xx * yy - xy * xy)
        trace = scale * (xx + yy)
        along = np.where(
            grade > 0,
            (plane.east**2 * yy - 2 * plane.east * plane.north * xy + plane.north**2 * xx)
            / grade**2,
            np.maximum(xx, yy),
        )
        error = TWO_SIDED_90 * np.sqrt(scale * along)
        without_noise = np.sqrt(np.maximum(grade**2 - trace, 0))
    return 100 * np.maximum(without_noise - error, 0), 100 * (grade + error)


def residual_p95_m(
    ground: Ground, places: Floats, half: Half, grid: Grid, *, step: int, plane: Plane
) -> Floats:
    """Distance from the plane within which 95 in 100 of a pad's cells lie, m."""
    unknown = np.full(len(places), np.nan)
    fits = np.column_stack([plane.east, plane.north, plane.height_m, unknown])
    in_strips(_gather_p95, len(places), ground, places, half, grid, step, fits)
    return fits[:, 3]


@njit(cache=True, nogil=True)
def _gather_sums(
    first: int,
    last: int,
    ground: Ground,
    places: Floats,
    half: Half,
    grid: Grid,
    step: int,
    out: Floats,
) -> None:
    for pad in range(first, last):
        place = places[pad]
        count = n = 0
        sx = sy = sz = sxx = sxy = syy = sxz = syz = szz = 0.0
        start = math.nan
        top, bottom = rows_in_pad(place, half, grid)
        for row in range(top + (-top) % step, bottom + 1, step):
            left, right = columns_in_pad(row, place, half, grid)
            left += (-left) % step
            if right < left:
                continue
            count += (right - left) // step + 1
            if row < 0 or row >= ground.shape[0]:
                continue
            y = grid[1] - row * grid[2] - place[1]
            line = ground[row]
            for column in range(max(left, 0), min(right + 1, ground.shape[1]), step):
                level = float(line[column])
                if math.isnan(level):
                    continue
                if n == 0:
                    start = level
                x = grid[0] + column * grid[2] - place[0]
                z = level - start
                n += 1
                sx += x
                sy += y
                sz += z
                sxx += x * x
                sxy += x * y
                syy += y * y
                sxz += x * z
                syz += y * z
                szz += z * z
        counts = (float(count), float(n))
        for place_of, value in enumerate(
            (*counts, sx, sy, sz, sxx, sxy, syy, sxz, syz, szz, start)
        ):
            out[pad, place_of] = value


@njit(cache=True, nogil=True)
def _gather_p95(
    first: int,
    last: int,
    ground: Ground,
    places: Floats,
    half: Half,
    grid: Grid,
    step: int,
    fits: Floats,
) -> None:
    for pad in range(first, last):
        east, north, height = fits[pad, 0], fits[pad, 1], fits[pad, 2]
        if math.isnan(east):
            continue
        place = places[pad]
        off = np.empty(64, np.float64)
        n = 0
        top, bottom = rows_in_pad(place, half, grid)
        top, bottom = max(top, 0), min(bottom, ground.shape[0] - 1)
        for row in range(top + (-top) % step, bottom + 1, step):
            left, right = columns_in_pad(row, place, half, grid)
            left, right = max(left, 0), min(right, ground.shape[1] - 1)
            y = grid[1] - row * grid[2] - place[1]
            for column in range(left + (-left) % step, right + 1, step):
                level = float(ground[row, column])
                if math.isnan(level):
                    continue
                if n == len(off):
                    off = np.concatenate((off, np.empty(n, np.float64)))
                x = grid[0] + column * grid[2] - place[0]
                off[n] = abs(level - height - east * x - north * y)
                n += 1
        fits[pad, 3] = np.quantile(off[:n], 0.95)
