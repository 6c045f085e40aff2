"""Who sees what: straight lines of sight over ground, buildings and crowns."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from numba import njit

if TYPE_CHECKING:
    from affine import Affine
    from numpy.typing import NDArray

__all__ = ["InTheWay", "in_the_way", "sees"]

_LEAST_M = 1e-9


@dataclass(frozen=True, eq=False)
class InTheWay:
    """What may stand in the way of sight, heights by elevation.

    Parameters
    ----------
    spheroids
        (n, 5): east, north, elevation of the middle, radius, half height.
    corners, first
        (c, 2) corners of convex prisms and (k + 1,) where each one's begin.
    bottom_m, top_m
        (k,) of each prism.
    ground, origin
        Elevation of cells (NaN: stands in nobody's way), and ``x, y, cell width, cell height`` of
        its upper left corner.
    """

    spheroids: NDArray[np.float64]
    corners: NDArray[np.float64]
    first: NDArray[np.int64]
    bottom_m: NDArray[np.float64]
    top_m: NDArray[np.float64]
    ground: NDArray[np.float64]
    origin: tuple[float, float, float, float]


def in_the_way(
    spheroids: NDArray[np.float64],
    outlines: NDArray[np.object_],
    bottom_m: NDArray[np.float64],
    top_m: NDArray[np.float64],
    *,
    ground: NDArray[np.floating] | None = None,
    transform: Affine | None = None,
) -> InTheWay:
    """Put together what may stand in the way.

    Parameters
    ----------
    spheroids
        (n, 5) as of `InTheWay`.
    outlines, bottom_m, top_m
        (k,) convex polygons and their heights by elevation.
    ground, transform
        Elevation and the place of its cells; None: the ground stands in nobody's way.
    """
    xy, owner = shapely.get_coordinates(shapely.get_exterior_ring(outlines), return_index=True)
    first = np.searchsorted(owner, np.arange(len(outlines) + 1))
    cells, origin = np.full((1, 1), np.nan), (0.0, 0.0, 1.0, -1.0)
    if ground is not None and transform is not None and ground.size:
        cells = np.asarray(ground, dtype=np.float64)
        origin = (transform.c, transform.f, transform.a, transform.e)
    shapes = np.asarray(spheroids, dtype=np.float64).reshape(-1, 5)
    return InTheWay(shapes, xy, first.astype(np.int64), bottom_m, top_m, cells, origin)


def sees(
    eyes: NDArray[np.float64],
    targets: NDArray[np.float64],
    way: InTheWay,
    *,
    within_m: float = np.inf,
) -> NDArray[np.bool_]:
    """Whether each eye sees each target along a straight line.

    What holds one way holds the other: with the two exchanged the answers are those transposed.

    Parameters
    ----------
    eyes, targets
        (m, 3) and (n, 3): east, north, elevation.
    way
        What may stand in the way.
    within_m
        Level distance beyond which nothing is seen.

    Returns
    -------
    ndarray
        (m, n).

    Examples
    --------
    >>> wall = in_the_way(np.empty((0, 5)), np.array([shapely.box(9, -5, 10, 5)]),
    ...                   np.zeros(1), np.full(1, 3.0))
    >>> sees(np.array([[0, 0, 1.6]]), np.array([[20, 0, 0.6], [5, 0, 0.6]]), wall).tolist()
    [[False, True]]
    """
    return _look(
        np.ascontiguousarray(eyes, dtype=np.float64),
        np.ascontiguousarray(targets, dtype=np.float64),
        way.spheroids,
        way.corners,
        way.first,
        _boxes(way),
        way.ground,
        np.array([*way.origin, within_m]),
    )


def _boxes(way: InTheWay) -> NDArray[np.float64]:
    """Least and greatest east, north and elevation of each prism: (k, 6)."""
    starts = way.first[:-1]
    if not len(starts):
        return np.empty((0, 6))
    low, high = (f.reduceat(way.corners, starts) for f in (np.minimum, np.maximum))
    return np.column_stack([low, way.bottom_m, high, way.top_m])


@njit(cache=True, nogil=True)
def _look(eyes, targets, spheroids, corners, first, boxes, ground, sizes):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    seen = np.zeros((len(eyes), len(targets)), dtype=np.bool_)
    for i in range(len(eyes)):
        for j in range(len(targets)):
            a, b = eyes[i], targets[j]
            if np.hypot(b[0] - a[0], b[1] - a[1]) > sizes[4]:
                continue
            seen[i, j] = (
                not _prism_hides(a, b, corners, first, boxes)
                and not _crown_hides(a, b, spheroids)
                and not _ground_hides(a, b, ground, sizes)
            )
    return seen


@njit(cache=True, nogil=True)
def _prism_hides(a, b, corners, first, boxes):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """Whether the line runs through a prism whose box it doesn't pass beside, over or under."""
    for k in range(len(boxes)):
        is_off = False
        for axis in range(3):
            is_off |= min(a[axis], b[axis]) >= boxes[k, axis + 3]
            is_off |= max(a[axis], b[axis]) <= boxes[k, axis]
        if not is_off and _one_hides(a, b, corners[first[k] : first[k + 1]], boxes[k]):
            return True
    return False


@njit(cache=True, nogil=True)
def _one_hides(a, b, corners, box):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """Whether the line runs through one prism: cut to each of its sides in turn."""
    dx, dy, dz = b[0] - a[0], b[1] - a[1], b[2] - a[2]
    twice = 0.0
    for c in range(len(corners) - 1):
        twice += corners[c, 0] * corners[c + 1, 1] - corners[c + 1, 0] * corners[c, 1]
    turn = 1.0 if twice > 0 else -1.0
    enter, leave = 0.0, 1.0
    for c in range(len(corners) - 1):
        ex = turn * (corners[c + 1, 0] - corners[c, 0])
        ey = turn * (corners[c + 1, 1] - corners[c, 1])
        inside = ex * (a[1] - corners[c, 1]) - ey * (a[0] - corners[c, 0])
        along = ex * dy - ey * dx
        if along == 0.0:
            if inside < 0.0:
                return False
        elif along > 0.0:
            enter = max(enter, -inside / along)
        else:
            leave = min(leave, -inside / along)
    if leave - enter <= _LEAST_M:
        return False
    low, high = a[2] + enter * dz, a[2] + leave * dz
    if low > high:
        low, high = high, low
    return low < box[5] and high > box[2]


@njit(cache=True, nogil=True)
def _crown_hides(a, b, spheroids):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """Whether the line comes into a spheroid: its nearest point to the middle, in radii."""
    for k in range(len(spheroids)):
        r, h = spheroids[k, 3], spheroids[k, 4]
        east, north = spheroids[k, 0], spheroids[k, 1]
        if min(a[0], b[0]) > east + r or max(a[0], b[0]) < east - r:
            continue
        if min(a[1], b[1]) > north + r or max(a[1], b[1]) < north - r:
            continue
        ux, uy, uz = (b[0] - a[0]) / r, (b[1] - a[1]) / r, (b[2] - a[2]) / h
        px = (spheroids[k, 0] - a[0]) / r
        py = (spheroids[k, 1] - a[1]) / r
        pz = (spheroids[k, 2] - a[2]) / h
        long = ux * ux + uy * uy + uz * uz
        t = 0.0
        if long > 0.0:
            t = min(max((px * ux + py * uy + pz * uz) / long, 0.0), 1.0)
        x, y, z = px - t * ux, py - t * uy, pz - t * uz
        if x * x + y * y + z * z < 1.0:
            return True
    return False


@njit(cache=True, nogil=True)
def _ground_hides(a, b, ground, origin):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """Whether the ground rises into the line, looked at each half cell in the middle of the step."""
    dx, dy, dz = b[0] - a[0], b[1] - a[1], b[2] - a[2]
    steps = int(np.ceil(2 * np.sqrt(dx * dx + dy * dy) / origin[2]))
    for k in range(steps):
        t = (k + 0.5) / steps
        x = (a[0] + t * dx - origin[0]) / origin[2] - 0.5
        y = (a[1] + t * dy - origin[1]) / origin[3] - 0.5
        column, row = int(np.floor(x)), int(np.floor(y))
        if row < 0 or column < 0 or row + 1 >= ground.shape[0] or column + 1 >= ground.shape[1]:
            continue
        u, v = x - column, y - row
        upper = (1 - u) * ground[row, column] + u * ground[row, column + 1]
        lower = (1 - u) * ground[row + 1, column] + u * ground[row + 1, column + 1]
        # A comparison with NaN is false: what nobody knows hides nothing.
        if (1 - v) * upper + v * lower > a[2] + t * dz:
            return True
    return False
