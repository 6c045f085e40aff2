"""The compiled search behind reach: from many places at once, and no farther than a walk."""

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

__all__ = ["nodes_within"]


@njit(cache=True, nogil=True)
def nodes_within(
    first: Places,
    to: Places,
    step_m: Array,
    start_first: Places,
    start: Places,
    start_m: Array,
    within_m: float,
) -> tuple[Places, Places, Array]:
    """Nodes within a walk of each place: Dijkstra 1959, stopped at the walk's end.

    Only what is reached is looked at and given back, so the cost is that of a neighbourhood,
    however large the town.

    Parameters
    ----------
    first, to, step_m
        Edges of the graph by node: those of node k lie from ``first[k]`` to ``first[k + 1]``.
    start_first, start, start_m
        Nodes that each place is linked to and how far they are, in the same form.
    within_m
        Longest walk.

    Returns
    -------
    found_first, node, walk_m
        Nodes of each place in the same form, nearest first.

    Notes
    -----
    It is quickest where neighbours have near numbers and places come in the order of theirs: then
    each finds in the processor's cache what the one before has used.
    """
    nodes = len(first) - 1
    far = np.full(nodes, np.inf)
    at = np.full(nodes, -1)  # where a node stands in the heap; -1: nowhere
    heap = np.empty(nodes, np.intp)
    found_first = np.zeros(len(start_first), np.intp)
    node, walk_m = np.empty(1024, np.intp), np.empty(1024)
    count = 0
    for place in range(len(start_first) - 1):
        size = 0
        for k in range(start_first[place], start_first[place + 1]):
            if start_m[k] <= within_m and start_m[k] < far[start[k]]:
                size = _put(heap, at, far, size, start[k], start_m[k])
        while size:
            here, size = _take(heap, at, far, size)
            if count == len(node):
                node = np.concatenate((node, np.empty_like(node)))
                walk_m = np.concatenate((walk_m, np.empty_like(walk_m)))
            node[count], walk_m[count] = here, far[here]
            count += 1
            for k in range(first[here], first[here + 1]):
                next_m = far[here] + step_m[k]
                if next_m < far[to[k]] and next_m <= within_m:
                    size = _put(heap, at, far, size, to[k], next_m)
        for k in range(found_first[place], count):
            far[node[k]], at[node[k]] = np.inf, -1
        found_first[place + 1] = count
    return found_first, node[:count], walk_m[:count]


@njit(cache=True, nogil=True)
def _put(heap: Places, at: Places, far: Array, size: int, node: int, far_m: float) -> int:
    """Put a node into the heap, or move it up where it got nearer; give the heap's new size."""
    far[node] = far_m
    k = at[node]
    if k < 0:
        k = size
        size += 1
    while k > 0:
        up = (k - 1) >> 1
        if far[heap[up]] <= far_m:
            break
        heap[k] = heap[up]
        at[heap[k]] = k
        k = up
    heap[k] = node
    at[node] = k
    return size


@njit(cache=True, nogil=True)
def _take(heap: Places, at: Places, far: Array, size: int) -> tuple[int, int]:
    """Take the nearest node out of the heap; give it and the heap's new size."""
    top, size = heap[0], size - 1
    last = heap[size]
    last_m, k = far[last], 0
    while True:
        down = 2 * k + 1
        if down >= size:
            break
        if down + 1 < size and far[heap[down + 1]] < far[heap[down]]:
            down += 1
        if far[heap[down]] >= last_m:
            break
        heap[k] = heap[down]
        at[heap[k]] = k
        k = down
    heap[k] = last
    at[last] = k
    return top, size
