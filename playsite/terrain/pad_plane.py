"""The plane of least squares through a pad's cells, and how sure it is."""

import math
from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray
from scipy.integrate import trapezoid

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
    plane: Plane, *, noise_m: float, cells_a_piece: float
) -> tuple[Floats, Floats]:
    """Interval of the planes' grade, %, that holds the truth 90 times in 100.

    The gradient's covariance is noise_m^2 cells_a_piece S^-1, S the scatter matrix of the cells'
    positions. Noise can only lengthen a gradient of nothing, so the covariance's trace is first
    taken off the squared grade; the standard error is that along the fall.
    """
    xx, xy, yy = plane.scatter
    grade = np.hypot(plane.east, plane.north)
    with np.errstate(invalid="ignore", divide="ignore"):
        scale = noise_m**2 * cells_a_piece / (xx * yy - xy * xy)
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


def cells_a_piece(half: Half, *, noise_length_m: float, cell_area_m2: float) -> float:
    """Count the cells that share one independent piece of noise, as a plane over a pad sees it.

    Noise of correlation exp(-d^2 / (2 L^2)) on a pad of area A counts as A / (2 pi L^2)
    independent pieces, 2 pi L^2 being the integral of the correlation, while L is small beside
    the pad. For longer noise that overstates the error (1.36 times for L = 4 m on 32 x 22 m), so
    the variance of a rectangle's plane is integrated as it stands: with W the side along the
    slope and V the other, over lags h,

    var(slope) = (12 / W^3)^2 2 int ((W - h)^3 / 12 - h^2 (W - h) / 4) r(h) dh
               x (1 / V^2) 2 int (V - h) r(h) dh.

    The worse of the two sides counts; never less than one cell. The variance w' C w of a weighted
    sum: A. Journel, C. Huijbregts (1978), *Mining Geostatistics* (from memory).
    """
    if 2 * math.pi * noise_length_m**2 <= cell_area_m2:
        return 1.0
    slopes, means = np.transpose([_along_side(2 * side, noise_length_m) for side in half])
    sides = 2 * np.array(half)
    cells = sides.prod() / cell_area_m2
    return max(1.0, float((cells * sides**2 / 12 * slopes * means[::-1]).max()))


def _along_side(side_m: float, length_m: float) -> tuple[float, float]:
    """Variance of slope and mean over a line, of noise with variance 1."""
    lag = np.linspace(0, min(side_m, 8 * length_m), 401)
    alike, rest = np.exp(-(lag**2) / (2 * length_m**2)), side_m - lag
    slope = trapezoid((rest**3 / 12 - lag**2 * rest / 4) * alike, lag) * 2 * 144 / side_m**6
    return float(slope), float(trapezoid(rest * alike, lag) * 2 / side_m**2)


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
            m, tx, tz, txx, txz, tzz = 0, 0.0, 0.0, 0.0, 0.0, 0.0
            line = ground[row]
            for column in range(max(left, 0), min(right + 1, ground.shape[1]), step):
                level = float(line[column])
                if math.isnan(level):
                    continue
                if n + m == 0:
                    start = level
                x = grid[0] + column * grid[2] - place[0]
                z = level - start
                m += 1
                tx += x
                tz += z
                txx += x * x
                txz += x * z
                tzz += z * z
            # y is the same along a row: its sums follow from the row's
            y = grid[1] - row * grid[2] - place[1]
            n, sx, sy, sz = n + m, sx + tx, sy + m * y, sz + tz
            sxx, sxy, syy = sxx + txx, sxy + y * tx, syy + m * y * y
            sxz, syz, szz = sxz + txz, syz + y * tz, szz + tzz
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
