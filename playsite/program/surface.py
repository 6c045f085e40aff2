"""How much safety surfacing a pad holds, and how long its edge is."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from playsite.program.area import RING_M

if TYPE_CHECKING:
    from playsite.program import RequiredPad

__all__ = ["Surface", "surface_of"]

_PROPORTION = 1.5  # of the rectangle that areas alone are taken as; common practice, no source


@dataclass(frozen=True)
class Surface:
    """Area and edge of the surfacing, its sides taken together, and where they come from."""

    area_m2: float
    edge_m: float
    sides_m: tuple[float, float]
    basis: str


def surface_of(pad: RequiredPad) -> Surface:
    """Surfacing of a pad: of its layout, else by areas, else all but the ring."""
    worked = pad.worked
    ring_m = RING_M if worked is None else worked.figure("ring_m") or 0.0
    sides = (max(pad.length_m - 2 * ring_m, 0.0), max(pad.width_m - 2 * ring_m, 0.0))
    concepts = pad.shapes[0].concepts if pad.shapes else ()
    if concepts:
        shapes = [concept.layout.surfacing for concept in concepts]
        area_m2, edge_m = sum(each.area for each in shapes), sum(each.length for each in shapes)
        return Surface(area_m2, edge_m, sides, "surfacing of the layout")
    area_m2 = None if worked is None else worked.figure("surfacing_m2")
    if area_m2 is not None:
        long_m = math.sqrt(area_m2 * _PROPORTION)
        sides = (long_m, area_m2 / long_m)
        return Surface(area_m2, 2 * sum(sides), sides, "surfacing by areas")
    return Surface(sides[0] * sides[1], 2 * sum(sides), sides, "the pad without its ring")
