"""The pad as a rectangle to scale: from a place to its outline."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import shapely

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray
    from shapely import Polygon

__all__ = ["Place", "check_sides", "pad_polygon", "pad_polygons"]


class Place(NamedTuple):
    """Where a pad lies: its centre and the direction of its long side.

    Parameters
    ----------
    easting, northing
        Centre in projected metres.
    rotation_deg
        Direction of the long side, counter-clockwise from east, 0 to below 180.
    """

    easting: float
    northing: float
    rotation_deg: float


def check_sides(length_m: float, width_m: float) -> None:
    """Refuse sides that make no pad.

    Raises
    ------
    ValueError
        When a side is not a positive number or the length is below the width.
    """
    if not (np.isfinite(length_m) and np.isfinite(width_m) and length_m >= width_m > 0):
        raise ValueError(
            f"A pad needs a length and a width in metres, both above 0, the length not below "
            f"the width; given {length_m} and {width_m}."
        )


def pad_polygons(places: ArrayLike, *, length_m: float, width_m: float) -> NDArray[np.object_]:
    """Outlines of one pad at many places.

    Parameters
    ----------
    places
        (n, 3): easting and northing of the centre in metres, rotation in degrees.
    length_m, width_m
        Sides of the pad.

    Returns
    -------
    ndarray of Polygon
        (n,), each counter-clockwise from the corner ahead on the right of the long side.

    Raises
    ------
    ValueError
        When the sides make no pad.
    """
    check_sides(length_m, width_m)
    rows = np.asarray(places, dtype=float).reshape(-1, 3)
    angle = np.radians(rows[:, 2])[:, None]
    ahead = np.array([1.0, 1.0, -1.0, -1.0]) * (length_m / 2)
    left = np.array([-1.0, 1.0, 1.0, -1.0]) * (width_m / 2)
    corners = np.empty((len(rows), 4, 2))
    corners[:, :, 0] = rows[:, :1] + ahead * np.cos(angle) - left * np.sin(angle)
    corners[:, :, 1] = rows[:, 1:2] + ahead * np.sin(angle) + left * np.cos(angle)
    polygons: NDArray[np.object_] = np.asarray(shapely.polygons(corners), dtype=object)
    return polygons


def pad_polygon(
    easting: float, northing: float, rotation_deg: float, *, length_m: float, width_m: float
) -> Polygon:
    """Outline of the pad at one place.

    Parameters
    ----------
    easting, northing
        Centre in projected metres.
    rotation_deg
        Direction of the long side, counter-clockwise from east.
    length_m, width_m
        Sides of the pad.

    Returns
    -------
    Polygon
        The rectangle.

    Raises
    ------
    ValueError
        When the sides make no pad.

    Examples
    --------
    >>> pad_polygon(100, 200, 90, length_m=30, width_m=20).bounds
    (90.0, 185.0, 110.0, 215.0)
    """
    place = np.array([[easting, northing, rotation_deg]])
    return pad_polygons(place, length_m=length_m, width_m=width_m)[0]
