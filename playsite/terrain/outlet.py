"""The shortest way for a pipe to drain a pad by gravity: to daylight or to an inlet."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from affine import Affine
from numpy.typing import ArrayLike
from shapely.geometry.base import BaseGeometry

from playsite.terrain.grid import cell_size_m, checked_elevation, first_centre
from playsite.terrain.pipe_moves import (
    GOES_ON,
    INLET,
    ROUNDING_M,
    Cells,
    Floats,
    Mask,
    ending,
    laid_along,
    moves,
    straightened,
)
from playsite.terrain.pipe_search import shortest_course

FALL_PCT = 1.0
"""Fall of a drain pipe: 1 %, never below 0.5 % (common practice, no source)."""

FREEBOARD_M = 0.1
"""Height of a pipe's end above the ground that it runs out on (common practice, no source)."""


@dataclass(frozen=True)
class Outlet:
    """A pipe from a pad to where its water can go.

    Attributes
    ----------
    length_m
        Length of the pipe, m.
    line
        Its course, from the start.
    ends
        "daylight" or "inlet".
    invert_end_m
        Height of its bottom where it ends, m.
    deepest_trench_m
        Greatest depth of its bottom below the ground on the way, m.
    """

    length_m: float
    line: shapely.LineString
    ends: str
    invert_end_m: float
    deepest_trench_m: float


def find_outlet(  # noqa: PLR0913 - options by name
    elevation: ArrayLike,
    transform: Affine,
    allowed: ArrayLike | BaseGeometry,
    start: tuple[int, int] | shapely.Point,
    invert_m: float,
    *,
    fall_pct: float = FALL_PCT,
    cover_m: float = 0.0,
    deepest_m: float | None = None,
    inlets: Sequence[tuple[float, float, float]] = (),
    freeboard_m: float = FREEBOARD_M,
    neighbours: int = 32,
    straighten: bool = True,
) -> Outlet | None:
    """Shortest pipe from a pad's low edge to daylight or an inlet, inside the land allowed.

    Parameters
    ----------
    elevation
        2-D array, m; NaN where missing: no pipe is laid there.
    transform
        From column and row to easting and northing, m; north-up.
    allowed
        Land for the pipe and its end, own parcel and easements: a mask of the raster's shape, or
        a shape, of which those cells count whose centre lies in it.
    start
        Row and column, or point, of the pad's low edge.
    invert_m
        Height of the pipe's bottom there, m: the finish less surfacing, base and pipe, 0.45 to
        0.6 m (common practice, no source).
    fall_pct
        Least fall of the pipe, %; it may be steeper.
    cover_m
        Least depth of the pipe's bottom below the ground on the way, m.
    deepest_m
        Greatest depth of the trench, m; None for no bound.
    inlets
        Easting m, northing m and invert m of inlets that may be joined; on allowed land.
    freeboard_m
        Height of the pipe's end above the ground in daylight, m.
    neighbours
        Cells that a pipe may go to in one straight piece: 8, 16 or 32.
    straighten
        Whether to straighten the course where the rules allow; else it is the shortest of the
        grid's own ways.

    Returns
    -------
    Outlet or None
        None where there is none on allowed and known ground.

    Raises
    ------
    ValueError
        If the start is not on allowed, known ground or a figure makes no sense.

    Notes
    -----
    At each cell crossed, of height z, the invert becomes h' = min(h - fall length, z - cover). A
    swale on the shortest way pushes the pipe down for good, so the shortest way to a cell need
    not be the best. Labels of length and invert are followed, shortest first, and each kept that
    is higher than all before it at its cell: exact on the grid, as a higher invert is never
    worse. E. Q. V. Martins (1984), "On a multicriteria shortest path problem", European Journal
    of Operational Research 16 (from memory).

    To reach daylight a pipe must come out of the ground: on its last stretch it may lack its
    cover and lie less than the freeboard above the ground, but never have its cover again. It
    ends at the first cell that lies the freeboard below it; at an inlet, where the invert with
    its cover is no lower than the inlet's. Ways over 32 neighbours are up to 1.3 % longer than a
    straight one, over 8 neighbours 8.2 %; the length is to a whole cell.

    Examples
    --------
    >>> ground = 10 - 0.05 * np.arange(40.0) * np.ones((3, 1))
    >>> transform = Affine(1, 0, 0, 0, -1, 3)
    >>> pipe = find_outlet(ground, transform, np.full((3, 40), True), (1, 0), 9.5)
    >>> pipe.length_m, pipe.ends, round(pipe.invert_end_m, 2)
    (15.0, 'daylight', 9.35)
    """
    ground = checked_elevation(elevation).astype(np.float64)
    cell_m = cell_size_m(transform)
    _check(invert_m, fall_pct, cover_m, deepest_m, freeboard_m)
    free = _mask(allowed, ground, transform) & np.isfinite(ground)
    row, column = _start_cell(start, free, transform)
    into = _inlet_heights(inlets, ground, transform)
    most_m = math.inf if deepest_m is None else deepest_m
    rules = np.array([fall_pct / 100 * cell_m, cover_m, most_m, freeboard_m])
    height_m = float(ground[row, column])
    length, end_m, trench_m = 0.0, invert_m, height_m - invert_m
    course = np.array([(row, column)] * 2)  # a line of no length
    at_start = (min(invert_m, height_m - cover_m), 0.0, invert_m, 0.0)
    kind = ending(height_m, float(into[row, column]), at_start, rules)
    if kind == GOES_ON:
        ways = moves(neighbours)
        course = shortest_course(ground, free, into, (row, column), invert_m, rules, ways)
        if len(course) == 0 or trench_m > most_m + ROUNDING_M:
            return None
        if straighten:
            course = straightened(course, ground, free, into, invert_m, rules)
        kind, length, end_m, trench_m, _ = laid_along(course, ground, free, into, invert_m, rules)
    return Outlet(
        length_m=float(length) * cell_m,
        line=_line(course, transform),
        ends="inlet" if kind == INLET else "daylight",
        invert_end_m=float(end_m),
        deepest_trench_m=max(float(trench_m), 0.0),
    )


def _check(
    invert_m: float, fall_pct: float, cover_m: float, deepest_m: float | None, freeboard_m: float
) -> None:
    if not math.isfinite(invert_m):
        raise ValueError(f"The pipe's invert must be a number, but it is {invert_m}.")
    given = {"fall": fall_pct, "cover": cover_m, "freeboard": freeboard_m}
    if deepest_m is not None:
        given["greatest depth"] = deepest_m
    for name, value in given.items():
        if not 0 <= value < math.inf:
            raise ValueError(f"The pipe's {name} must be 0 or more, but it is {value}.")


def _line(course: Cells, transform: Affine) -> shapely.LineString:
    x0, y0, cell_m = first_centre(transform)
    points = np.stack([x0 + course[:, 1] * cell_m, y0 - course[:, 0] * cell_m], axis=1)
    return shapely.LineString(points).simplify(0)


def _inlet_heights(
    inlets: Sequence[tuple[float, float, float]], ground: Floats, transform: Affine
) -> Floats:
    """Invert of the lowest inlet in each cell, m; infinite where there is none."""
    into = np.full(ground.shape, np.inf)
    for easting_m, northing_m, inlet_m in inlets:
        at = _cell(shapely.Point(easting_m, northing_m), transform)
        if 0 <= at[0] < ground.shape[0] and 0 <= at[1] < ground.shape[1]:
            into[at] = min(into[at], inlet_m)
    return into


def _cell(place: tuple[int, int] | shapely.Point, transform: Affine) -> tuple[int, int]:
    """Row and column of a place, on the raster or off it."""
    if not isinstance(place, shapely.Point):
        return int(place[0]), int(place[1])
    x0, y0, cell_m = first_centre(transform)
    return math.floor((y0 - place.y) / cell_m + 0.5), math.floor((place.x - x0) / cell_m + 0.5)


def _start_cell(
    start: tuple[int, int] | shapely.Point, free: Mask, transform: Affine
) -> tuple[int, int]:
    row, column = _cell(start, transform)
    inside = 0 <= row < free.shape[0] and 0 <= column < free.shape[1]
    if not inside or not free[row, column]:
        raise ValueError(
            f"The pipe must start on allowed ground of known height, but row {row}, column "
            f"{column} is not."
        )
    return row, column


def _mask(allowed: ArrayLike | BaseGeometry, ground: Floats, transform: Affine) -> Mask:
    if isinstance(allowed, BaseGeometry):
        x0, y0, cell_m = first_centre(transform)
        rows, columns = np.indices(ground.shape)
        shapely.prepare(allowed)
        return shapely.intersects_xy(allowed, x0 + columns * cell_m, y0 - rows * cell_m)
    mask = np.asarray(allowed)
    if mask.shape != ground.shape or mask.dtype != np.bool_:
        raise ValueError(
            f"The mask of allowed land must be of true and false in the shape {ground.shape}, "
            f"but it is {mask.dtype} of shape {mask.shape}."
        )
    return mask
