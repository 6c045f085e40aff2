"""Accessible routes: the shortest new way to a pad that can be graded to the rules of step-free ways."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from scipy.ndimage import binary_dilation, label

from playsite.routes._grade_lattice import lattice
from playsite.routes._grade_search import MIDDLE, graded_way
from playsite.units import LENGTHS_M

if TYPE_CHECKING:
    from affine import Affine
    from numpy.typing import ArrayLike, NDArray

    from playsite.routes._grade_lattice import Lattice

__all__ = [
    "CLEAR_M",
    "CROSS_SLOPE",
    "LANDING_M",
    "NO_WAY",
    "RAMPED_SLOPE",
    "RAMP_SLOPE",
    "RISE_M",
    "WALK_SLOPE",
    "AccessibleWay",
    "accessible_way",
    "ramp_length_m",
    "ramp_runs",
]

WALK_SLOPE = 1 / 20
"""Steepest running slope of a walking surface (2010 ADA Standards, 403.3)."""

CROSS_SLOPE = 1 / 48
"""Steepest cross slope (2010 ADA Standards, 403.3 and 405.3)."""

RAMP_SLOPE = 1 / 12
"""Steepest running slope of a ramp run (2010 ADA Standards, 405.2)."""

RISE_M = 30 * LENGTHS_M["in"]
"""Greatest rise of one ramp run (2010 ADA Standards, 405.6)."""

LANDING_M = 60 * LENGTHS_M["in"]
"""Length of the level landing at each end of a run (2010 ADA Standards, 405.7.3, from memory)."""

CLEAR_M = 36 * LENGTHS_M["in"]
"""Clear width that a way keeps everywhere (2010 ADA Standards, 403.5.1, from memory)."""

RAMPED_SLOPE = RISE_M / (RISE_M / RAMP_SLOPE + LANDING_M)
"""Rise over length of full ramp runs with a landing after each: 7.1 %."""

_LAYER_M = 0.025
_LEAST_MOVE_M = 1.5
_ROUND_M = 20.0
_PULLS = 400  # more change the heights of ways up to 200 m by less than a centimetre


@dataclass(frozen=True)
class AccessibleWay:
    """A way to be built.

    Parameters
    ----------
    length_m
        From pad to arrival, landings of ramps with it; inf: none within the reach.
    path
        LineString from the pad to the arrival; None where there is none.
    height_m
        Height of the way at each point of the path.
    ground_m
        Height of the ground there.
    ramp_rise_m
        Rise of its stretches steeper than a walking surface.
    """

    length_m: float
    path: Any
    height_m: NDArray[np.float64]
    ground_m: NDArray[np.float64]
    ramp_rise_m: float

    @property
    def runs(self) -> int:
        """Ramp runs that its rise takes."""
        return ramp_runs(self.ramp_rise_m)

    @property
    def grades(self) -> NDArray[np.float64]:
        """Running slope of each leg, rise over length, uphill and downhill alike."""
        if self.path is None:
            return np.zeros(0)
        legs = np.hypot(*np.diff(shapely.get_coordinates(self.path), axis=0).T)
        return np.abs(np.diff(self.height_m)) / np.maximum(legs, 1e-9)


NO_WAY = AccessibleWay(np.inf, None, np.zeros(0), np.zeros(0), 0.0)
"""What is given where no way is found."""


def ramp_runs(rise_m: float) -> int:
    """Count ramp runs of a rise: none climbs more than 30 in.

    Examples
    --------
    >>> ramp_runs(0.0), ramp_runs(0.762), ramp_runs(1.0)
    (0, 1, 2)
    """
    return math.ceil(rise_m / RISE_M - 1e-9) if rise_m > 0 else 0


def ramp_length_m(rise_m: float) -> float:
    """Length of ramps with their landings, one at each end and one between runs.

    Examples
    --------
    30 in of rise are 30 ft of run and two landings of 5 ft:

    >>> round(ramp_length_m(0.762) / 0.3048, 6)
    40.0
    """
    return rise_m / RAMP_SLOPE + LANDING_M * (ramp_runs(rise_m) + 1) if rise_m > 0 else 0.0


def accessible_way(
    pad: Any,
    arrivals: ArrayLike,
    elevation: NDArray[np.floating],
    transform: Affine,
    solid: ArrayLike,
    *,
    slope: float = WALK_SLOPE,
    reach_m: float = 200.0,
) -> AccessibleWay:
    """Find the shortest way from a pad to an arrival whose running slope never passes a limit.

    The slope is that of the way, never of the ground: it may bend back and forth, and stand up to
    15 cm over or under the ground, as grading makes it. Cross slope is met by benching and is no
    bar. The way keeps 36 in clear of both sides together.

    Parameters
    ----------
    pad
        Polygon, projected metres.
    arrivals
        Shapes where people come from: walks, car parks, stops.
    elevation, transform
        Heights of the ground, m, NaN where nothing is known, and where they lie. No way leads over
        ground that isn't known, nor over ground steeper than 33 %.
    solid
        Shapes that no way may cross.
    slope
        Steepest running slope: 1:20 for a walk; ``RAMPED_SLOPE`` where ramps are let in.
    reach_m
        Longest way that is looked for.

    Returns
    -------
    AccessibleWay
        On places 2 m apart: longer by up to 3 % than the true shortest.

    Notes
    -----
    A* (Hart, Nilsson, Raphael 1968, from memory) over place, height above the ground in steps of
    2.5 cm, and direction; a turn is a right angle at most. Without directions, or with more height to
    play with, the way would climb on the spot: round four places of 2 m it must not gain the 30 cm
    between its highest and lowest layer. Known answer: on a plane, max(D, dz / slope).

    Examples
    --------
    An 8 % slope, 30 m up to a walk: 2.4 m of rise take 48 m at 1:20.

    >>> from affine import Affine
    >>> from shapely import box
    >>> x, y = np.meshgrid(np.arange(120) + 0.5, 119.5 - np.arange(120))
    >>> grid = Affine(1, 0, 0, 0, -1, 120)
    >>> way = accessible_way(box(40, 20, 70, 40), [box(0, 70, 120, 72)], 0.08 * y, grid, [])
    >>> bool(46 < way.length_m < 51)
    True
    """
    goals = np.asarray(arrivals, dtype=object)
    goals = goals[~shapely.is_empty(goals)]
    straight_m = float(shapely.distance(pad, goals).min(initial=np.inf))
    blocks = np.asarray(solid, dtype=object)
    margin_m = straight_m + _ROUND_M
    while straight_m <= reach_m:
        margin_m = min(margin_m, reach_m)
        seen = lattice(pad, goals, elevation, transform, blocks, clear_m=CLEAR_M, margin_m=margin_m)
        found = _searched(seen, slope=slope, reach_m=reach_m)
        # What is no longer than this can't have left the window.
        if found.length_m <= 2 * margin_m - straight_m or margin_m >= reach_m:
            return found
        margin_m *= 2
    return NO_WAY


def _searched(seen: Lattice, *, slope: float, reach_m: float) -> AccessibleWay:
    ends = np.isfinite(seen.end[0])
    if not _hangs_together(seen, ends):
        return NO_WAY
    lowest, highest = seen.end[1][ends].min(), seen.end[1][ends].max()
    off_m = np.fmax(np.fmax(lowest - seen.height_m, seen.height_m - highest), 0.0)
    climb_m = np.nan_to_num((off_m - (MIDDLE + 1) * _LAYER_M) / slope)
    length_m, places, layers = graded_way(
        seen.place,
        seen.height_m,
        seen.start,
        seen.end,
        np.maximum(seen.rest_m, climb_m),
        seen.solid,
        seen.corner,
        np.array([seen.fine_m, slope, _LAYER_M, _LEAST_MOVE_M, reach_m]),
    )
    if not np.isfinite(length_m):
        return NO_WAY
    xy = seen.place.reshape(-1, 2)[places]
    ground_m = seen.height_m.ravel()[places]
    height_m = ground_m + layers * _LAYER_M
    row, column = np.unravel_index(places[[0, -1]], seen.height_m.shape)
    (out_m, from_m), (in_m, to_m) = seen.start[:, row[0], column[0]], seen.end[:, row[1], column[1]]
    points = np.vstack([_foot(xy[0], np.array([seen.pad])), xy, _foot(xy[-1], seen.goals)])
    legs = np.r_[out_m, np.hypot(*np.diff(xy, axis=0).T), in_m]
    # The way meets an end to half a layer, which its grading takes up.
    ends_m = (from_m, height_m[0], out_m), (to_m, height_m[-1], in_m)
    met_m = [np.clip(end, own - slope * leg, own + slope * leg) for end, own, leg in ends_m]
    height_m = _taut(np.r_[met_m[0], height_m, met_m[1]], np.r_[from_m, ground_m, to_m], legs)
    rises = np.abs(np.diff(height_m))
    rise_m = float(rises[rises > WALK_SLOPE * legs + 1e-6].sum())
    landing_m = LANDING_M if rise_m > 0 else 0.0
    return AccessibleWay(
        float(length_m) + landing_m,
        shapely.LineString(points),
        height_m,
        np.r_[from_m, ground_m, to_m],
        rise_m,
    )


def _hangs_together(seen: Lattice, ends: NDArray[np.bool_]) -> bool:
    """Whether known ground that isn't too steep may lead from start to end at all.

    Moves go up to two places far, so places are taken as joined that lie as near.
    """
    is_ground = np.isfinite(seen.height_m)
    joined, _ = label(binary_dilation(is_ground, np.ones((3, 3))), np.ones((3, 3)))
    starts = np.isfinite(seen.start[0]) & is_ground
    return bool(np.isin(joined[starts], joined[ends & is_ground]).any())


def _taut(
    height_m: NDArray[np.float64], ground_m: NDArray[np.float64], legs: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Heights of the same way with no needless up and down: a string pulled tight over the ground.

    It stays within the layers' band and its ends; where pulling would make a leg steeper than the
    search left it, the search's own heights stay.
    """
    band_m = MIDDLE * _LAYER_M
    before, after = legs[:-1], legs[1:]
    share = before / np.maximum(before + after, 1e-9)
    pulled = height_m.copy()
    for _ in range(_PULLS):
        middle = pulled[:-2] + share * (pulled[2:] - pulled[:-2])
        pulled[1:-1] = np.clip(middle, ground_m[1:-1] - band_m, ground_m[1:-1] + band_m)
    steepest = [np.abs(np.diff(each) / np.maximum(legs, 1e-9)).max() for each in (pulled, height_m)]
    return pulled if steepest[0] <= max(steepest[1], 1e-9) else height_m


def _foot(xy: NDArray[np.float64], shapes: NDArray[np.object_]) -> NDArray[np.float64]:
    """Nearest point of the nearest shape."""
    point = shapely.Point(xy)
    line = shapely.shortest_line(point, shapes[shapely.distance(shapes, point).argmin()])
    return np.asarray(shapely.get_coordinates(line)[-1])
