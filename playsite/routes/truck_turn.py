"""Turning of a truck: whether a rigid body with a least radius gets from the street to a place."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from affine import Affine
from scipy.ndimage import distance_transform_edt

from playsite.routes._turn_search import BIN_M, driven, least_rest
from playsite.terrain.burning import burnt

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

__all__ = ["SU_30", "Truck", "drive", "turns_in"]

_MOST_POSES = 400_000
_THIN_M = 0.02


@dataclass(frozen=True)
class Truck:
    """A truck on one rigid frame; all in metres.

    Parameters
    ----------
    width_m, wheelbase_m, front_m, rear_m
        Width, distance of its axles, overhang before the front and behind the rear axle.
    inside_radius_m
        Least radius of its inner rear wheel.
    """

    width_m: float
    wheelbase_m: float
    front_m: float
    rear_m: float
    inside_radius_m: float

    @property
    def axle_radius_m(self) -> float:
        """Least radius of the path of the rear axle's middle."""
        return self.inside_radius_m + self.width_m / 2

    @property
    def turning_radius_m(self) -> float:
        """Radius of the path of the outer front wheel in the tightest turn."""
        return float(np.hypot(self.axle_radius_m + self.width_m / 2, self.wheelbase_m))

    @property
    def outside_radius_m(self) -> float:
        """Radius of the path of the outer front corner in the tightest turn."""
        return float(
            np.hypot(self.axle_radius_m + self.width_m / 2, self.wheelbase_m + self.front_m)
        )


SU_30 = Truck(
    width_m=2.44,
    wheelbase_m=6.10,
    front_m=1.22,
    rear_m=1.83,
    inside_radius_m=8.66,
)
"""Single-unit truck SU-30: 30 ft long, 8 ft wide, wheelbase 20 ft, inside radius 28.4 ft (AASHTO, *A
Policy on Geometric Design of Highways and Streets*, tables of design vehicles; the inside radius from
memory)."""

_ALONG_M = np.arange(-24.0, 25.0, 4.0)  # where on the street a truck may stand before it turns in


def turns_in(path: Any, line: Any, pad: Any, standing: ArrayLike) -> str:
    """Say how the design truck gets from a street along a corridor to a pad.

    Parameters
    ----------
    path
        Middle of the corridor, from the pad to the edge of the pavement.
    line
        Center line of the street there; None: a car park, where it may stand in any direction.
    pad, standing
        As for `drive`.

    Returns
    -------
    str
        ``"forwards"``, ``"backwards"`` (a part of the way at least), or ``""``: no drive was found.
    """
    window = shapely.buffer(path, 25.0).envelope
    starts = _starts(shapely.get_coordinates(path)[-1], line)
    for backs, word in ((False, "forwards"), (True, "backwards")):
        if drive(starts, pad, standing, backs=backs, window=window) is not None:
            return word
    return ""


def _starts(end: NDArray[np.float64], line: Any) -> NDArray[np.float64]:
    """Poses on the street beside the end of a corridor, in both directions of its center line."""
    if line is None:
        headings = np.arange(8) * np.pi / 4
        return np.column_stack([np.tile(end, (8, 1)), headings])
    at_m = np.clip(shapely.line_locate_point(line, shapely.Point(end)), 0.5, line.length - 0.5)
    first, middle, last = shapely.get_coordinates(
        shapely.line_interpolate_point(line, at_m + np.array([-0.5, 0.0, 0.5]))
    )
    heading = float(np.arctan2(*(last - first)[::-1]))
    along = np.array([np.cos(heading), np.sin(heading)])
    places = middle + _ALONG_M[:, None] * along
    return np.vstack(
        [np.column_stack([places, np.full(len(places), heading + turn)]) for turn in (0.0, np.pi)]
    )


def drive(
    starts: ArrayLike,
    goal: Any,
    standing: ArrayLike,
    *,
    truck: Truck = SU_30,
    backs: bool = True,
    window: Any = None,
) -> NDArray[np.float64] | None:
    """Find a drive of a truck from one of some poses until its front or its back stands in a place.

    Parameters
    ----------
    starts
        (n, 3) easting, northing (m) and heading (radians from east, counter-clockwise) of the middle
        of the rear axle.
    goal
        Polygon to be reached.
    standing
        Shapes that no part of it may touch.
    truck
        Its size and radii.
    backs
        Whether it may drive backwards.
    window
        Ground on which it may drive; absent: 20 m round all that is given as start and goal.

    Returns
    -------
    ndarray or None
        (n, 4) poses a metre apart: easting, northing, heading, gear (1 forwards, -1 backwards, 0 at
        the start). None where there is no drive, or where none was found among 400,000 poses.

    Notes
    -----
    A search over poses in squares of 0.25 m and 2.5 degrees along arcs of the least radius, twice it,
    and straight lines, the whole body swept (Dolgov et al. 2010, "Path planning for autonomous
    vehicles in unknown semi-structured environments", from memory). Concept level: no clearance
    beside the body is added, wheels are turned on the spot.

    Examples
    --------
    >>> from shapely import box
    >>> walls = [box(-20, -9, 40, -3), box(-20, 3, 40, 9)]
    >>> poses = drive([(0, 0, 0)], box(30, -3, 40, 3), walls)
    >>> float(poses[-1, 0] + 6.10 + 1.22) >= 30
    True
    """
    first = np.asarray(starts, dtype=float).reshape(-1, 3)
    blocks = np.asarray(standing, dtype=object)
    if window is None:
        window = shapely.union(shapely.multipoints(first[:, :2]), goal).buffer(20.0)
    west, south, east, north = shapely.bounds(window)
    corner = np.array([np.floor(west), np.ceil(north)])
    size = tuple(int(n) for n in np.ceil(np.array([north - south, east - west]) / BIN_M) + 8)
    near = (
        blocks[shapely.intersects(blocks, shapely.box(*window.bounds))] if len(blocks) else blocks
    )
    solid = _drawn(near, corner, size)
    room = distance_transform_edt(~solid) * BIN_M if solid.any() else np.full(size, 1e3)
    aim = _drawn(np.array([goal], dtype=object), corner, size)
    body = np.array([truck.width_m / 2, truck.wheelbase_m + truck.front_m, truck.rear_m])
    rest = least_rest(room, aim, truck.width_m / 2 - BIN_M, max(body[1:]))
    scene = (_edges(near), room, corner, aim, rest)
    gears = np.array([1.0, -1.0] if backs else [1.0])
    last, poses, before = driven(first, body, truck.axle_radius_m, scene, gears, _MOST_POSES)
    if last < 0:
        return None
    order = []
    while last >= 0:
        order.append(last)
        last = before[last]
    return np.asarray(poses[order[::-1]])


def _drawn(
    shapes: NDArray[np.object_], corner: NDArray[np.float64], size: tuple[int, ...]
) -> NDArray[np.bool_]:
    at = Affine(BIN_M, 0, corner[0], 0, -BIN_M, corner[1])
    return burnt(shapes, size, at, all_touched=True)


def _edges(shapes: NDArray[np.object_]) -> NDArray[np.float64]:
    """Outlines of all shapes as segments, one a row: x, y of both ends."""
    thick = np.where(
        shapely.get_dimensions(shapes) == 2,
        shapes,
        shapely.buffer(shapes, _THIN_M / 2, quad_segs=1),
    )
    xy, ring = shapely.get_coordinates(
        shapely.get_rings(shapely.get_parts(thick)), return_index=True
    )
    goes_on = np.flatnonzero(ring[1:] == ring[:-1])
    return np.column_stack([xy[goes_on], xy[goes_on + 1]]).reshape(-1, 4)
