"""Setbacks: the strips along a parcel's line, told apart as front, side and rear."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import LineString, MultiPolygon

from playsite.pads.outline import polygonal

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

__all__ = ["setback_land"]

# Where the line turns by more, one side of the lot ends; a curved frontage stays one side.
_CORNER_DEG = 30.0
# A rear line faces away from the front by at least this turn.
_REAR_DEG = 135.0
_SAMPLE_M = 2.0
# A quarter circle in so many parts is within 0.3 mm of a radius of 10 m.
_QUARTER = 100


def setback_land(
    parcel: BaseGeometry,
    *,
    all_m: float | None = None,
    front_m: float = 0.0,
    side_m: float = 0.0,
    rear_m: float = 0.0,
    streets: BaseGeometry | None = None,
    street_reach_m: float = 15.0,
) -> MultiPolygon:
    """Strip along the parcel's line that a setback keeps free.

    With `all_m` alone the whole line counts, holes included. Else the outer ring of each part is
    cut into sides at corners of more than 30 degrees, and each side gets the largest of `all_m`
    and its own setback:

    - front: every point of it lies within `street_reach_m` of a street; where no side does, the
      one that is nearest on average. A corner lot has two fronts.
    - rear: it faces away from the longest front, by 135 degrees or more. A triangular lot may
      have none.
    - side: all others, and the lines of holes.

    Without streets no front can be told, and every side gets the largest of the three.

    Parameters
    ----------
    parcel
        In projected metres.
    all_m
        Setback along the whole line; None for none.
    front_m, side_m, rear_m
        Setbacks by kind of side.
    streets
        Centre lines or edges of streets, of any geometry.
    street_reach_m
        How far a street's geometry may be from the lot line it serves: half a right of way
        (common practice, no source).

    Returns
    -------
    MultiPolygon
        The land to take out, within the parcel; empty where all setbacks are 0.

    Raises
    ------
    ValueError
        When a distance is negative or not a number.

    Examples
    --------
    >>> from shapely import LineString, box
    >>> lot = box(0, 0, 30, 50)
    >>> setback_land(lot, all_m=5).area
    700.0
    >>> street = LineString([(-100, -8), (100, -8)])
    >>> round(setback_land(lot, front_m=6, side_m=3, rear_m=3, streets=street).area, 6)
    516.0
    """
    for distance_m in (0.0 if all_m is None else all_m, front_m, side_m, rear_m, street_reach_m):
        if not 0 <= distance_m < np.inf:
            raise ValueError(f"A setback can't be below 0 m or without end; given {distance_m}.")
    ground = polygonal(parcel)
    least_m = all_m or 0.0
    front_m, side_m, rear_m = (max(least_m, own) for own in (front_m, side_m, rear_m))
    greatest_m = max(front_m, side_m, rear_m)
    if greatest_m == 0:
        return MultiPolygon()
    if streets is None or shapely.is_empty(streets) or front_m == side_m == rear_m:
        return polygonal(ground.difference(ground.buffer(-greatest_m, quad_segs=_QUARTER)))
    strips = []
    for part in shapely.get_parts(ground):
        sides = _sides_of(part)
        kinds = _kinds(sides, streets, street_reach_m, outward=_outward(part, sides))
        setback_m = np.array([front_m, side_m, rear_m])[kinds]
        strips += [_strip(side, wide_m) for side, wide_m in zip(sides, setback_m, strict=True)]
        strips += [_strip(ring, side_m) for ring in part.interiors]
    return polygonal(ground.intersection(shapely.union_all(strips)))


def _strip(line: BaseGeometry, wide_m: float) -> BaseGeometry:
    """All points within the setback of the line, on both its sides."""
    return shapely.buffer(line, wide_m, quad_segs=_QUARTER)


def _sides_of(part: BaseGeometry) -> list[LineString]:
    """Outer ring cut at its corners."""
    ring = shapely.get_coordinates(shapely.get_exterior_ring(part))
    ring = ring[:-1][np.any(np.diff(ring, axis=0) != 0, axis=1)]
    step = np.roll(ring, -1, axis=0) - ring
    heading = np.degrees(np.arctan2(step[:, 1], step[:, 0]))
    turn = np.abs((heading - np.roll(heading, 1) + 180.0) % 360.0 - 180.0)
    corners = np.flatnonzero(turn > _CORNER_DEG)
    if not len(corners):
        return [LineString(np.vstack([ring, ring[:1]]))]
    around = np.vstack([ring, ring, ring[:1]])
    ends = np.r_[corners[1:], corners[0] + len(ring)]
    return [LineString(around[start : end + 1]) for start, end in zip(corners, ends, strict=True)]


def _outward(part: BaseGeometry, sides: list[LineString]) -> NDArray[np.float64]:
    """Direction each side faces, in degrees, by the line between its ends."""
    chord = np.array([np.subtract(side.coords[-1], side.coords[0])[:2] for side in sides])
    turn = -90.0 if shapely.is_ccw(shapely.get_exterior_ring(part)) else 90.0
    return np.degrees(np.arctan2(chord[:, 1], chord[:, 0])) + turn


def _kinds(
    sides: list[LineString],
    streets: BaseGeometry,
    reach_m: float,
    *,
    outward: NDArray[np.float64],
) -> NDArray[np.intp]:
    """0 for front, 1 for side, 2 for rear."""
    shapely.prepare(streets)
    apart_m = [
        shapely.distance(shapely.points(shapely.get_coordinates(line)), streets)
        for line in shapely.segmentize(sides, _SAMPLE_M)
    ]
    front = np.array([distances.max() <= reach_m for distances in apart_m])
    if not front.any():
        front[int(np.argmin([distances.mean() for distances in apart_m]))] = True
    lengths_m = np.where(front, shapely.length(sides), 0.0)
    faces = outward[int(np.argmax(lengths_m))]
    away = np.abs((outward - faces + 180.0) % 360.0 - 180.0)
    return np.where(front, 0, np.where(away >= _REAR_DEG, 2, 1))
