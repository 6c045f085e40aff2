"""Where a pad fits: one place, surely found, or all places on a lattice."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from playsite.pads.choice import alternatives, spread
from playsite.pads.erosion import eroded, legal_centres, pieces
from playsite.pads.growth import polish
from playsite.pads.lattice import lattice
from playsite.pads.legality import is_legal, settle
from playsite.pads.outline import Outline, edge_angles_deg, outline
from playsite.pads.refusal import may_fit, worth_searching
from playsite.pads.roots import at_angles, whole_turn
from playsite.pads.scale import LargestScale, largest_scale
from playsite.pads.shape import Place, check_sides
from playsite.pads.subdivision import grow

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

__all__ = [
    "LargestScale",
    "Place",
    "alternatives",
    "find_place",
    "is_legal",
    "iterate_legal_places",
    "largest_scale",
    "legal_centres",
    "legal_places",
    "spread",
]

# Room on each side that lets a place be rounded to the millimetre.
_ROUNDING_M = 0.002
# Once no place with room to spare exists, an exact fit is looked for with so much work.
_TIGHT_WORK = 3_000_000
# A scale this near 1 is a fit: a few tenths of a micrometre on a pad of 30 m.
_FITS = 1 - 3e-8


def find_place(
    land: BaseGeometry, *, length_m: float, width_m: float, spare_m: float = 0.25
) -> Place | None:
    """Find a place for the pad, wherever one exists with a little to spare.

    The rotations of the land's own long edges are tried first, for layouts that follow the lot
    line. Then every rotation is searched by subdivision with proven bounds, and no node is
    dropped that could hold the pad with `spare_m` on each side: such a place is never missed.
    At last, where room to spare is proven not to exist, an exact fit is still tried for.

    Parameters
    ----------
    land
        What may be built on.
    length_m, width_m
        Sides of the pad.
    spare_m
        Room on each side with which a place is surely found; above 0. Less costs more time.

    Returns
    -------
    Place or None
        A place whose pad the exact check passes, rounded to 1 mm where that is still legal
        (`playsite.pads.legality.settle`). None: no place has `spare_m` to spare, and none
        was found with less.

    Raises
    ------
    ValueError
        When the sides make no pad, or `spare_m` is not above 0.

    Examples
    --------
    >>> from shapely import box
    >>> find_place(box(0, 0, 40, 30), length_m=40, width_m=30)
    Place(easting=20.0, northing=15.0, rotation_deg=0.0)
    >>> find_place(box(0, 0, 40, 29.9), length_m=40, width_m=30) is None
    True
    """
    check_sides(length_m, width_m)
    if not spare_m > 0:
        raise ValueError(f"The room to spare must be above 0 m; given {spare_m}.")
    ground = worth_searching(land, length_m=length_m, width_m=width_m, scale=1.0)
    if ground.is_empty:
        return None
    shape = outline(ground)
    best = _place_with_room(shape, length_m / 2, width_m / 2, spare_m)
    if best[0] < _FITS:
        return None
    x, y = best[1] + shape.origin[0], best[2] + shape.origin[1]
    found = Place(float(x), float(y), float(np.degrees(best[3])))
    return settle(ground, found, length_m=length_m, width_m=width_m)


def _place_with_room(shape: Outline, a: float, b: float, spare_m: float) -> NDArray[np.float64]:
    """Scale, x, y and angle of a place at which the pad fits, or of the best found."""
    # with c to spare on each side, the pad itself fits at a scale of 1 + c / a
    worth = 1.0 + spare_m / a
    enough = 1.0 + min(_ROUNDING_M / b, spare_m / a / 2)
    endless = np.iinfo(np.int64).max
    best = np.zeros(4)
    along = at_angles(shape.segments, edge_angles_deg(shape.segments))
    grow(shape.segments, along, (a, b), best, enough, worth, 0.0, endless)
    turns = whole_turn(shape.segments, a, b)
    if best[0] < enough:
        grow(shape.segments, turns, (a, b), best, enough, worth, 0.0, endless)
    if best[0] < enough:
        roots = np.vstack([turns, along])
        most, _ = grow(shape.segments, roots, (a, b), best, enough, _FITS, 1e-4, _TIGHT_WORK)
        if most >= _FITS:
            polish(shape.segments, best, a, b)
    return best


def iterate_legal_places(
    land: BaseGeometry,
    *,
    length_m: float,
    width_m: float,
    step_m: float = 2.0,
    angle_step_deg: float = 15.0,
) -> Iterator[NDArray[np.float64]]:
    """Give the legal places of `legal_places` in blocks of one rotation, in bounded memory.

    Parameters
    ----------
    land, length_m, width_m, step_m, angle_step_deg
        As `legal_places`.

    Yields
    ------
    ndarray
        (k, 3), k above 0: easting, northing in metres, rotation in degrees.

    Raises
    ------
    ValueError
        When the sides make no pad, or a step is not above 0.
    """
    check_sides(length_m, width_m)
    if not (step_m > 0 and angle_step_deg > 0):
        raise ValueError(f"Steps must be above 0; given {step_m} m and {angle_step_deg} degrees.")
    ground = worth_searching(land, length_m=length_m, width_m=width_m, scale=1.0)
    if ground.is_empty:
        return
    shape = outline(ground)
    local = shapely.transform(ground, lambda points: points - shape.origin)
    a, b, cut = length_m / 2, width_m / 2, pieces(local)
    nothing = True
    for rotation_deg in _rotations_deg(shape, angle_step_deg):
        angle = float(np.radians(rotation_deg))
        if not may_fit(shape, rotation_deg, a, b):
            continue
        for points in lattice(eroded(local, cut, angle, a, b), angle, step_m):
            nothing = False
            yield np.column_stack([points + shape.origin, np.full(len(points), rotation_deg)])
    place = find_place(ground, length_m=length_m, width_m=width_m) if nothing else None
    if place is not None:
        yield np.array([place])


def legal_places(
    land: BaseGeometry,
    *,
    length_m: float,
    width_m: float,
    step_m: float = 2.0,
    angle_step_deg: float = 15.0,
) -> NDArray[np.float64]:
    """All legal places of the pad on a lattice.

    At every rotation the legal centres are worked out exactly (`legal_centres`), and the points
    of a lattice along the pad's sides that lie within are kept. A part of them too small to
    catch a point gives one point inside. The rotations are steps of a half turn and the land's
    own long edges. Where no rotation gives any, `find_place` is asked.

    Parameters
    ----------
    land
        What may be built on.
    length_m, width_m
        Sides of the pad.
    step_m
        Greatest distance of neighbours in the lattice.
    angle_step_deg
        Greatest difference of neighbouring rotations.

    Returns
    -------
    ndarray
        (n, 3): easting, northing in metres, rotation in degrees; n is 0 where nothing fits.

    Raises
    ------
    ValueError
        When the sides make no pad, or a step is not above 0.

    Examples
    --------
    >>> from shapely import box
    >>> legal_places(box(0, 0, 33, 20), length_m=30, width_m=20, step_m=2).round(6).tolist()
    [[16.5, 10.0, 0.0]]
    """
    blocks = iterate_legal_places(
        land, length_m=length_m, width_m=width_m, step_m=step_m, angle_step_deg=angle_step_deg
    )
    return np.concatenate([np.empty((0, 3)), *blocks])


def _rotations_deg(shape: Outline, angle_step_deg: float) -> NDArray[np.float64]:
    count = int(np.ceil(180.0 / angle_step_deg - 1e-9))
    both = np.sort(np.r_[np.arange(count) * (180.0 / count), edge_angles_deg(shape.segments)])
    return both[np.r_[True, np.diff(both) > 1e-9]]
