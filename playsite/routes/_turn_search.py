"""The compiled search behind a truck's turning: poses of a rigid body with a least radius."""

from __future__ import annotations

import heapq
import math
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from numba import njit

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array: TypeAlias = NDArray[np.float64]
    Labels: TypeAlias = NDArray[np.float32]
    Scene: TypeAlias = tuple[Array, Array, Array, NDArray[np.bool_], Array]

BIN_M = 0.25
"""Side of the squares in which one pose of each direction is kept."""

TURNS = 144
"""Directions that are told apart: 2.5 degrees; coarser ones miss corridors that a truck passes."""

_STEP_M = 1.0
_REVERSE = 1.5  # a metre backwards counts as so many
_SHIFT_M = 5.0  # a change of gear counts as so many metres
_AXIS_M = 0.6
_HASTE = 1.5  # a drive is asked for, not the shortest one
_SAME_M = 1e-3
_BLUR_M = BIN_M * math.sqrt(2.0)


@njit(cache=True, nogil=True)
def _cell(x: float, y: float, corner: Array, shape: tuple[int, int]) -> tuple[int, int]:
    """Row and column of a point, -1 outside."""
    row, column = math.floor((corner[1] - y) / BIN_M), math.floor((x - corner[0]) / BIN_M)
    if not (0 <= row < shape[0] and 0 <= column < shape[1]):
        return -1, -1
    return row, column


@njit(cache=True, nogil=True)
def _cross(ax: float, ay: float, bx: float, by: float, edge: Array) -> bool:
    """Tell whether two segments meet."""
    cx, cy, dx, dy = edge[0], edge[1], edge[2], edge[3]
    if max(cx, dx) < min(ax, bx) or min(cx, dx) > max(ax, bx):
        return False
    if max(cy, dy) < min(ay, by) or min(cy, dy) > max(ay, by):
        return False
    one = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
    two = (bx - ax) * (dy - ay) - (by - ay) * (dx - ax)
    three = (dx - cx) * (ay - cy) - (dy - cy) * (ax - cx)
    four = (dx - cx) * (by - cy) - (dy - cy) * (bx - cx)
    return one * two <= 0.0 and three * four <= 0.0


@njit(cache=True, nogil=True)
def _room_along(x: float, y: float, c: float, s: float, body: Array, scene: Scene) -> int:
    """Tell by the room along a truck's axis: 1 it stands clear, 0 it does not, -1 it can't be told."""
    room, corner = scene[1], scene[2]
    half, front, back = body[0], body[1], body[2]
    sure = math.hypot(half, _AXIS_M / 2) + _BLUR_M
    told = 1
    count = int((front + back) / _AXIS_M) + 1
    for k in range(count + 1):
        at = -back + (front + back) * k / count
        row, column = _cell(x + at * c, y + at * s, corner, room.shape)
        if row < 0:
            return 0
        if half - back <= at <= front - half and room[row, column] < half - _BLUR_M:
            return 0
        if room[row, column] < sure:
            told = -1
    return told


@njit(cache=True, nogil=True)
def body_is_free(x: float, y: float, heading: float, body: Array, scene: Scene) -> bool:
    """Tell whether a truck stands clear: by room along its axis where that settles it, else exactly.

    ``body``: half its width, and how far its front and its back lie before and behind the rear axle.
    ``scene``: edges of what stands, room (m) of each small square, its corner, goal, rest.
    """
    edges = scene[0]
    half, front, back = body[0], body[1], body[2]
    c, s = math.cos(heading), math.sin(heading)
    told = _room_along(x, y, c, s, body, scene)
    if told >= 0:
        return told == 1
    px, py = np.empty(5), np.empty(5)
    for k in range(5):
        along = front if k % 4 < 2 else -back
        across = half if 0 < k % 4 < 3 else -half
        px[k], py[k] = x + along * c - across * s, y + along * s + across * c
    for e in range(len(edges)):
        for k in range(4):
            if _cross(px[k], py[k], px[k + 1], py[k + 1], edges[e]):
                return False
        # An edge may lie wholly inside.
        dx, dy = edges[e, 0] - x, edges[e, 1] - y
        if -back <= dx * c + dy * s <= front and abs(dy * c - dx * s) <= half:
            return False
    return True


@njit(cache=True, nogil=True)
def _moved(pose: Array, bend: float, way: float) -> tuple[float, float, float]:
    """Pose after driving along an arc of some curvature; ``way`` is negative backwards."""
    if bend == 0.0:
        return pose[0] + way * math.cos(pose[2]), pose[1] + way * math.sin(pose[2]), pose[2]
    turned = pose[2] + bend * way
    return (
        pose[0] + (math.sin(turned) - math.sin(pose[2])) / bend,
        pose[1] - (math.cos(turned) - math.cos(pose[2])) / bend,
        turned,
    )


@njit(cache=True, nogil=True)
def _is_there(pose: Array, body: Array, scene: Scene) -> bool:
    """Tell whether the middle of the front or of the back stands in the goal."""
    corner, goal = scene[2], scene[3]
    for at in (body[1], -body[2]):
        x, y = pose[0] + at * math.cos(pose[2]), pose[1] + at * math.sin(pose[2])
        row, column = _cell(x, y, corner, goal.shape)
        if row >= 0 and goal[row, column]:
            return True
    return False


@njit(cache=True, nogil=True)
def _bin(x: float, y: float, heading: float, scene: Scene) -> int:
    """Number of a pose's square and direction, -1 outside."""
    row, column = _cell(x, y, scene[2], scene[1].shape)
    if row < 0:
        return -1
    turn = round(heading / (2 * math.pi) * TURNS) % TURNS
    return (row * scene[1].shape[1] + column) * TURNS + turn


@njit(cache=True, nogil=True)
def _tried(
    pose: Array, bend: float, gear: float, body: Array, scene: Scene, least: Labels, far_m: float
) -> tuple[bool, float, float, float]:
    """Drive one step, and tell whether it comes cheaper than before and is clear, middle and end."""
    x, y, heading = _moved(pose, bend, gear * _STEP_M)
    there = _bin(x, y, heading, scene)
    if there < 0 or least[there] <= far_m:
        return False, x, y, heading
    half = _moved(pose, bend, gear * _STEP_M / 2)
    clear = body_is_free(half[0], half[1], half[2], body, scene)
    return clear and body_is_free(x, y, heading, body, scene), x, y, heading


@njit(cache=True, nogil=True)
def driven(
    starts: Array, body: Array, radius_m: float, scene: Scene, gears: Array, most: int
) -> tuple[int, Array, NDArray[np.int64]]:
    """Search a drive from one of some poses to the goal.

    Parameters
    ----------
    starts
        (n, 3) easting, northing and heading of the rear axle, heading from east, counter-clockwise.
    body, scene
        As ``body_is_free`` reads them.
    radius_m
        Least radius of the rear axle's path.
    gears
        1 forwards, -1 backwards: those it may use.
    most
        Poses after which the search is given up.

    Returns
    -------
    last, poses, before
        Number of the last pose (-1: no drive, or given up), all poses (x, y, heading, gear) and
        where each came from.
    """
    poses = np.zeros((most, 4))
    cost = np.zeros(most)
    before = np.full(most, -1, dtype=np.int64)
    rest, corner = scene[4], scene[2]
    least = np.full(rest.size * TURNS, np.inf, dtype=np.float32)
    heap = [(np.float64(0.0), np.int64(-1))]
    heap.pop()
    count = 0
    for k in range(len(starts)):
        if body_is_free(starts[k, 0], starts[k, 1], starts[k, 2], body, scene):
            poses[count, :3] = starts[k]
            heapq.heappush(heap, (np.float64(0.0), np.int64(count)))
            count += 1
    bends = (0.0, 1 / radius_m, -1 / radius_m, 0.5 / radius_m, -0.5 / radius_m)
    while heap and count < most - len(bends) * len(gears):
        _, at = heapq.heappop(heap)
        own = _bin(poses[at, 0], poses[at, 1], poses[at, 2], scene)
        if own < 0 or least[own] < cost[at] - _SAME_M:
            continue
        if _is_there(poses[at], body, scene):
            return int(at), poses, before
        for gear in gears:
            metre = _STEP_M if gear > 0 else _REVERSE * _STEP_M
            far_m = cost[at] + metre + (_SHIFT_M if poses[at, 3] * gear < 0 else 0.0)
            for bend in bends:
                good, x, y, heading = _tried(poses[at], bend, gear, body, scene, least, far_m)
                row, column = _cell(x, y, corner, rest.shape)
                if not good or not math.isfinite(rest[row, column]):
                    continue
                poses[count] = x, y, heading, gear
                cost[count], before[count] = far_m, at
                least[_bin(x, y, heading, scene)] = far_m
                heapq.heappush(heap, (far_m + _HASTE * rest[row, column], np.int64(count)))
                count += 1
    return -1, poses, before


@njit(cache=True, nogil=True)
def least_rest(room: Array, goal: NDArray[np.bool_], least_m: float, shorter_m: float) -> Array:
    """Way of a point from each square to the goal where there is room, less a truck's length."""
    rows, columns = room.shape
    rest = np.full((rows, columns), np.inf)
    heap = [(np.float64(0.0), np.int64(0))]
    heap.pop()
    for row in range(rows):
        for column in range(columns):
            if goal[row, column]:
                rest[row, column] = 0.0
                heapq.heappush(heap, (np.float64(0.0), np.int64(row * columns + column)))
    while heap:
        own, at = heapq.heappop(heap)
        row, column = at // columns, at % columns
        if own > rest[row, column]:
            continue
        for i in range(-1, 2):
            for j in range(-1, 2):
                r, c = row + i, column + j
                if not (0 <= r < rows and 0 <= c < columns) or room[r, c] < least_m:
                    continue
                further = own + math.hypot(i, j) * BIN_M
                if further < rest[r, c] - 1e-9:
                    rest[r, c] = further
                    heapq.heappush(heap, (np.float64(further), np.int64(r * columns + c)))
    # Steps between neighbours overstate a way by up to 8.2 %.
    return np.maximum(rest / 1.0824 - shorter_m, 0.0)
