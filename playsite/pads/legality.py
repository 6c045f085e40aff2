"""The exact check: the land must cover the pad."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from playsite.pads.outline import polygonal
from playsite.pads.shape import Place, check_sides, pad_polygons

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray
    from shapely.geometry.base import BaseGeometry

    from playsite.pads.parts import Part

__all__ = ["TOLERANCE_M", "is_legal", "is_legal_fixed", "settle", "settled_fixed"]

TOLERANCE_M = 1e-6
"""A pad may stand across a line by this much: a thousandth of the millimetre that coordinates
are told in, and a thousand times the rounding of an eight-byte coordinate of 5,000 km. Without
it a lot of exactly the pad's size, turned, would never fit."""

_AT_ONCE = 20_000


def is_legal(
    land: BaseGeometry, places: ArrayLike, *, length_m: float, width_m: float
) -> NDArray[np.bool_]:
    """Whether the pad lies on the land, place by place, in exact vector geometry.

    The pad, drawn in by `TOLERANCE_M` on each side, must be covered by the land. Nothing is
    rounded to cells, and no other margin is given away.

    Parameters
    ----------
    land
        What may be built on.
    places
        (n, 3): easting, northing in metres, rotation in degrees.
    length_m, width_m
        Sides of the pad.

    Returns
    -------
    ndarray of bool
        (n,); False where a coordinate is missing.

    Raises
    ------
    ValueError
        When the sides make no pad.

    Examples
    --------
    >>> from shapely import box
    >>> is_legal(box(0, 0, 40, 30), [[20, 15, 0], [20, 15, 90]], length_m=40, width_m=30).tolist()
    [True, False]
    """
    check_sides(length_m, width_m)
    rows = np.asarray(places, dtype=float).reshape(-1, 3)
    ground = polygonal(land)
    legal = np.zeros(len(rows), dtype=bool)
    known = np.flatnonzero(np.isfinite(rows).all(axis=1))
    shrunk_m = 2 * min(TOLERANCE_M, width_m / 4)
    shapely.prepare(ground)
    for start in range(0, len(known), _AT_ONCE):
        part = known[start : start + _AT_ONCE]
        pads = pad_polygons(rows[part], length_m=length_m - shrunk_m, width_m=width_m - shrunk_m)
        legal[part] = shapely.covers(ground, pads)
    return legal


def settle(land: BaseGeometry, place: Place, *, length_m: float, width_m: float) -> Place | None:
    """Round a found place to the millimetre and prove it.

    Rounded to 1 mm and 0.0001 degree where the rounded place is legal. Where the pad can't move
    by a millimetre (a lot of its very size) the place keeps all its digits. Either way it is the
    returned place that was checked.

    Parameters
    ----------
    land
        What may be built on.
    place
        Where the search found room.
    length_m, width_m
        Sides of the pad.

    Returns
    -------
    Place or None
        None where neither is legal.
    """
    turned = place.rotation_deg % 180.0
    rounded = (round(place.easting, 3), round(place.northing, 3), round(turned, 4) % 180.0)
    both = np.array([rounded, (place.easting, place.northing, turned)])
    legal = is_legal(land, both, length_m=length_m, width_m=width_m)
    return Place(*both[int(np.argmax(legal))].tolist()) if legal.any() else None


def is_legal_fixed(
    land: BaseGeometry, places: ArrayLike, parts: Sequence[Part]
) -> NDArray[np.bool_]:
    """Whether a rigid pad lies on the land, place by place, in exact vector geometry.

    Parameters
    ----------
    land
        What may be built on.
    places
        (n, 3): easting, northing in metres, rotation in degrees.
    parts
        Rectangles of the pad.

    Returns
    -------
    ndarray of bool
        (n,) whether each rectangle passes `is_legal`.
    """
    rows = np.asarray(places, dtype=float).reshape(-1, 3)
    legal = np.ones(len(rows), dtype=bool)
    for part in parts:
        length_m, width_m = part.sides_m
        at = part.offset_m(np.radians(rows[legal, 2]))
        own = np.column_stack([rows[legal, :2] + at, rows[legal, 2] + part.upright_deg])
        legal[legal] = is_legal(land, own, length_m=length_m, width_m=width_m)
    return legal


def settled_fixed(
    land: BaseGeometry, places: NDArray[np.float64], parts: Sequence[Part]
) -> NDArray[np.float64]:
    """Round places of a rigid pad to the millimetre and prove them.

    Parameters
    ----------
    land
        What may be built on.
    places
        (n, 3): where the search found room.
    parts
        Rectangles of the pad.

    Returns
    -------
    ndarray
        (k, 3): each rounded to 1 mm and 0.0001 degree where that is legal, with all its digits
        where only that is, left out where neither is.
    """
    rounded = np.column_stack([np.round(places[:, :2], 3), np.round(places[:, 2], 4) % 360.0])
    legal = is_legal_fixed(land, rounded, parts)
    settled = np.where(legal[:, None], rounded, places)
    legal[~legal] = is_legal_fixed(land, places[~legal], parts)
    return settled[legal]
