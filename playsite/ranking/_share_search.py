"""The compiled search behind the shares: the first few of many alternatives under each weighting."""

# numba's decorator carries no types: the kernel's signature is annotated by hand
# mypy: allow-untyped-decorators

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from numba import njit

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array: TypeAlias = NDArray[np.float64]
    Places: TypeAlias = NDArray[np.intp]

BLOCK = 256
"""Alternatives looked at together: with 16 criteria they fill the nearest cache."""
STRIDE = 4
"""Criteria added up in one pass; absent ones are filled up with zeros."""
SLACK = 1e-9
"""Above the rounding of a bound, so that no alternative is passed over for it."""
NOBODY = -1.0
"""Score of the filling of the last block: below every true one."""


def leaders(scores: Array, weightings: Array, *, depth: int) -> Places:
    """First alternatives under each weighting, best first.

    No score is kept: alternatives stand in blocks, in the order of their score under the mean
    weighting c, and a block is passed over where its bound c.a + |w - c| |a - mean(a)|, both
    norms measured in the spread of each weight, is below the last of the first few found so far.

    Parameters
    ----------
    scores
        One row an alternative, 0 to 1, nothing missing, no two rows equal.
    weightings
        One row a weighting, each adding up to 1.
    depth
        How many of the first are told, at most the number of alternatives.

    Returns
    -------
    Places
        One row a weighting: rows of ``scores``.
    """
    middle, spread = weightings.mean(axis=0), np.maximum(weightings.std(axis=0), 1e-12)
    turns = np.sqrt((((weightings - middle) / spread) ** 2).sum(axis=1))
    order = np.argsort(-(scores @ middle), kind="stable")
    count, criteria = scores.shape
    blocks = -(-count // BLOCK)
    filled = np.full((blocks * BLOCK, criteria), NOBODY)
    filled[:count] = scores[order]
    tops = (filled @ middle).reshape(blocks, BLOCK).max(axis=1) + SLACK
    # any constant may be taken off a row: w - c adds up to nothing
    filled_mean = filled @ spread**2 / (spread**2).sum()
    squares = (filled - filled_mean[:, None]) ** 2 @ spread**2
    reach = np.sqrt(squares.reshape(blocks, BLOCK).max(axis=1))
    wide = -(-criteria // STRIDE) * STRIDE
    lanes = np.zeros((blocks, wide, BLOCK))
    lanes[:, :criteria] = filled.reshape(blocks, BLOCK, criteria).transpose(0, 2, 1)
    weights = np.zeros((len(weightings), wide))
    weights[:, :criteria] = weightings
    first: Places = order[_search(lanes, tops, reach, weights, turns, depth)]
    return first


@njit(cache=True, nogil=True)
def _enter(best: Array, first: Places, score: float, who: int) -> None:
    """Put one among the first few, in its order; the last drops out."""
    at = len(best) - 1
    while at > 0 and best[at - 1] < score:
        best[at], first[at] = best[at - 1], first[at - 1]
        at -= 1
    best[at], first[at] = score, who


@njit(cache=True, nogil=True, fastmath={"contract"})
def _search(
    lanes: Array, tops: Array, reach: Array, weights: Array, turns: Array, depth: int
) -> Places:
    """Go block by block, so that a block stays in the cache while all weightings look at it."""
    count, wide = weights.shape
    best = np.full((count, depth), -2.0)
    first = np.full((count, depth), -1, np.intp)
    score = np.empty(BLOCK)
    for b in range(len(lanes)):
        for i in range(count):
            least = best[i, depth - 1]
            if tops[b] + turns[i] * reach[b] < least:
                continue
            score[:] = 0.0
            for k in range(0, wide, STRIDE):
                one, two = weights[i, k], weights[i, k + 1]
                three, four = weights[i, k + 2], weights[i, k + 3]
                for j in range(BLOCK):
                    score[j] += (
                        one * lanes[b, k, j]
                        + two * lanes[b, k + 1, j]
                        + three * lanes[b, k + 2, j]
                        + four * lanes[b, k + 3, j]
                    )
            above = 0
            for j in range(BLOCK):
                above += score[j] > least
            if above == 0:
                continue
            for j in range(BLOCK):
                if score[j] > best[i, depth - 1]:
                    _enter(best[i], first[i], score[j], b * BLOCK + j)
    return first
