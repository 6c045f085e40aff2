"""Straight pieces of pipe between the centres of cells, and what becomes of the pipe on them."""

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Cells = NDArray[np.int64]
Mask = NDArray[np.bool_]
Pipe = tuple[float, float, float, float]
"""Invert and deepest trench so far of a pipe kept down, then the same of one that has come up."""

Moves = tuple[Cells, Cells, Floats]
"""Rows and columns of each move; where its crossed cells begin; crossed: row, column, share."""

GOES_ON, DAYLIGHT, INLET = 0, 1, 2
REACH = {8: 1, 16: 2, 32: 3}
ROUNDING_M = 1e-9
NOT_LAID = -math.inf


def moves(neighbours: int) -> Moves:
    """Moves to 8, 16 or 32 neighbours: those of up to 1, 2 or 3 cells that no shorter one makes.

    Raises
    ------
    ValueError
        If the number is another.

    Examples
    --------
    >>> [len(moves(count)[0]) for count in (8, 16, 32)]
    [8, 16, 32]
    """
    if neighbours not in REACH:
        raise ValueError(f"A cell has 8, 16 or 32 neighbours, but {neighbours} are asked for.")
    reach = range(-REACH[neighbours], REACH[neighbours] + 1)
    steps = [(down, across) for down in reach for across in reach if math.gcd(down, across) == 1]
    crossed = [crossed_cells(*step) for step in steps]
    begins = np.cumsum([0, *map(len, crossed)])
    return np.array(steps), begins, np.concatenate(crossed)


@njit(cache=True, nogil=True)
def crossed_cells(down: int, across: int) -> Floats:
    """Cells that a straight piece crosses between its two ends, in order, (n, 3).

    Row and column from the start, and the share of the way at which the piece passes closest to
    the cell's centre. A piece through a corner crosses neither cell beside it.
    """
    crossed = np.empty((abs(down) + abs(across), 3))
    row = column = count = 0
    row_way, column_way = int(np.sign(down)), int(np.sign(across))
    squared = down * down + across * across
    while row != down or column != across:
        # share of the way at which the next line between rows or columns comes, times both sides
        to_row = (2 * abs(row) + 1) * abs(across) if row != down else 1 << 62
        to_column = (2 * abs(column) + 1) * abs(down) if column != across else 1 << 62
        if to_row <= to_column:
            row += row_way
        if to_column <= to_row:
            column += column_way
        crossed[count, 0], crossed[count, 1] = row, column
        crossed[count, 2] = (row * down + column * across) / squared
        count += 1
    return crossed[: count - 1].copy()


@njit(cache=True, nogil=True)
def laid(
    ground: Floats,
    free: Mask,
    start: tuple[int, int],
    piece: tuple[int, int],
    crossed: Floats,
    pipe: Pipe,
    rules: Floats,
) -> Pipe:
    """Lay a pipe along a piece in both ways; its invert is NOT_LAID where it can't be.

    A pipe kept down goes under its cover at each cell. One that has come up lacks its cover, and
    must never have it again. Rules: fall a cell, cover, greatest depth and freeboard, m.
    """
    length, behind = math.hypot(piece[0], piece[1]), 0.0
    down, down_trench, up, up_trench = pipe
    for at in range(len(crossed) + 1):
        share, i, j = 1.0, start[0] + piece[0], start[1] + piece[1]
        if at < len(crossed):
            share = crossed[at, 2]
            i, j = start[0] + int(crossed[at, 0]), start[1] + int(crossed[at, 1])
        if not free[i, j]:
            return NOT_LAID, math.inf, NOT_LAID, math.inf
        drop = rules[0] * length * (share - behind)
        down, up, behind = down - drop, up - drop, share
        if down > up:  # here it may come up
            up, up_trench = down, down_trench
        height = ground[i, j]
        if up <= height - rules[1] and not _in_daylight(height, up, rules):
            up = NOT_LAID
        down = min(down, height - rules[1])
        if height - down > rules[2] + ROUNDING_M:
            down = NOT_LAID
        if height - up > rules[2] + ROUNDING_M:
            up = NOT_LAID
        down_trench, up_trench = max(down_trench, height - down), max(up_trench, height - up)
    return down, down_trench, up, up_trench


@njit(cache=True, nogil=True)
def ending(height: float, inlet: float, pipe: Pipe, rules: Floats) -> int:
    """How a pipe ends at a cell: in daylight if it came up, at an inlet if it stayed down."""
    if _in_daylight(height, pipe[2], rules):
        return DAYLIGHT
    return INLET if pipe[0] >= inlet - ROUNDING_M else GOES_ON


@njit(cache=True, nogil=True)
def _in_daylight(height: float, invert: float, rules: Floats) -> bool:
    return invert >= height + rules[3] - ROUNDING_M


@njit(cache=True, nogil=True)
def laid_along(
    course: Cells, ground: Floats, free: Mask, into: Floats, invert: float, rules: Floats
) -> tuple[int, float, float, float, int]:
    """Lay a pipe along a course: how it ends, length in cells, invert, trench, corners used."""
    length, below = 0.0, ground[course[0, 0], course[0, 1]] - invert
    pipe = (invert, below, NOT_LAID, below)
    for at in range(1, len(course)):
        start, end = (course[at - 1, 0], course[at - 1, 1]), (course[at, 0], course[at, 1])
        piece = (end[0] - start[0], end[1] - start[1])
        pipe = laid(ground, free, start, piece, crossed_cells(piece[0], piece[1]), pipe, rules)
        length += math.hypot(piece[0], piece[1])
        kind = ending(ground[end], into[end], pipe, rules)
        if kind == DAYLIGHT:
            return kind, length, pipe[2], pipe[3], at + 1
        if kind == INLET:
            return kind, length, pipe[0], pipe[1], at + 1
    return GOES_ON, length, NOT_LAID, math.inf, len(course)


@njit(cache=True, nogil=True)
def straightened(
    course: Cells, ground: Floats, free: Mask, into: Floats, invert: float, rules: Floats
) -> Cells:
    """Leave out corners of a course as long as the pipe can still be laid and gets shorter."""
    least = laid_along(course, ground, free, into, invert, rules)[1]
    corner = 0
    while corner < len(course) - 2:
        for further in range(len(course) - 1, corner + 1, -1):
            shorter = np.concatenate((course[: corner + 1], course[further:]))
            kind, length, _, _, used = laid_along(shorter, ground, free, into, invert, rules)
            if kind != GOES_ON and length < least - ROUNDING_M:
                course, least = shorter[:used], length
                break
        corner += 1
    return course
