"""Cheap and rigorous reasons why a piece of land can't hold a pad."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import MultiPolygon

from playsite.pads.outline import polygonal
from playsite.pads.roots import at_angles
from playsite.pads.subdivision import grow

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from playsite.pads.outline import Outline

__all__ = ["may_fit", "most_scale", "worth_searching"]

_MOST_WORK = 3_000_000


def most_scale(
    parts: NDArray[np.object_], *, length_m: float, width_m: float
) -> NDArray[np.float64]:
    """Scale that no pad within each part can exceed.

    A pad lies in one part. It has no more area than the part, is no wider than any rectangle
    round the part, and its diagonal is no longer than that rectangle's.

    Parameters
    ----------
    parts
        (n,) polygons.
    length_m, width_m
        Sides of the pad.

    Returns
    -------
    ndarray
        (n,) upper bounds, not attained scales.
    """
    # GEOS turns about the map's origin, and at 5,000 km that costs a tenth of a millimetre
    corner = np.floor(shapely.total_bounds(parts)[:2])
    round_it = shapely.oriented_envelope(shapely.transform(parts, lambda points: points - corner))
    by_area = np.sqrt(shapely.area(parts) / (length_m * width_m))
    short_m, long_m = np.array([_sides(box) for box in round_it]).reshape(-1, 2).T
    by_width = short_m / width_m
    by_diagonal = np.hypot(short_m, long_m) / np.hypot(length_m, width_m)
    return np.minimum(np.minimum(by_area, by_width), by_diagonal)


def worth_searching(
    land: BaseGeometry, *, length_m: float, width_m: float, scale: float
) -> MultiPolygon:
    """Parts of the land that the cheap reasons don't rule out at this scale.

    Parameters
    ----------
    land
        What may be built on.
    length_m, width_m
        Sides of the pad.
    scale
        Of the pad that is looked for.

    Returns
    -------
    MultiPolygon
        Empty where no part is left.
    """
    ground = polygonal(land)
    parts = np.asarray(shapely.get_parts(ground))
    # by area alone first: clipping leaves slivers by the dozen
    parts = parts[shapely.area(parts) >= (scale * (1 - 1e-6)) ** 2 * length_m * width_m]
    if not len(parts):
        return MultiPolygon()
    most = most_scale(parts, length_m=length_m, width_m=width_m)
    return MultiPolygon(list(parts[most >= scale * (1 - 1e-6)]))


def may_fit(shape: Outline, rotation_deg: float, a: float, b: float) -> bool:
    """Whether a rotation is worth an erosion: a proof that it is not costs far less.

    Parameters
    ----------
    shape
        Outline of the land.
    rotation_deg
        Direction of the pad's long side.
    a, b
        Half sides of the pad, the longer first.

    Returns
    -------
    bool
        False: proven that the pad fits nowhere at this rotation.
    """
    best = np.zeros(4)
    roots = at_angles(shape.segments, [rotation_deg])
    most, _ = grow(shape.segments, roots, (a, b), best, 1.0, 1.0, 0.0, _MOST_WORK)
    return most > 1.0 or best[0] >= 1.0


def _sides(box: BaseGeometry) -> tuple[float, float]:
    if box.geom_type != "Polygon":  # a sliver without width comes back as a line
        return 0.0, float(box.length)
    corners = shapely.get_coordinates(box)
    first, second = np.hypot(*(corners[1:3] - corners[:2]).T)
    return float(min(first, second)), float(max(first, second))
