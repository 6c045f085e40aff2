"""Where a rigid pad of several rectangles fits, such as an L: exactly, rotation by rotation."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import MultiPolygon

from playsite.pads.apart import two_areas
from playsite.pads.erosion import eroded, pieces
from playsite.pads.lattice import lattice
from playsite.pads.legality import TOLERANCE_M, is_legal_fixed, settled_fixed
from playsite.pads.outline import Outline, edge_angles_deg, outline, polygonal
from playsite.pads.parts import Part, compound_polygons, mirrored, own_outline
from playsite.pads.rectangles import rectangles_of
from playsite.pads.refusal import may_fit
from playsite.pads.search import find_place

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

__all__ = [
    "Part",
    "compound_polygons",
    "is_legal_fixed",
    "iterate_legal_places_of_fixed",
    "legal_centres_of_fixed",
    "legal_places_of_fixed",
    "mirrored",
    "rectangles_of",
    "two_areas",
]

# Every so many degrees a lattice of places is given; at the fine steps between, one place each.
_LATTICE_STEPS = 24
# Drawn in by less than the exact check allows, an exactly fitting lot still has legal centres.
_DRAWN_IN_M = TOLERANCE_M / 2


def legal_centres_of_fixed(
    land: BaseGeometry, parts: Sequence[Part], *, rotation_deg: float
) -> MultiPolygon:
    """Where the place of a rigid pad of this rotation may lie.

    The pad lies on the land where each of its rectangles does: the answer is what the legal
    centres of all of them, each shifted back by its turned offset, have in common.

    Parameters
    ----------
    land
        What may be built on.
    parts
        Rectangles of the pad.
    rotation_deg
        Counter-clockwise from east, 0 to below 360.

    Returns
    -------
    MultiPolygon
        In map coordinates; empty where the pad fits nowhere, or just without room to move.

    Examples
    --------
    >>> from shapely import Polygon
    >>> pad = [Part(20, 10, 40, 20), Part(10, 25, 20, 50)]
    >>> lot = Polygon([(0, 0), (60, 0), (60, 25), (25, 25), (25, 70), (0, 70)])
    >>> round(legal_centres_of_fixed(lot, pad, rotation_deg=0).area, 6)
    25.0
    """
    ground = polygonal(land)
    if ground.is_empty:
        return MultiPolygon()
    origin = np.array(outline(ground).origin)
    local = _moved(ground, -origin)
    centres = _centres(local, pieces(local), parts, float(np.radians(rotation_deg)), 0.0)
    return _moved(centres, origin)


def iterate_legal_places_of_fixed(
    land: BaseGeometry, parts: Sequence[Part], *, step_m: float = 2.0, spare_m: float = 0.25
) -> Iterator[NDArray[np.float64]]:
    """Give the places of `legal_places_of_fixed` rotation by rotation, in bounded memory.

    Parameters
    ----------
    land, parts, step_m, spare_m
        As `legal_places_of_fixed`.

    Yields
    ------
    ndarray
        (k, 3), k above 0: easting, northing in metres, rotation in degrees. Rotations with a
        lattice come first: a caller that needs no more may stop.

    Raises
    ------
    ValueError
        When there is no part, or `step_m` or `spare_m` is not above 0.
    """
    if not (step_m > 0 and spare_m > 0):
        raise ValueError(f"Step and room to spare must be above 0 m; given {step_m}, {spare_m}.")
    ground = _worth_searching(land, parts, spare_m)
    if ground.is_empty:
        return
    shape = outline(ground)
    local = _moved(ground, -np.array(shape.origin))
    cut = pieces(local)
    for rotation_deg, fine in _rotations_deg(shape, parts, spare_m):
        if not all(_part_may_fit(shape, part, rotation_deg) for part in parts):
            continue
        angle = float(np.radians(rotation_deg))
        centres = _centres(local, cut, parts, angle, _DRAWN_IN_M)
        found = [np.empty((0, 2)), *lattice(centres, angle, np.inf if fine else step_m)]
        points = np.concatenate(found) + shape.origin
        rows = np.column_stack([points, np.full(len(points), rotation_deg)])
        places = settled_fixed(ground, rows, parts)
        if len(places):
            yield places


def legal_places_of_fixed(
    land: BaseGeometry, parts: Sequence[Part], *, step_m: float = 2.0, spare_m: float = 0.25
) -> NDArray[np.float64]:
    """Places of a rigid pad of several rectangles, over all 360 degrees.

    At every rotation the legal centres are exact (`legal_centres_of_fixed`). Rotations are the
    land's own long edges, all four ways, and steps so fine that a place with `spare_m` on each
    side stays legal when turned to the nearest: it is never missed. Along the edges and every 15
    degrees a lattice of places is given; at the fine steps between, one for each part of the
    legal centres. An L and its mirror image are two pads: search with `mirrored` parts as well.

    Parameters
    ----------
    land
        What may be built on.
    parts
        Rectangles of the pad; together or apart, but always in the same position to each other.
    step_m
        Greatest distance of neighbours in the lattice.
    spare_m
        Room on each side with which a place is surely found. Less costs more time.

    Returns
    -------
    ndarray
        (n, 3): easting, northing in metres, rotation in degrees, 0 to below 360; each passed
        the exact check, rounded to 1 mm and 0.0001 degree where that is still legal.

    Raises
    ------
    ValueError
        When there is no part, or `step_m` or `spare_m` is not above 0.
    """
    blocks = iterate_legal_places_of_fixed(land, parts, step_m=step_m, spare_m=spare_m)
    return np.concatenate([np.empty((0, 3)), *blocks])


def _worth_searching(land: BaseGeometry, parts: Sequence[Part], spare_m: float) -> MultiPolygon:
    """Parts of the land with area enough; none where one rectangle alone fits nowhere."""
    own = own_outline(parts)
    least_m2 = min(shapely.area(shapely.get_parts(own)))
    grounds = shapely.get_parts(polygonal(land))
    grounds = grounds[shapely.area(grounds) >= least_m2 * (1 - 1e-6)]
    if shapely.area(grounds).sum() < own.area * (1 - 1e-6):
        return MultiPolygon()
    ground = MultiPolygon(list(grounds))
    for part in parts:
        length_m, width_m = part.sides_m
        if find_place(ground, length_m=length_m, width_m=width_m, spare_m=spare_m) is None:
            return MultiPolygon()
    return ground


def _rotations_deg(
    shape: Outline, parts: Sequence[Part], spare_m: float
) -> Iterator[tuple[float, bool]]:
    """Rotations, and whether each is one of the fine steps."""
    along = edge_angles_deg(shape.segments)
    # a turn by d moves no point of the pad by more than d times this radius
    radius_m = float(shapely.minimum_bounding_radius(own_outline(parts)))
    each = int(np.ceil(np.pi * radius_m / spare_m / _LATTICE_STEPS))
    steps = np.arange(each * _LATTICE_STEPS) * (360.0 / (each * _LATTICE_STEPS))
    coarse = np.arange(len(steps)) % each == 0
    for rotation_deg in np.unique(np.r_[along, along + 180.0, steps[coarse]]):
        yield float(rotation_deg), False
    for rotation_deg in steps[~coarse]:
        yield float(rotation_deg), True


def _part_may_fit(shape: Outline, part: Part, rotation_deg: float) -> bool:
    length_m, width_m = part.sides_m
    half_sides_m = length_m / 2 - _DRAWN_IN_M, width_m / 2 - _DRAWN_IN_M
    return may_fit(shape, rotation_deg + part.upright_deg, *half_sides_m)


def _centres(
    local: MultiPolygon,
    cut: tuple[NDArray[np.float64], NDArray[np.intp]],
    parts: Sequence[Part],
    angle: float,
    drawn_in_m: float,
) -> MultiPolygon:
    left = local
    for k, part in enumerate(parts):
        a, b = part.length_m / 2 - drawn_in_m, part.width_m / 2 - drawn_in_m
        own = _moved(eroded(local, cut, angle, a, b), -part.offset_m(angle))
        left = own if k == 0 else polygonal(shapely.intersection(left, own))
        if left.is_empty:
            break
    return left


def _moved(shape: MultiPolygon, by: NDArray[np.float64]) -> MultiPolygon:
    return shapely.transform(shape, lambda points: points + by)
