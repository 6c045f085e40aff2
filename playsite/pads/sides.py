"""Room at each side of a pad: how far to what bars the ground, which way, and what it is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from playsite.pads.parts import corners
from playsite.pads.rectangles import rectangles_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

__all__ = ["PARCEL_LINE", "SideRoom", "room_at_sides"]

PARCEL_LINE = "parcel line"
"""Name of the limit where the parcel itself ends."""

_WINDS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")
# Limits as near as this are equally near.
_SAME_M = 1e-3

_Line = tuple[tuple[float, float], tuple[float, float]]


@dataclass(frozen=True)
class SideRoom:
    """What lies beyond one side of a pad.

    Parameters
    ----------
    direction
        Where the side faces, one of eight winds.
    distance_m
        From the side to the nearest limit, to the millimetre; inf where none is within reach.
    limit
        Its name; '' where none is within reach.
    line
        Both ends, (easting, northing), of a shortest line: on the side, on the limit. None where
        there is none.
    """

    direction: str
    distance_m: float
    limit: str
    line: _Line | None


def room_at_sides(
    pad: Polygon,
    limits: Sequence[tuple[str, BaseGeometry | None]],
    *,
    parcel: BaseGeometry,
    reach_m: float = 60.0,
) -> list[SideRoom]:
    """Distance outward from each side of a pad to the nearest ground that is barred.

    A side's ground is the strip straight out from it: what touches the strip is never missed.
    What is nearest at a corner, aslant from both strips, counts for the side in whose half of
    the corner it lies, so nothing around the pad is left out: the least of the four distances
    is the pad's own. A line along one side does not limit the sides across it.

    Parameters
    ----------
    pad
        A rectangle.
    limits
        Name and barred areas. Of limits that are equally near, to 1 mm, the first is told.
    parcel
        All outside it is barred too; it comes before `limits`.
    reach_m
        How far to look.

    Returns
    -------
    list of SideRoom
        Four, clockwise from north.

    Raises
    ------
    ValueError
        When the pad is no rectangle, or the reach is not above 0.

    Examples
    --------
    >>> from shapely import box
    >>> pond = ("water", box(20, 0, 30, 10))
    >>> rooms = room_at_sides(box(0, 0, 12, 8), [pond], parcel=box(-5, -4, 90, 90))
    >>> [(each.direction, each.distance_m, each.limit) for each in rooms]
    [('N', inf, ''), ('E', 8.0, 'water'), ('S', 4.0, 'parcel line'), ('W', 5.0, 'parcel line')]
    >>> rooms[1].line
    ((12.0, 4.0), (20.0, 4.0))
    """
    if not 0 < reach_m < np.inf:
        raise ValueError(f"The reach must be above 0 m and finite; given {reach_m}.")
    if pad.geom_type != "Polygon" or len(rectangles_of(pad)) != 1:
        raise ValueError("Room is measured at the four sides of a rectangle; this pad is none.")
    barred = [(name, shape) for name, shape in limits if shape is not None and not shape.is_empty]
    names = [PARCEL_LINE, *(name for name, _ in barred)]
    ring = corners(shapely.orient_polygons(pad).exterior, _SAME_M)
    rooms = []
    for start, end in zip(ring, np.roll(ring, -1, axis=0), strict=True):
        along = (end - start) / np.hypot(*(end - start))
        outward = np.array([along[1], -along[0]])
        lines = []
        for ground, origin in _grounds(start, end, outward, reach_m):
            near = [shapely.difference(ground, parcel)]
            near += [shapely.intersection(ground, shape) for _, shape in barred]
            lines.append([_shortest(origin, shape, outward) for shape in near])
        wind = _wind(outward)
        rooms.append((wind, _room(_WINDS[wind], names, np.array(lines), reach_m)))
    return [room for _, room in sorted(rooms, key=lambda each: each[0])]


def _grounds(
    start: NDArray[np.float64],
    end: NDArray[np.float64],
    outward: NDArray[np.float64],
    reach_m: float,
) -> list[tuple[Polygon, BaseGeometry]]:
    """Ground beyond a side and beyond each of its corners, and what distances are told from."""
    out, along = reach_m * outward, reach_m * np.array([-outward[1], outward[0]])
    strip = shapely.Polygon([start, end, end + out, start + out])
    grounds = [(strip, shapely.LineString([start, end]))]
    for corner, aside in ((start, -along), (end, along)):
        quarter = shapely.Polygon([corner, corner + out, corner + out + aside, corner + aside])
        grounds.append((quarter, shapely.Point(corner)))
    return grounds


def _shortest(
    origin: BaseGeometry, shape: BaseGeometry, outward: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Both ends of the line to draw, from the side or its corner; missing where there is none."""
    if shape.is_empty:
        return np.full((2, 2), np.nan)
    with np.errstate(divide="ignore"):
        ends = shapely.get_coordinates(shapely.shortest_line(origin, shape))
    way = ends[1] - ends[0]
    if origin.geom_type == "Point":
        aside = abs(float(way[0] * outward[1] - way[1] * outward[0]))
        return ends if float(way @ outward) >= aside - _SAME_M else np.full((2, 2), np.nan)
    # of many shortest lines the one from the side's middle is the one to draw
    with np.errstate(divide="ignore"):  # the library divides by 0 on its way, and gets it right
        middle = shapely.shortest_line(shapely.centroid(origin), shape)
    return shapely.get_coordinates(middle) if middle.length <= np.hypot(*way) + 1e-6 else ends


def _wind(outward: NDArray[np.float64]) -> int:
    bearing_deg = np.degrees(np.arctan2(outward[0], outward[1]))
    # a bearing half way goes to the next wind clockwise, so four sides never share one
    return int(np.floor(bearing_deg / 45.0 + 0.5 + 1e-6)) % 8


def _room(direction: str, names: list[str], lines: NDArray[np.float64], reach_m: float) -> SideRoom:
    """Choose among (grounds, limits, ends, coordinates)."""
    way = lines[:, :, 1] - lines[:, :, 0]
    distance_m = np.nan_to_num(np.hypot(way[..., 0], way[..., 1]), nan=np.inf)
    each_m = distance_m.min(axis=0)
    if each_m.min() > reach_m:
        return SideRoom(direction, np.inf, "", None)
    first = int(np.argmax(each_m <= each_m.min() + _SAME_M))
    (x, y), (to_x, to_y) = lines[int(np.argmin(distance_m[:, first])), first].tolist()
    line = ((x, y), (to_x, to_y))
    return SideRoom(direction, round(float(each_m[first]), 3), names[first], line)
