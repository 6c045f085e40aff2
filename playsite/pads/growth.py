"""From a good place to the best one near it: successive linear programs on scale and place."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import linprog

from playsite.pads.separation import scale_at

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["polish"]

# Segments that bind only at a larger scale than this multiple can wait for the next program.
_NEAR = 1.5
_MOST_PROGRAMS = 40
_SMALLEST_STEP = 1e-10
# Less promised growth than this is a tenth of a micrometre on a pad of 30 m.
_SMALLEST_GROWTH = 3e-9
_CORNERS = np.array([[1.0, 1.0], [1.0, -1.0], [-1.0, 1.0], [-1.0, -1.0]])


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
    step = 0.05
    for _ in range(_MOST_PROGRAMS):
        if best[0] <= 0 or step < _SMALLEST_STEP:
            return
        rows, slack = _separators(segments, best, a, b)
        move = _program(rows, slack, step)
        if move is None or move[3] < _SMALLEST_GROWTH:
            return
        trial = _moved(best, move, a, b)
        trial[0] = scale_at(segments, trial[1], trial[2], trial[3], a, b)
        if trial[0] > best[0]:
            gain = trial[0] - best[0]
            step *= 1.0 if gain > 0.5 * move[3] else 0.5
            best[:] = trial
        else:
            step *= 0.2


def _moved(
    best: NDArray[np.float64], move: NDArray[np.float64], a: float, b: float
) -> NDArray[np.float64]:
    c, s = np.cos(best[3]), np.sin(best[3])
    along, across = move[0] * a, move[1] * b
    return np.array(
        [
            best[0] + move[3],
            best[1] + along * c - across * s,
            best[2] + along * s + across * c,
            best[3] + move[2] * b / a,
        ]
    )


def _separators(
    segments: NDArray[np.float64], best: NDArray[np.float64], a: float, b: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Linear conditions rows @ (along/a, across/b, turn*a/b, growth) <= slack.

    All in the pad's own measure: the pad at scale 1 is the square of half side 1.
    """
    scale, x, y, angle = best
    c, s = np.cos(angle), np.sin(angle)
    ends = segments.reshape(-1, 2, 2) - (x, y)
    u = (ends[..., 0] * c + ends[..., 1] * s) / a
    v = (ends[..., 1] * c - ends[..., 0] * s) / b
    sides = np.stack([u.min(1), -u.max(1), v.min(1), -v.max(1)], axis=1)
    # the segment's own line, as a normal towards it in the pad's measure
    normal = np.stack([v[:, 1] - v[:, 0], u[:, 0] - u[:, 1]], axis=1)
    offset = normal[:, 0] * u[:, 0] + normal[:, 1] * v[:, 0]
    size = np.abs(normal).sum(1) * np.where(offset < 0, -1.0, 1.0)
    size[size == 0] = np.inf
    normal, offset = normal / size[:, None], offset / size
    allowed = np.column_stack([sides, offset])
    kind = allowed.argmax(1)
    near = allowed.max(1) <= _NEAR * scale + 0.1
    ratio = b / a  # of one unit of turn: tan(turn) shifts a corner by a/b of its arm
    rows: list[NDArray[np.float64]] = []
    slack: list[NDArray[np.float64]] = []
    for k, (axis, sign) in enumerate([(0, 1.0), (0, -1.0), (1, 1.0), (1, -1.0)]):
        pick = near & (kind == k)
        p, q = u[pick].ravel(), v[pick].ravel()
        # a point seen from the pad turned by t: u + t v b/a, v - t u a/b, in units of t b/a
        turn = q * ratio * ratio if axis == 0 else -p
        row = np.zeros((len(p), 4))
        row[:, axis], row[:, 2], row[:, 3] = sign, -sign * turn, 1.0
        rows.append(row)
        slack.append(sign * (p if axis == 0 else q) - scale)
    pick = near & (kind == 4)
    n1, n2, off = normal[pick, 0], normal[pick, 1], offset[pick]
    for k1, k2 in _CORNERS:
        # the pad's corner turned: k1 - t k2 b/a, k2 + t k1 a/b
        turn = n1 * -k2 * ratio * ratio + n2 * k1
        reach = n1 * k1 + n2 * k2
        rows.append(np.column_stack([n1, n2, scale * turn, reach]))
        slack.append(off - scale * reach)
    return np.vstack(rows), np.concatenate(slack)


def _program(
    rows: NDArray[np.float64], slack: NDArray[np.float64], step: float
) -> NDArray[np.float64] | None:
    """Greatest growth within the step; told in steps, so that the solver's tolerance shrinks too."""
    result = linprog(
        [0.0, 0.0, 0.0, -1.0],
        A_ub=rows,
        b_ub=slack / step,
        bounds=[(-1.0, 1.0), (-1.0, 1.0), (-1.0, 1.0), (0.0, 4.0)],
        method="highs",
    )
    if result.status != 0:
        return None
    move: NDArray[np.float64] = np.asarray(result.x) * step
    return move
