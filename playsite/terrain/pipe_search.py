"""The shortest course of a pipe over the cells, by labels of length and invert."""

import heapq
import math

import numpy as np
from numba import njit

from playsite.terrain.pipe_moves import GOES_ON, NOT_LAID, Cells, Floats, Mask, Moves, ending, laid


@njit(cache=True, nogil=True)
def shortest_course(
    ground: Floats,
    free: Mask,
    into: Floats,
    start: tuple[int, int],
    invert: float,
    rules: Floats,
    ways: Moves,
) -> Cells:
    """Cells of the shortest course from the start to an end elsewhere; empty if there is none.

    A label: row, column, whether it has come up, how it ends, the label before.
    """
    (rows, columns), (steps, begins, crossed) = ground.shape, ways
    highest = np.full((2, rows, columns), -math.inf)  # invert of the labels settled at a cell
    nearest = np.full((2, rows, columns), math.inf)  # the last label in the queue at a cell
    and_high = np.full((2, rows, columns), -math.inf)
    labels, count = np.empty((1024, 5), np.int64), 1
    labels[0] = start[0], start[1], 0, GOES_ON, -1
    queue, shortest = [(0.0, -invert, 0)], math.inf
    while queue:
        length, lowered, label = heapq.heappop(queue)
        row, column, was, kind, _ = labels[label]
        if kind != GOES_ON:
            return _course(labels, label)
        if -lowered <= highest[was, row, column]:
            continue
        highest[was, row, column] = -lowered
        pipe = (NOT_LAID, 0.0, -lowered, 0.0) if was else (-lowered, 0.0, NOT_LAID, 0.0)
        for step in range(len(steps)):
            down, across = steps[step]
            i, j = row + down, column + across
            if not (0 <= i < rows and 0 <= j < columns and free[i, j]):
                continue
            further = length + math.hypot(down, across)
            if further >= shortest:
                continue
            between = crossed[begins[step] : begins[step + 1]]
            after = laid(ground, free, (row, column), (down, across), between, pipe, rules)
            kind = ending(ground[i, j], into[i, j], after, rules)
            if kind != GOES_ON:
                shortest = further
            for now in (0, 1):
                height = after[2 * now]
                if height <= highest[now, i, j] or (
                    nearest[now, i, j] <= further and and_high[now, i, j] >= height
                ):
                    continue
                nearest[now, i, j], and_high[now, i, j] = further, height
                labels = _with_room(labels, count)
                labels[count] = i, j, now, kind, label
                heapq.heappush(queue, (further, -height, count))
                count += 1
    return np.empty((0, 2), np.int64)


@njit(cache=True, nogil=True)
def _with_room(labels: Cells, count: int) -> Cells:
    return labels if count < len(labels) else np.concatenate((labels, np.empty_like(labels)))


@njit(cache=True, nogil=True)
def _course(labels: Cells, label: int) -> Cells:
    count, at = 0, label
    while at >= 0:
        count, at = count + 1, labels[at, 4]
    course = np.empty((count, 2), np.int64)
    for place in range(count - 1, -1, -1):
        course[place] = labels[label, :2]
        label = labels[label, 4]
    return course
