"""How steep the ground is: the grade of each cell, and the grade of a pad as one plane."""

import math
from dataclasses import dataclass

import numpy as np
from affine import Affine
from numba import njit
from numpy.typing import ArrayLike, NDArray

from playsite.terrain.grid import (
    checked_elevation,
    checked_half_sides_m,
    checked_out,
    checked_places,
    columns_in_pad,
    first_centre,
    rows_in_pad,
)
from playsite.terrain.pad_plane import (
    Floats,
    Grid,
    Ground,
    Half,
    cells_a_piece,
    grade_interval_pct,
    pad_planes,
    residual_p95_m,
)
from playsite.terrain.strips import in_strips


@dataclass(frozen=True)
class PadGrade:
    """Grade of pads, one entry for each place; NaN where the ground is not known well enough.

    Attributes
    ----------
    grade_pct
        Grade of the plane of least squares through the pad's cells, %.
    low_pct, high_pct
        Interval that holds the true plane's grade 90 times in 100, %; NaN without ``noise_m``.
    aspect_deg
        Direction in which the plane falls, degrees clockwise from north; NaN on a level plane.
    residual_rms_m, residual_p95_m
        How far the ground lies off the plane, m: root of the mean square, and what 95 cells in
        100 stay within (NaN unless asked for). A crowned or dished pad shows here, not in the
        grade.
    cell_mean_pct, cell_p95_pct
        Mean grade of the single cells, %, and what 95 in 100 of them stay within, to be shown
        only as raw: noise alone makes level ground read several per cent (NaN unless asked for).
    known_share
        Share of the pad's cells that have elevation, 0 to 1.
    cells
        Number of cells that the plane was laid through.
    """

    grade_pct: Floats
    low_pct: Floats
    high_pct: Floats
    aspect_deg: Floats
    residual_rms_m: Floats
    residual_p95_m: Floats
    cell_mean_pct: Floats
    cell_p95_pct: Floats
    known_share: Floats
    cells: NDArray[np.int64]


def cell_grade_pct(
    elevation: ArrayLike, *, cell_m: float, out: NDArray[np.floating] | None = None
) -> NDArray[np.floating]:
    """Grade of each cell by Horn's 3 x 3 window.

    Noise is read as slope: on level ground with 5 cm of independent noise at 1 m the mean is
    2.7 %. For a pad use :func:`pad_grade`.

    Parameters
    ----------
    elevation
        2-D array, m; NaN where missing.
    cell_m
        Side of a cell, m.
    out
        Array of the same shape and kind to write to: saves the cost of new memory.

    Returns
    -------
    ndarray
        Grade, % (rise over run, not degrees); NaN on the raster's edge and wherever one of the
        nine cells is missing, the middle one too.

    Raises
    ------
    ValueError
        If the elevation is not 2-D, the cell not above 0, or ``out`` does not match.

    Notes
    -----
    With the window ``a b c / d e f / g h i``:
    dz/dx = ((c + 2f + i) - (a + 2d + g)) / (8 cell), dz/dy likewise,
    grade = 100 sqrt((dz/dx)^2 + (dz/dy)^2).

    B. K. P. Horn (1981), "Hill shading and the reflectance map", Proceedings of the IEEE 69.

    Examples
    --------
    >>> window = [[50.0, 45, 50], [30, 30, 30], [8, 10, 10]]
    >>> round(float(cell_grade_pct(window, cell_m=5)[1, 1]), 2)
    380.03
    """
    ground = checked_elevation(elevation)
    if not 0 < cell_m < math.inf:
        raise ValueError(f"The side of a cell must be above 0 m, but it is {cell_m}.")
    out = checked_out(out, ground)
    if np.may_share_memory(out, ground):
        raise ValueError("The array to write to must not be the elevation itself.")
    in_strips(_cell_grades, ground.shape[0], ground, ground.dtype.type(12.5 / cell_m), out)
    return out


def pad_grade(  # noqa: PLR0913 - options by name
    elevation: ArrayLike,
    transform: Affine,
    places: ArrayLike,
    *,
    length_m: float,
    width_m: float,
    noise_m: float | None = None,
    noise_length_m: float = 0.0,
    least_known: float = 0.9,
    most_cells: int | None = None,
    with_percentile: bool = False,
    with_cells: bool = False,
) -> PadGrade:
    """Grade of pads: the plane of least squares through the cells with their centre in the pad.

    A plane over the whole pad averages the noise away that single cells show as slope.

    Parameters
    ----------
    elevation
        2-D array, m; NaN where missing or masked as water.
    transform
        From column and row to easting and northing, m; north-up.
    places
        (n, 3): easting m and northing m of the pad's centre, rotation of its long side in
        degrees, anticlockwise from east.
    length_m, width_m
        Long and short side, m.
    noise_m
        Standard deviation of the elevation's noise, m; None if not known.
    noise_length_m
        Length L of the noise's correlation exp(-d^2 / (2 L^2)), m; 0 if independent.
    least_known
        Least share of the pad's cells that must have elevation, 0 to 1.
    most_cells
        Look at every k-th cell and row so that about this many are used; None for all.
    with_percentile, with_cells
        Work out ``residual_p95_m``, or mean and percentile of the cells' grades, too.

    Returns
    -------
    PadGrade
        Arrays over the places; NaN where fewer than nine cells, or less than ``least_known`` of
        the pad's cells, have elevation.

    Raises
    ------
    ValueError
        If the raster is rotated or a size makes no sense.

    Notes
    -----
    The interval: :func:`playsite.terrain.pad_plane.grade_interval_pct`; noise that is correlated
    over L counts as about A / (2 pi L^2) independent pieces on a pad of area A:
    :func:`playsite.terrain.pad_plane.cells_a_piece`. It takes the noise as given and knows
    nothing of a bias of the elevation.

    Examples
    --------
    >>> east = np.arange(60.0)
    >>> plane = np.tile(0.05 * east, (60, 1))
    >>> at = pad_grade(plane, Affine(1, 0, 0, 0, -1, 60), [[30, 30, 0]], length_m=32, width_m=22)
    >>> float(at.grade_pct[0].round(6)), float(at.aspect_deg[0].round(6)), int(at.cells[0])
    (5.0, 270.0, 704)
    """
    ground, where = checked_elevation(elevation), checked_places(places)
    half, grid = checked_half_sides_m(length_m, width_m), first_centre(transform)
    _check_noise(noise_m, noise_length_m)
    step = _step(length_m * width_m / grid[2] ** 2, most_cells)
    plane = pad_planes(ground, where, half, grid, step=step, least_known=least_known)
    fitted = np.isfinite(plane.east)
    grade_pct = 100 * np.hypot(plane.east, plane.north)
    aspect_deg = np.degrees(np.arctan2(-plane.east, -plane.north)) % 360
    low_pct, high_pct = grade_interval_pct(
        plane,
        noise_m=math.nan if noise_m is None else noise_m,
        cells_a_piece=cells_a_piece(
            half, noise_length_m=noise_length_m, cell_area_m2=(step * grid[2]) ** 2
        ),
    )
    p95_m, cells_pct = np.full(len(where), np.nan), np.full((len(where), 2), np.nan)
    if with_percentile:
        p95_m = residual_p95_m(ground, where, half, grid, step=step, plane=plane)
    if with_cells:
        in_strips(_raw_grades, len(where), ground, where, half, grid, step, cells_pct)
    cell_mean_pct, cell_p95_pct = np.where(fitted, cells_pct.T, np.nan)
    return PadGrade(
        grade_pct=grade_pct,
        low_pct=low_pct,
        high_pct=high_pct,
        aspect_deg=np.where(grade_pct > 0, aspect_deg, np.nan),
        residual_rms_m=plane.residual_rms_m,
        residual_p95_m=p95_m,
        cell_mean_pct=cell_mean_pct,
        cell_p95_pct=cell_p95_pct,
        known_share=plane.known_share,
        cells=plane.cells,
    )


def _check_noise(noise_m: float | None, noise_length_m: float) -> None:
    for name, given in (("noise", noise_m), ("noise's length", noise_length_m)):
        if given is not None and not 0 <= given < math.inf:
            raise ValueError(f"The {name} must be 0 m or more, but it is {given}.")


def _step(cells: float, most_cells: int | None) -> int:
    if most_cells is None:
        return 1
    if most_cells < 1:
        raise ValueError(f"At least one cell must be used, but the most is {most_cells}.")
    return max(1, math.ceil(math.sqrt(cells / most_cells)))


@njit(cache=True, nogil=True)
def _horn_pct(north: Ground, middle: Ground, south: Ground, column: int, scale: float) -> float:
    """Grade of one cell; differences come first, so that float32 heights lose no digits."""
    a, b, c = north[column - 1], north[column], north[column + 1]
    d, e, f = middle[column - 1], middle[column], middle[column + 1]
    g, h, i = south[column - 1], south[column], south[column + 1]
    east = (c - a) + (f - d) + (f - d) + (i - g)
    down = (g - a) + (h - b) + (h - b) + (i - c)
    # the middle cell has no part in its own window: e - e only hands on that it is missing
    return scale * np.sqrt(east * east + down * down) + (e - e)


@njit(cache=True, nogil=True)
def _cell_grades(first: int, last: int, ground: Ground, scale: float, out: Ground) -> None:
    rows, columns = ground.shape
    for row in range(first, last):
        if row == 0 or row == rows - 1 or columns < 3:
            out[row] = np.nan
            continue
        north, middle, south, line = ground[row - 1], ground[row], ground[row + 1], out[row]
        for column in range(1, columns - 1):
            line[column] = _horn_pct(north, middle, south, column, scale)
        line[0] = line[-1] = np.nan


@njit(cache=True, nogil=True)
def _raw_grades(
    first: int,
    last: int,
    ground: Ground,
    places: Floats,
    half: Half,
    grid: Grid,
    step: int,
    out: Floats,
) -> None:
    scale = 12.5 / grid[2]
    for pad in range(first, last):
        place = places[pad]
        grades, n = np.empty(64, np.float64), 0
        top, bottom = rows_in_pad(place, half, grid)
        top, bottom = max(top, 1), min(bottom, ground.shape[0] - 2)
        for row in range(top + (-top) % step, bottom + 1, step):
            left, right = columns_in_pad(row, place, half, grid)
            left, right = max(left, 1), min(right, ground.shape[1] - 2)
            for column in range(left + (-left) % step, right + 1, step):
                grade = _horn_pct(ground[row - 1], ground[row], ground[row + 1], column, scale)
                if math.isnan(grade):
                    continue
                if n == len(grades):
                    grades = np.concatenate((grades, np.empty(n, np.float64)))
                grades[n] = grade
                n += 1
        if n > 0:
            out[pad, 0] = grades[:n].mean()
            out[pad, 1] = np.quantile(grades[:n], 0.95)
