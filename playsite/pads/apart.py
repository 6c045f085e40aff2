"""Two rectangles placed apart: the two age areas of one playground, each where it fits."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.spatial import KDTree

from playsite.pads.choice import spread
from playsite.pads.legality import TOLERANCE_M, is_legal
from playsite.pads.search import iterate_legal_places, legal_centres
from playsite.pads.shape import check_sides, pad_polygons

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

__all__ = ["KEEP_PAIRS", "two_areas"]

KEEP_PAIRS = 64
"""Pairs kept of all that were found."""

# Step of the lattice in metres, step of the rotations in degrees, places kept of each rectangle,
# and whether the corners of the legal centres are places too.
_TRIES = ((2.0, 15.0, 600, False), (1.0, 5.0, 2_000, True))
_AT_ONCE = 500_000
_PAIRS_AT_ONCE = 100_000


def two_areas(
    land: BaseGeometry,
    first: tuple[float, float],
    second: tuple[float, float],
    *,
    least_apart_m: float,
    most_apart_m: float,
) -> NDArray[np.float64]:
    """Places for two rectangles that must lie apart, but not far apart.

    Places of each are taken from its lattice of exact legal places (`legal_places`), a bounded
    and well spread number; all pairs of them near enough are measured, rectangle to rectangle.
    Where no pair is found, a lattice of 1 m, rotations every 5 degrees and the corners of the
    legal centres are tried. Each place and each distance given is exact. Completeness is not
    proven: two areas that fit with little room to spare, between the steps, may be missed, and
    an empty answer is no proof that there is no pair.

    Parameters
    ----------
    land
        What may be built on.
    first, second
        Length and width of each rectangle in metres.
    least_apart_m, most_apart_m
        Distance between the nearest points of the two. They never touch, even where the least
        is 0.

    Returns
    -------
    ndarray
        (n, 6): easting, northing, rotation_deg of the first, then of the second; 64 pairs at
        most, well spread, the closest pair first; n is 0 where none was found.

    Raises
    ------
    ValueError
        When sides make no rectangle, or the distances are negative or the wrong way round.

    Examples
    --------
    >>> from shapely import box
    >>> strip, apart = box(0, 0, 50, 12), {"least_apart_m": 4, "most_apart_m": 20}
    >>> len(two_areas(strip, (20, 12), (16, 12), **apart)) > 0
    True
    >>> len(two_areas(strip, (25, 12), (22, 12), **apart))
    0
    """
    for length_m, width_m in (first, second):
        check_sides(length_m, width_m)
    if not 0 <= least_apart_m <= most_apart_m < np.inf:
        raise ValueError(
            "The areas' distance needs a least of 0 m or more and a most not below it; given "
            f"{least_apart_m} and {most_apart_m} m."
        )
    for a_try in _TRIES:
        found = [_places(land, sides, *a_try) for sides in (first, second)]
        if not all(len(places) for places in found):
            break
        blocks = _pairs(found[0], found[1], (first, second), (least_apart_m, most_apart_m))
        pairs = np.concatenate([np.empty((0, 7)), *blocks])
        if len(pairs):
            return _proven(land, _bounded(pairs, KEEP_PAIRS), first, second)
    return np.empty((0, 6))


def _places(
    land: BaseGeometry,
    sides: tuple[float, float],
    step_m: float,
    angle_step_deg: float,
    keep: int,
    corners: bool,  # noqa: FBT001  one column of a table of tries
) -> NDArray[np.float64]:
    """Hold a bounded number of legal places, in bounded memory."""
    held = np.empty((0, 3))
    waiting: list[NDArray[np.float64]] = []
    # drawn in by half of what the exact check allows: a strip of the very width has a lattice too
    length_m, width_m = (side - TOLERANCE_M for side in sides)
    for block in iterate_legal_places(
        land, length_m=length_m, width_m=width_m, step_m=step_m, angle_step_deg=angle_step_deg
    ):
        if corners and not (waiting and waiting[-1][0, 2] == block[0, 2]):
            waiting.append(_corners(land, length_m, width_m, block[0, 2]))
        waiting.append(block)
        if sum(map(len, waiting)) > _AT_ONCE:
            held = np.concatenate([held, *waiting])
            held, waiting = held[spread(held, 8 * keep)], []
    held = np.concatenate([held, *waiting])
    return held[spread(held, keep)]


def _corners(
    land: BaseGeometry, length_m: float, width_m: float, rotation_deg: float
) -> NDArray[np.float64]:
    """Give the corners of the legal centres.

    The distance of two rectangles is a convex function of their offset, so at fixed rotations
    two that lie farthest apart lie at such corners.
    """
    centres = legal_centres(land, length_m=length_m, width_m=width_m, rotation_deg=rotation_deg)
    points = shapely.get_coordinates(centres)
    return np.column_stack([points, np.full(len(points), rotation_deg)])


def _pairs(
    ones: NDArray[np.float64],
    others: NDArray[np.float64],
    sides: tuple[tuple[float, float], tuple[float, float]],
    apart_m: tuple[float, float],
) -> Iterator[NDArray[np.float64]]:
    """Pairs whose distance is right, with it as a seventh column; few of each block."""
    (length_1, width_1), (length_2, width_2) = sides
    one_pads = pad_polygons(ones, length_m=length_1, width_m=width_1)
    other_pads = pad_polygons(others, length_m=length_2, width_m=width_2)
    reach_m = apart_m[1] + (np.hypot(length_1, width_1) + np.hypot(length_2, width_2)) / 2
    tree = KDTree(others[:, :2])
    rows_at_once = max(1, _PAIRS_AT_ONCE // len(others))
    for start in range(0, len(ones), rows_at_once):
        near = tree.query_ball_point(ones[start : start + rows_at_once, :2], reach_m)
        i = start + np.repeat(np.arange(len(near)), [len(each) for each in near])
        j = np.concatenate([np.asarray(each, dtype=np.intp) for each in near])
        # Discs inside them overlap where middles are nearer than the half widths together.
        clear = np.hypot(*(ones[i, :2] - others[j, :2]).T) >= (width_1 + width_2) / 2 + apart_m[0]
        i, j = i[clear], j[clear]
        distance_m = shapely.distance(one_pads[i], other_pads[j])
        right = (distance_m >= apart_m[0]) & (distance_m <= apart_m[1]) & (distance_m > 0)
        pairs = np.column_stack([ones[i], others[j], distance_m])[right]
        yield _bounded(pairs, 8 * KEEP_PAIRS)


def _bounded(pairs: NDArray[np.float64], keep: int) -> NDArray[np.float64]:
    """Keep pairs well spread over the ground, of neighbours the closest; the closest first."""
    middle = (pairs[:, :2] + pairs[:, 3:5]) / 2
    where = np.column_stack([middle, pairs[:, 2]])
    kept = pairs[spread(where, keep, quality=pairs[:, 6])]
    return kept[np.argsort(kept[:, 6], kind="stable")]


def _proven(
    land: BaseGeometry,
    pairs: NDArray[np.float64],
    first: tuple[float, float],
    second: tuple[float, float],
) -> NDArray[np.float64]:
    legal = is_legal(land, pairs[:, :3], length_m=first[0], width_m=first[1])
    legal &= is_legal(land, pairs[:, 3:6], length_m=second[0], width_m=second[1])
    return pairs[legal, :6]
