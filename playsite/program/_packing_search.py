"""Compiled: an exact search for a packing of up to a dozen or so rectangles.

Positions are a net of least differences (x of b less x of a is at least d), closed after each
addition, so a contradiction shows at once. Branches decide how a piece is turned, which edge it
touches, and how each pair is told apart: left, right, or, overlapping along x, below or above. A
branch is dropped when a slab of the whole would have to hold more area than it has.
"""
# mypy: disable-error-code="untyped-decorator, no-any-return"
# numba's decorators carry no types: the signatures are annotated by hand

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numba import njit

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["UNTURNED", "search"]

_SLACK_M = 1e-9  # rounding of sums of lengths
UNTURNED = 4  # index of "not yet turned": least extents over all turns


@njit(cache=True, nogil=True)
def _add(net: NDArray[np.float64], i: int, j: int, least: float) -> bool:
    """Demand position j - position i >= least; False if the net contradicts it."""
    if least <= net[i, j]:
        return True
    if net[j, i] + least > _SLACK_M:
        return False
    m = net.shape[0]
    for a in range(m):
        to_j = net[a, i] + least
        for b in range(m):
            net[a, b] = max(net[a, b], to_j + net[j, b])
    return True


@njit(cache=True, nogil=True)
def _windows(
    net: NDArray[np.float64],
    axis: int,
    turned: NDArray[np.int64],
    turns: NDArray[np.int64],
    core: NDArray[np.float64],
    inset: NDArray[np.float64],
) -> NDArray[np.float64]:
    """First start and last end of each piece's core along an axis, over the turns left to it."""
    n = turned.shape[0]
    windows = np.empty((n, 2))
    for i in range(n):
        windows[i, 0], windows[i, 1] = np.inf, -np.inf
        for o in range(turns[i]):
            if turned[i] in (UNTURNED, o):
                start = net[n, i] + inset[axis, i, o]
                end = -net[i, n] + inset[axis, i, o] + core[axis, i, o]
                windows[i, 0] = min(windows[i, 0], start)
                windows[i, 1] = max(windows[i, 1], end)
    return windows


@njit(cache=True, nogil=True)
def _slabs_hold(
    net: NDArray[np.float64],
    axis: int,
    turned: NDArray[np.int64],
    turns: NDArray[np.int64],
    core: NDArray[np.float64],
    inset: NDArray[np.float64],
    across: float,
) -> bool:
    """Whether no slab across this axis must hold more of the pieces' cores than it can."""
    n = turned.shape[0]
    windows = _windows(net, axis, turned, turns, core, inset)
    for p in range(n):
        for q in range(n):
            a, b = windows[p, 0], windows[q, 1]
            if b - a <= _SLACK_M:
                continue
            held = 0.0
            for i in range(n):
                if windows[i, 1] <= a or windows[i, 0] >= b:
                    continue
                least = np.inf
                for o in range(turns[i]):
                    if turned[i] not in (UNTURNED, o):
                        continue
                    long = core[axis, i, o]
                    first = net[n, i] + inset[axis, i, o]
                    last = -net[i, n] + inset[axis, i, o]
                    inside = min(long, b - a, first + long - a, b - last)
                    least = min(least, max(inside, 0.0) * core[1 - axis, i, o])
                held += least
            if held > (b - a) * across + 1e-7:
                return False
    return True


@njit(cache=True, nogil=True)
def _relate(
    nets: NDArray[np.float64],
    told: NDArray[np.int64],
    turned: NDArray[np.int64],
    apart: NDArray[np.float64],
    i: int,
    j: int,
    relation: int,
) -> bool:
    """Place i left of, right of, below or above j (0 to 3); below and above overlap along x."""
    oi, oj = turned[i], turned[j]
    told[i, j] = 1
    if relation == 0:
        return _add(nets[0], i, j, apart[0, i, oi, j, oj])
    if relation == 1:
        return _add(nets[0], j, i, apart[0, j, oj, i, oi])
    if not _add(nets[0], i, j, -apart[0, j, oj, i, oi]):
        return False
    if not _add(nets[0], j, i, -apart[0, i, oi, j, oj]):
        return False
    if relation == 2:
        return _add(nets[1], i, j, apart[1, i, oi, j, oj])
    return _add(nets[1], j, i, apart[1, j, oj, i, oi])


@njit(cache=True, nogil=True)
def _open(
    nets: NDArray[np.float64],
    turned: NDArray[np.int64],
    apart: NDArray[np.float64],
    i: int,
    j: int,
) -> int:
    """Relations that the nets still allow, as bits; 16 if one of them already holds."""
    oi, oj = turned[i], turned[j]
    both = UNTURNED not in (oi, oj)
    bits = 0
    for axis in range(2):
        before, after = apart[axis, i, oi, j, oj], apart[axis, j, oj, i, oi]
        if both and nets[axis, i, j] >= before - _SLACK_M:
            return 16
        if both and nets[axis, j, i] >= after - _SLACK_M:
            return 16
        if nets[axis, j, i] + before <= _SLACK_M:
            bits |= 1 << (2 * axis)
        if nets[axis, i, j] + after <= _SLACK_M:
            bits |= 2 << (2 * axis)
    return bits


@njit(cache=True, nogil=True)
def _conclude(
    nets: NDArray[np.float64],
    told: NDArray[np.int64],
    turned: NDArray[np.int64],
    apart: NDArray[np.float64],
    i: int,
    j: int,
) -> int:
    """Draw what a pair forces: -1 it can't be told apart, 1 something was added, 0 nothing."""
    bits = _open(nets, turned, apart, i, j)
    if bits == 16:
        told[i, j] = 1
        return 0
    if bits == 0:
        return -1
    if bits & (bits - 1):
        return 0
    relation = 0
    while bits >> relation != 1:
        relation += 1
    if UNTURNED not in (turned[i], turned[j]):
        return 1 if _relate(nets, told, turned, apart, i, j, relation) else -1
    axis = relation // 2
    a, b = (i, j) if relation % 2 == 0 else (j, i)
    least = apart[axis, a, turned[a], b, turned[b]]
    if least <= nets[axis, a, b] + _SLACK_M:
        return 0
    return 1 if _add(nets[axis], a, b, least) else -1


@njit(cache=True, nogil=True)
def _settle(
    nets: NDArray[np.float64],
    told: NDArray[np.int64],
    turned: NDArray[np.int64],
    turns: NDArray[np.int64],
    apart: NDArray[np.float64],
    core: NDArray[np.float64],
    inset: NDArray[np.float64],
    whole: NDArray[np.float64],
) -> bool:
    """Draw every forced conclusion; False if a pair can't be told apart or a slab overflows."""
    n = turned.shape[0]
    again = True
    while again:
        again = False
        for i in range(n):
            for j in range(i + 1, n):
                if told[i, j]:
                    continue
                drawn = _conclude(nets, told, turned, apart, i, j)
                if drawn < 0:
                    return False
                again = again or drawn == 1
    return _slabs_hold(nets[0], 0, turned, turns, core, inset, whole[1]) and _slabs_hold(
        nets[1], 1, turned, turns, core, inset, whole[0]
    )


@njit(cache=True, nogil=True)
def _turn(
    nets: NDArray[np.float64],
    turned: NDArray[np.int64],
    size: NDArray[np.float64],
    mirrored: NDArray[np.int64],
    i: int,
    turn: int,
) -> bool:
    """Turn a piece; of a packing and its mirror image only one is looked at."""
    turned[i] = turn
    zero, end = turned.shape[0], turned.shape[0] + 1
    for axis in range(2):
        extent = size[axis, i, turn]
        if not _add(nets[axis], i, end, extent):
            return False
        middle = (nets[axis, zero, end] - extent) / 2
        if mirrored[axis] == i and not _add(nets[axis], i, zero, -middle):
            return False
    return True


@njit(cache=True, nogil=True)
def _touch(
    nets: NDArray[np.float64],
    turned: NDArray[np.int64],
    size: NDArray[np.float64],
    i: int,
    edge: int,
) -> bool:
    """Set a piece at the left, bottom, right or top edge (0 to 3)."""
    n = turned.shape[0]
    axis = edge % 2
    if edge < 2:
        return _add(nets[axis], i, n, 0.0)
    return _add(nets[axis], n + 1, i, -size[axis, i, turned[i]])


@njit(cache=True, nogil=True)
def _choose(
    nets: NDArray[np.float64],
    told: NDArray[np.int64],
    turned: NDArray[np.int64],
    turns: NDArray[np.int64],
    edged: NDArray[np.int64],
    edges: int,
    apart: NDArray[np.float64],
) -> tuple[int, int, int, int]:
    """Next question and its answers as bits: (kind, i, j, bits); kind -1: all is decided.

    Kind 0: turn of i; 1: edge of i; 2: relation of i and j. Pieces come in the order given.
    """
    n = turned.shape[0]
    for i in range(n):
        if turned[i] == UNTURNED:
            return 0, i, 0, (1 << turns[i]) - 1
        if edged[i] == 0:
            return 1, i, 0, edges
        fewest, at, answers = 9, -1, 0
        for j in range(i):
            if told[j, i]:
                continue
            bits = _open(nets, turned, apart, j, i)
            count = (bits & 1) + (bits >> 1 & 1) + (bits >> 2 & 1) + (bits >> 3 & 1)
            if count < fewest:
                fewest, at, answers = count, j, bits
        if at >= 0:
            return 2, at, i, answers
    return -1, 0, 0, 0


@njit(cache=True, nogil=True)
def _roomiest(
    nets: NDArray[np.float64],
    turned: NDArray[np.int64],
    apart: NDArray[np.float64],
    question: NDArray[np.int64],
) -> int:
    """Answer to try next: for a pair the relation that leaves most room, else the lowest."""
    kind, i, j, bits = question[0], question[1], question[2], question[3]
    best, most = -1, -np.inf
    for answer in range(4):
        if not bits >> answer & 1:
            continue
        if kind != 2:
            return answer
        axis = answer // 2
        a, b = (i, j) if answer % 2 == 0 else (j, i)
        room = -(nets[axis, b, a] + apart[axis, a, turned[a], b, turned[b]])
        if room > most:
            best, most = answer, room
    return best


@njit(cache=True, nogil=True)
def search(  # noqa: PLR0913, PLR0917  # compiled: a record of arrays would have to be unpacked
    nets: NDArray[np.float64],
    turned: NDArray[np.int64],
    turns: NDArray[np.int64],
    edged: NDArray[np.int64],
    mirrored: NDArray[np.int64],
    edges: int,
    size: NDArray[np.float64],
    apart: NDArray[np.float64],
    core: NDArray[np.float64],
    inset: NDArray[np.float64],
    whole: NDArray[np.float64],
    most: int,
) -> tuple[int, int]:
    """Decide; the nets and turns of a packing are left in ``nets`` and ``turned``.

    Parameters
    ----------
    nets
        (2, n + 2, n + 2): least differences along x and y; the last two are the edges.
    turned, edged
        (n,): turn of each piece, 4 for none yet; whether its edge needs no more asking.
    turns
        (n,): how many turns each may take.
    mirrored
        (2,): piece whose middle is kept left of the whole's, and below; -1 for none.
    edges
        Edges that may be touched, as bits: left, bottom, right, top.
    size
        (2, n, 5): extents of each turn; the least of them at 4.
    apart
        (2, n, 5, n, 5): least difference if the first stands before the second.
    core, inset
        (2, n, 4): extents of the part that nothing may overlap, and where it begins.
    whole
        Extents of the whole.
    most
        Branches to try at most.

    Returns
    -------
    int, int
        1 packed, 0 proven impossible, -1 not decided; branches tried.
    """
    n = turned.shape[0]
    deep = 2 * n + n * (n - 1) // 2 + 2
    all_nets = np.empty((deep, 2, n + 2, n + 2))
    all_told = np.zeros((deep, n, n), np.int64)
    all_turned = np.empty((deep, n), np.int64)
    all_edged = np.empty((deep, n), np.int64)
    asked = np.zeros((deep, 4), np.int64)
    all_nets[0], all_turned[0], all_edged[0] = nets, turned, edged
    if not _settle(all_nets[0], all_told[0], all_turned[0], turns, apart, core, inset, whole):
        return 0, 0
    level, tried, fresh = 0, 0, True
    while level >= 0:
        now_nets, now_turned, now = all_nets[level], all_turned[level], asked[level]
        if fresh:
            now[0], now[1], now[2], now[3] = _choose(
                now_nets, all_told[level], now_turned, turns, all_edged[level], edges, apart
            )
            if now[0] < 0:
                nets[:], turned[:] = now_nets, now_turned
                return 1, tried
        answer = _roomiest(now_nets, now_turned, apart, now)
        if answer < 0:
            level, fresh = level - 1, False
            continue
        tried += 1
        if tried > most:
            return -1, tried
        now[3] &= ~(1 << answer)
        next_nets, next_turned, next_told = (
            all_nets[level + 1],
            all_turned[level + 1],
            all_told[level + 1],
        )
        next_nets[:], next_turned[:], next_told[:] = now_nets, now_turned, all_told[level]
        all_edged[level + 1] = all_edged[level]
        if now[0] == 0:
            holds = _turn(next_nets, next_turned, size, mirrored, now[1], answer)
        elif now[0] == 1:
            all_edged[level + 1, now[1]] = 1
            holds = _touch(next_nets, next_turned, size, now[1], answer)
        else:
            holds = _relate(next_nets, next_told, next_turned, apart, now[1], now[2], answer)
        fresh = holds and _settle(
            next_nets, next_told, next_turned, turns, apart, core, inset, whole
        )
        if fresh:
            level += 1
    return 0, tried
