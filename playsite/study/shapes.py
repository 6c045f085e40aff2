"""Legal places and outlines of each shape that holds a program, on one parcel's land."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from playsite.pads.apart import two_areas
from playsite.pads.compound import iterate_legal_places_of_fixed
from playsite.pads.parts import Part, compound_polygons
from playsite.pads.search import find_place
from playsite.pads.shape import pad_polygons
from playsite.program.pad_shapes import PadPart, PadShape

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from playsite.program import RequiredPad

__all__ = ["Placing", "outlines", "places_apart", "places_together", "shapes_of"]

_ENOUGH = 500


@dataclass(frozen=True)
class Placing:
    """Places of one shape, with their outlines.

    Parameters
    ----------
    places
        (n, 3): easting and northing of the middle in metres, rotation in degrees.
    outlines
        (n,) polygons; of loose parts multipolygons.
    """

    places: NDArray[np.float64]
    outlines: NDArray[np.object_]

    def only(self, rows: NDArray[np.intp]) -> Placing:
        """Keep some of them."""
        return Placing(self.places[rows], self.outlines[rows])


def shapes_of(pad: RequiredPad) -> tuple[PadShape, ...]:
    """Shapes of a pad, the first always the rectangle that is looked for first."""
    plain = PadShape("rectangle", (PadPart(0.0, 0.0, pad.length_m, pad.width_m),))
    return pad.shapes or (plain,)


def outlines(shape: PadShape, places: NDArray[np.float64]) -> NDArray[np.object_]:
    """Outlines of a shape whose parts keep their places to each other."""
    if len(shape.parts) == 1:
        long_m, short_m = shape.sides_m
        return pad_polygons(places, length_m=long_m, width_m=short_m)
    return compound_polygons(places, _parts(shape))


def places_together(shape: PadShape, land: BaseGeometry, *, enough: int = _ENOUGH) -> Placing:
    """Legal places of a shape of several parts that keep their places to each other.

    The rotations of the lot's own edges and every 15 degrees come first; once there are enough
    places the finer ones are not looked at.
    """
    blocks, held = [np.empty((0, 3))], 0
    for block in iterate_legal_places_of_fixed(land, _overlapping(shape)):
        blocks.append(block)
        held += len(block)
        if held >= enough:
            break
    places = np.concatenate(blocks)
    return Placing(places, outlines(shape, places))


def places_apart(shape: PadShape, land: BaseGeometry) -> Placing:
    """Legal places of two loose parts, each with the other near enough."""
    if not _each_fits(shape, land):
        return Placing(np.empty((0, 3)), np.empty(0, dtype=object))
    first, second = (part.sides_m for part in _parts(shape))
    rows = two_areas(
        land, first, second, least_apart_m=shape.least_apart_m, most_apart_m=shape.most_apart_m
    )
    one = pad_polygons(rows[:, :3], length_m=first[0], width_m=first[1])
    two = pad_polygons(rows[:, 3:], length_m=second[0], width_m=second[1])
    both = shapely.multipolygons(np.column_stack([one, two])) if len(rows) else one
    middle = (rows[:, :2] + rows[:, 3:5]) / 2
    return Placing(np.column_stack([middle, rows[:, 2]]), both)


def _each_fits(shape: PadShape, land: BaseGeometry) -> bool:
    """Whether there is land enough for all parts, and each alone fits, the larger asked first."""
    if shape.area_m2 > land.area:
        return False
    sides = sorted((part.sides_m for part in _parts(shape)), key=lambda side: -side[0] * side[1])
    return all(
        find_place(land, length_m=long_m, width_m=short_m) is not None for long_m, short_m in sides
    )


def _parts(shape: PadShape) -> list[Part]:
    return [Part(part.x_m, part.y_m, part.length_m, part.width_m) for part in shape.parts]


def _overlapping(shape: PadShape) -> list[Part]:
    """The same shape of as large rectangles as it holds: larger ones refuse a lot sooner.

    A part that is nowhere beyond the others across the pad runs on through all of them.
    """
    low = max(part.y_m - part.width_m / 2 for part in shape.parts)
    high = min(part.y_m + part.width_m / 2 for part in shape.parts)
    west = min(part.x_m - part.length_m / 2 for part in shape.parts)
    east = max(part.x_m + part.length_m / 2 for part in shape.parts)
    through = Part((west + east) / 2, (low + high) / 2, east - west, high - low)
    wider = [part for part in _parts(shape) if part.width_m > through.width_m + 1e-9]
    return [through, *wider]
