"""The rectangles that a pad's outline consists of."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely

from playsite.pads.outline import polygonal
from playsite.pads.parts import corners

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

__all__ = ["rectangles_of"]

# Coordinates of an outline may have been told to the millimetre.
_WANDER_M = 2e-3


def rectangles_of(geometry: BaseGeometry) -> NDArray[np.float64]:
    """Rectangles that a pad's outline consists of.

    They cover the outline and don't overlap. An L is cut at its reflex corner, the way that
    gives the largest rectangle; any other outline of right angles is cut across at each corner,
    in the direction that gives fewer. Of one polygon the largest comes first.

    Parameters
    ----------
    geometry
        A pad's outline: polygon or multipolygon of right angles, to 2 mm.

    Returns
    -------
    ndarray
        (k, 5): easting and northing of the middle in metres, rotation_deg of the long side,
        length_m, width_m, the length not below the width.

    Raises
    ------
    ValueError
        When an angle is none.

    Examples
    --------
    >>> from shapely import Polygon
    >>> ell = Polygon([(0, 0), (40, 0), (40, 20), (20, 20), (20, 50), (0, 50)])
    >>> rectangles_of(ell).tolist()
    [[10.0, 25.0, 90.0, 50.0, 20.0], [30.0, 10.0, 90.0, 20.0, 20.0]]
    """
    outlines = shapely.get_parts(polygonal(geometry))
    return np.concatenate([np.empty((0, 5)), *(_rectangles(each) for each in outlines)])


def _rectangles(polygon: Polygon) -> NDArray[np.float64]:
    rings = [corners(ring, _WANDER_M) for ring in (polygon.exterior, *polygon.interiors)]
    sides = np.roll(rings[0], -1, axis=0) - rings[0]
    longest = int(np.argmax(np.hypot(*sides.T)))
    along = sides[longest] / np.hypot(*sides[longest])
    turn = np.array([along, (-along[1], along[0])])  # rows: the frame's x and y in the map
    origin = rings[0][longest]
    local = [(ring - origin) @ turn.T for ring in rings]
    edges = np.vstack([np.hstack([ring, np.roll(ring, -1, axis=0)]) for ring in local])
    aslant = np.abs(edges[:, 2:] - edges[:, :2]).min(axis=1)
    if aslant.max() > _WANDER_M:
        raise ValueError(
            "A pad's outline must have right angles; a side of this one is "
            f"{aslant.max():.3f} m out."
        )
    both = (_slabs(edges), _slabs(edges[:, [1, 0, 3, 2]])[:, [1, 0, 3, 2]])
    boxes = min(both, key=lambda each: (len(each), -(each[:, 2] * each[:, 3]).max()))
    boxes = boxes[np.argsort(-boxes[:, 2] * boxes[:, 3], kind="stable")]
    middle = boxes[:, :2] @ turn + origin
    across = boxes[:, 3] > boxes[:, 2]
    rotation = np.degrees(np.arctan2(along[1], along[0])) + 90.0 * across
    # rounded so that a rotation of -1e-15 is not told as one of 180
    rotation = np.round(rotation % 180.0, 9) % 180.0
    return np.column_stack([middle, rotation, boxes[:, 2:].max(axis=1), boxes[:, 2:].min(axis=1)])


def _slabs(edges: NDArray[np.float64]) -> NDArray[np.float64]:
    """Cut upright at every corner: middle x, y and sides along x, y of each rectangle."""
    level = np.abs(edges[:, 2] - edges[:, 0]) > np.abs(edges[:, 3] - edges[:, 1])
    ends, height = edges[level][:, [0, 2]], edges[level][:, [1, 3]].mean(axis=1)
    ends.sort(axis=1)
    stations = _merged(ends.ravel())
    found = []
    for west, east in pairwise(stations):
        middle = (west + east) / 2
        crossed = np.sort(height[(ends[:, 0] < middle) & (middle < ends[:, 1])])
        for low, high in crossed.reshape(-1, 2):
            found.append((middle, (low + high) / 2, east - west, high - low))
    return np.array(found)


def _merged(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Values ascending, those that differ by rounding alone as one."""
    ordered = np.sort(values)
    group = np.r_[0, np.cumsum(np.diff(ordered) > 2 * _WANDER_M)]
    return np.bincount(group, weights=ordered) / np.bincount(group)
