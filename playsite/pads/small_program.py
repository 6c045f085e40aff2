"""Compiled: a linear program of few variables and many conditions, by Seidel's method.

A general solver spends a thousand times as long on its own bookkeeping as these programs take.
R. Seidel 1991, "Small-dimensional linear programming and convex hulls made easy", Discrete and
Computational Geometry 6 (from memory): conditions are taken one by one; one that the best point
so far breaks holds with equality at the next best, which is a program of one variable less.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numba import njit

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["best_point"]

_TOLERANCE = 1e-11
_VECTOR, _MATRIX = "float64[::1]", "float64[:, ::1]"
_SIGNATURE = f"boolean({_MATRIX}, {_VECTOR}, {_VECTOR}, {_VECTOR}, {_VECTOR}, {_VECTOR})"


@njit(cache=True, nogil=True)
def _on_a_line(
    rows: NDArray[np.float64],
    limits: NDArray[np.float64],
    worth: NDArray[np.float64],
    low: NDArray[np.float64],
    high: NDArray[np.float64],
    point: NDArray[np.float64],
) -> bool:
    """Solve the program of one variable."""
    least, most = low[0], high[0]
    for i in range(rows.shape[0]):
        if rows[i, 0] > _TOLERANCE:
            most = min(most, limits[i] / rows[i, 0])
        elif rows[i, 0] < -_TOLERANCE:
            least = max(least, limits[i] / rows[i, 0])
        elif limits[i] < -_TOLERANCE:
            return False
    point[0] = most if worth[0] >= 0 else least
    return least <= most + _TOLERANCE


@njit(cache=True, nogil=True)
def _without(table: NDArray[np.float64], held: NDArray[np.float64], k: int) -> NDArray[np.float64]:
    """Take variable k out of each row, by the condition that holds with equality."""
    fewer = np.empty((table.shape[0], table.shape[1] - 1))
    for n in range(table.shape[0]):
        place = 0
        for j in range(table.shape[1]):
            if j != k:
                fewer[n, place] = table[n, j] - table[n, k] * held[j] / held[k]
                place += 1
    return fewer


@njit(_SIGNATURE, cache=True, nogil=True)
def _solve(
    rows: NDArray[np.float64],
    limits: NDArray[np.float64],
    worth: NDArray[np.float64],
    low: NDArray[np.float64],
    high: NDArray[np.float64],
    point: NDArray[np.float64],
) -> bool:
    """Find the point of greatest worth that keeps to all conditions; False: there is none."""
    m, d = rows.shape
    if d == 1:
        return _on_a_line(rows, limits, worth, low, high, point)
    point[:] = np.where(worth >= 0, high, low)
    for i in range(m):
        sizes = np.abs(rows[i])
        k = int(np.argmax(sizes))
        if np.sum(rows[i] * point) <= limits[i] + _TOLERANCE * max(1.0, sizes[k]):
            continue
        if sizes[k] <= _TOLERANCE:
            return False
        # the condition now holds with equality: it gives variable k, whose box becomes two more
        at = limits[i] / rows[i, k]
        table = np.zeros((i + 2, d))
        table[:i] = rows[:i]
        table[i, k], table[i + 1, k] = 1.0, -1.0
        slack = np.empty(i + 2)
        slack[:i] = limits[:i] - rows[:i, k] * at
        slack[i], slack[i + 1] = high[k] - at, at - low[k]
        others = np.arange(d) != k
        value = _without(worth.reshape(1, d), rows[i], k)[0]
        rest = np.empty(d - 1)
        fewer = _without(table, rows[i], k)
        if not _solve(fewer, slack, value, low[others], high[others], rest):
            return False
        point[others] = rest
        point[k] = at - np.sum(rows[i][others] * rest) / rows[i, k]
    return True


@njit(cache=True, nogil=True)
def best_point(
    rows: NDArray[np.float64],
    limits: NDArray[np.float64],
    worth: NDArray[np.float64],
    low: NDArray[np.float64],
    high: NDArray[np.float64],
    point: NDArray[np.float64],
) -> bool:
    """Point of greatest worth in a box, with rows @ point <= limits.

    Parameters
    ----------
    rows, limits
        (m, d) and (m,) conditions.
    worth
        (d,) what a step along each variable is worth.
    low, high
        (d,) the box.
    point
        (d,) written over by the answer.

    Returns
    -------
    bool
        False where no point of the box keeps to all conditions.
    """
    m, d = rows.shape
    order = np.arange(m)
    seed = 12345
    for i in range(m - 1, 0, -1):  # the order by chance is what makes the method quick
        seed = (seed * 1103515245 + 12345) % 2147483648
        j = seed % (i + 1)
        order[i], order[j] = order[j], order[i]
    mixed, slack = np.empty((m, d)), np.empty(m)
    for i in range(m):
        mixed[i], slack[i] = rows[order[i]], limits[order[i]]
    return _solve(mixed, slack, worth, low, high, point)
