"""Compiled: from a good place to the best near it, by linear programs on scale and place."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from numba import njit

from playsite.pads.separation import scale_at
from playsite.pads.small_program import best_point

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["polish"]

# Segments that bind only at a larger scale than this multiple can wait for the next program.
_NEAR = 1.5
_MOST_PROGRAMS = 40
_SMALLEST_STEP = 1e-10
# Less promised growth than this is a tenth of a micrometre on a pad of 30 m.
_SMALLEST_GROWTH = 3e-9
_OWN_LINE = 4


@njit(cache=True, nogil=True)
def polish(segments: NDArray[np.float64], best: NDArray[np.float64], a: float, b: float) -> None:
    """Let the pad grow, shift and turn until its contacts hold it.

    Every boundary segment must lie beyond one of the pad's sides, or all of the pad on one side
    of the segment's line. Each near segment is given the separator that allows the greatest
    scale now; in centre, turn and scale these are then nearly linear. The program is solved
    within a small step, and its answer taken only if the exact scale there is larger.

    Parameters
    ----------
    segments
        (n, 4) boundary segments about a local origin.
    best
        (4,): scale, x, y and angle in radians; written over by the better place.
    a, b
        Half sides of the pad at scale 1.
    """
    rows, slack = np.empty((4 * segments.shape[0], 4)), np.empty(4 * segments.shape[0])
    worth = np.array([0.0, 0.0, 0.0, 1.0])
    low, high = np.array([-1.0, -1.0, -1.0, 0.0]), np.array([1.0, 1.0, 1.0, 4.0])
    move, trial = np.empty(4), np.empty(4)
    step = 0.05
    for _ in range(_MOST_PROGRAMS):
        if best[0] <= 0 or step < _SMALLEST_STEP:
            return
        count = _separators(segments, best, a, b, rows, slack)
        # told in steps, so that the tolerance shrinks with them
        if not best_point(rows[:count], slack[:count] / step, worth, low, high, move):
            return
        move *= step
        if move[3] < _SMALLEST_GROWTH:
            return
        c, s = math.cos(best[3]), math.sin(best[3])
        along, across = move[0] * a, move[1] * b
        trial[1] = best[1] + along * c - across * s
        trial[2] = best[2] + along * s + across * c
        trial[3] = best[3] + move[2] * b / a
        trial[0] = scale_at(segments, trial[1], trial[2], trial[3], a, b)
        gain = trial[0] - best[0]
        if gain > 0:
            step *= 1.0 if gain > 0.5 * move[3] else 0.5
            best[:] = trial
        else:
            step *= 0.2


@njit(cache=True, nogil=True)
def _separators(
    segments: NDArray[np.float64],
    best: NDArray[np.float64],
    a: float,
    b: float,
    rows: NDArray[np.float64],
    slack: NDArray[np.float64],
) -> int:
    """Write linear conditions rows @ (along/a, across/b, turn a/b, growth) <= slack; how many.

    All in the pad's own measure: the pad at scale 1 is the square of half side 1.
    """
    scale, angle = best[0], best[3]
    c, s = math.cos(angle), math.sin(angle)
    squared = (b / a) ** 2  # of one unit of turn: tan(turn) shifts a corner by a/b of its arm
    u, v, allowed = np.empty(2), np.empty(2), np.empty(5)
    count = 0
    for i in range(segments.shape[0]):
        for end in range(2):
            dx, dy = segments[i, 2 * end] - best[1], segments[i, 2 * end + 1] - best[2]
            u[end], v[end] = (dx * c + dy * s) / a, (dy * c - dx * s) / b
        allowed[0], allowed[1] = min(u[0], u[1]), -max(u[0], u[1])
        allowed[2], allowed[3] = min(v[0], v[1]), -max(v[0], v[1])
        # the segment's own line, as a normal towards it in the pad's measure
        n1, n2 = v[1] - v[0], u[0] - u[1]
        offset = n1 * u[0] + n2 * v[0]
        size = (abs(n1) + abs(n2)) * (-1.0 if offset < 0 else 1.0)
        allowed[_OWN_LINE] = offset / size if size != 0 else 0.0
        kind = int(np.argmax(allowed))
        if allowed[kind] > _NEAR * scale + 0.1:
            continue
        if kind == _OWN_LINE:
            n1, n2, offset = n1 / size, n2 / size, offset / size
            for k in range(4):
                # the pad's corner turned: k1 - t k2 b/a, k2 + t k1 a/b
                k1, k2 = 1.0 - 2.0 * (k // 2), 1.0 - 2.0 * (k % 2)
                reach = n1 * k1 + n2 * k2
                rows[count, 0], rows[count, 1], rows[count, 3] = n1, n2, reach
                rows[count, 2] = scale * (n2 * k1 - n1 * k2 * squared)
                slack[count] = offset - scale * reach
                count += 1
            continue
        axis, sign = kind // 2, 1.0 - 2.0 * (kind % 2)
        for end in range(2):
            # a point seen from the pad turned by t: u + t v b/a, v - t u a/b, in units of t b/a
            turn = v[end] * squared if axis == 0 else -u[end]
            rows[count, 0], rows[count, 1] = (sign, 0.0) if axis == 0 else (0.0, sign)
            rows[count, 2], rows[count, 3] = -sign * turn, 1.0
            slack[count] = sign * (u[end] if axis == 0 else v[end]) - scale
            count += 1
    return count
