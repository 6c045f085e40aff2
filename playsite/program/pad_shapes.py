"""Shapes of ground that hold a program: rectangles, an L, two age areas; each proven by layouts."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from playsite.program.layout import blocks_of, layout_of, overlaps_of, spread
from playsite.program.seat import best_seat
from playsite.program.smallest import least_rectangle, smallest_by_proportion
from playsite.program.way_in import way_in

if TYPE_CHECKING:
    from collections.abc import Sequence

    from playsite.program.layout import Layout
    from playsite.program.use_zones import UseZone

__all__ = ["MOST_APART_M", "Concept", "PadPart", "PadShape", "Room", "given_pad", "pad_shapes"]

MOST_APART_M = 20.0
"""Two age areas lie at most so far apart, so that one seat sees both (common practice)."""
PLAIN_RECTANGLES = (1.5, 1.0, 2.0)
_ALIKE = 0.02


@dataclass(frozen=True)
class PadPart:
    """One rectangle of a pad: its middle in the pad's own frame, and its sides along x and y."""

    x_m: float
    y_m: float
    length_m: float
    width_m: float


@dataclass(frozen=True)
class Concept:
    """A layout, where its middle lies, and by how much it is turned, counterclockwise.

    Measured from the middle of the pad; where the parts of a pad are loose, from the middle of
    the part that it belongs to.
    """

    layout: Layout
    x_m: float = 0.0
    y_m: float = 0.0
    turn_deg: float = 0.0


@dataclass(frozen=True)
class PadShape:
    """One shape of ground that holds the program.

    Parameters
    ----------
    name
        In words.
    parts
        The rectangles it is made of.
    is_loose
        Whether the parts are placed each on its own, ``least_apart_m`` to ``most_apart_m`` from
        edge to edge; else they keep their places to each other.
    concepts
        Layouts that prove it; none where only areas are known.
    is_proven_least
        Whether a smaller one of its kind is proven impossible.
    """

    name: str
    parts: tuple[PadPart, ...]
    is_loose: bool = False
    least_apart_m: float = 0.0
    most_apart_m: float = 0.0
    concepts: tuple[Concept, ...] = ()
    is_proven_least: bool = False

    @property
    def area_m2(self) -> float:
        """Area in square metres; no part covers another."""
        return sum(part.length_m * part.width_m for part in self.parts)

    @property
    def sides_m(self) -> tuple[float, float]:
        """Long and short side of the box round it; of loose parts, in line at their nearest."""
        if self.is_loose:
            along = sum(part.length_m for part in self.parts) + self.least_apart_m
            sides = (along, max(part.width_m for part in self.parts))
        else:
            lows = [(p.x_m - p.length_m / 2, p.y_m - p.width_m / 2) for p in self.parts]
            highs = [(p.x_m + p.length_m / 2, p.y_m + p.width_m / 2) for p in self.parts]
            sides = (
                max(x for x, _ in highs) - min(x for x, _ in lows),
                max(y for _, y in highs) - min(y for _, y in lows),
            )
        return max(sides), min(sides)


@dataclass(frozen=True)
class Room:
    """What surrounds the use zones, and how exactly sides are told.

    Parameters
    ----------
    ring_m
        Width of the ring for path, seats and fence.
    strip_m
        Between the zones of different ages.
    step_m
        Sides are multiples of it.
    growth
        Area of the surfacing over the least that holds the pieces, 1 or more (an inclusive
        program, or one with more children than its pieces need room).
    route_m
        Clear width of the accessible way.
    extra_m2
        Surfacing beside what the pieces need: ramps.
    """

    ring_m: float
    strip_m: float
    step_m: float
    route_m: float
    growth: float = 1.0
    extra_m2: float = 0.0


def pad_shapes(zones: Sequence[UseZone], room: Room, *, least_m2: float) -> tuple[PadShape, ...]:
    """All shapes that hold the pieces, the smallest rectangle first.

    Parameters
    ----------
    zones
        Use zones of all pieces.
    room
        What surrounds them.
    least_m2
        Surfacing is at least so large, whatever the pieces need (area by heads).
    """
    blocks, overlaps = blocks_of(zones), overlaps_of(zones)
    sizes = {"strip_m": room.strip_m, "step_m": room.step_m}
    least = least_rectangle(blocks, overlaps, **sizes)
    found = [_rectangle(zones, room, (least.length_m, least.width_m), least_m2, least.proven_least)]
    for proportion in PLAIN_RECTANGLES:
        held = smallest_by_proportion(blocks, overlaps, proportion, **sizes)
        sides = (held.length_m, held.width_m)
        found.append(_rectangle(zones, room, sides, least_m2, held.proven_least))
    return (*_distinct(found), *_by_age(zones, room, least_m2=least_m2))


def given_pad(zones: Sequence[UseZone], room: Room, sides_m: tuple[float, float]) -> PadShape:
    """The pad that a study gives, with a layout where one can be packed into it."""
    long_m, short_m = max(sides_m), min(sides_m)
    inner = (long_m - 2 * room.ring_m, short_m - 2 * room.ring_m)
    concept = _concept(zones, room, inner) if zones and min(inner) > 0 else None
    return PadShape(
        "as the study gives it",
        (PadPart(0.0, 0.0, long_m, short_m),),
        concepts=() if concept is None else (concept,),
    )


def plain_rectangles(surfacing_m2: float, room: Room) -> tuple[PadShape, ...]:
    """Rectangles of an area, where no pieces are known that a layout could place."""
    shapes = []
    for proportion in PLAIN_RECTANGLES:
        short_m = _up(math.sqrt(surfacing_m2 / proportion), room.step_m)
        long_m = max(_up(surfacing_m2 / short_m, room.step_m), short_m)
        shapes.append(_ringed(f"{proportion:g} to 1, by area alone", (long_m, short_m), room))
    return tuple(shapes)


def _rectangle(
    zones: Sequence[UseZone],
    room: Room,
    sides_m: tuple[float, float],
    least_m2: float,
    proven: bool,  # noqa: FBT001  # of the sides
) -> PadShape:
    length_m, width_m = _grown(sides_m, room, least_m2)
    grew = length_m * width_m > sides_m[0] * sides_m[1] + 1e-6
    shape = _ringed(f"a rectangle of {length_m / width_m:.2g} to 1", (length_m, width_m), room)
    concept = _concept(zones, room, (length_m, width_m))
    if concept is None:
        raise ValueError("pieces that were packed in a rectangle can't be packed in a larger one")
    return replace(shape, concepts=(concept,), is_proven_least=proven and not grew)


def _grown(sides_m: tuple[float, float], room: Room, least_m2: float) -> tuple[float, float]:
    """Sides that hold ``least_m2`` and the room's growth, in the same proportion, rounded up."""
    area_m2 = sides_m[0] * sides_m[1]
    due_m2 = max(area_m2 * room.growth + room.extra_m2, least_m2)
    by = math.sqrt(due_m2 / area_m2)
    long_m, short_m = max(sides_m), min(sides_m)
    if by <= 1 + 1e-9:
        return long_m, short_m
    return _up(long_m * by, room.step_m), _up(short_m * by, room.step_m)


def _up(value_m: float, step_m: float) -> float:
    return math.ceil(value_m / step_m - 1e-6) * step_m


def _ringed(name: str, sides_m: tuple[float, float], room: Room) -> PadShape:
    length_m, width_m = (side + 2 * room.ring_m for side in sides_m)
    return PadShape(name, (PadPart(0.0, 0.0, length_m, width_m),))


def _concept(
    zones: Sequence[UseZone], room: Room, sides_m: tuple[float, float], strip_m: float | None = None
) -> Concept | None:
    """A layout in the middle of a pad, with its way in and its seat; None where none is found."""
    length_m, width_m = sides_m
    strip = room.strip_m if strip_m is None else strip_m
    decision = spread(zones, length_m=length_m, width_m=width_m, strip_m=strip)
    if decision.packing is None:
        return None
    layout = layout_of(
        zones, decision.packing, length_m=length_m, width_m=width_m, ring_m=room.ring_m
    )
    layout = replace(layout, route=way_in(layout, room.route_m), seat=best_seat(layout))
    return Concept(layout)


def _distinct(shapes: Sequence[PadShape]) -> list[PadShape]:
    """Without those that are nearly the same as one before, or that hold one before."""
    kept: list[PadShape] = []
    for shape in shapes:
        long_m, short_m = shape.sides_m
        if not any(
            long_m >= old.sides_m[0] * (1 - _ALIKE) and short_m >= old.sides_m[1] * (1 - _ALIKE)
            for old in kept
        ):
            kept.append(shape)
    return kept


def _by_age(zones: Sequence[UseZone], room: Room, *, least_m2: float) -> list[PadShape]:
    """An L, both hands, and two loose areas, where there are two age areas."""
    ages = sorted({zone.piece.ages for zone in zones})
    if len(ages) != 2:  # with one there is nothing to part; three stay together
        return []
    total = sum(zone.square.area for zone in zones)
    areas = []
    for age in ages:
        own = [zone for zone in zones if zone.piece.ages == age]
        share = sum(zone.square.area for zone in own) / total
        held = least_rectangle(blocks_of(own), overlaps_of(own), strip_m=0.0, step_m=room.step_m)
        sides, part = (held.length_m, held.width_m), replace(room, extra_m2=room.extra_m2 * share)
        shape = _rectangle(own, part, sides, least_m2 * share, held.proven_least)
        areas.append(shape)
    loose = PadShape(
        "two age areas",
        tuple(area.parts[0] for area in areas),
        is_loose=True,
        least_apart_m=max(0.0, room.strip_m - 2 * room.ring_m),
        most_apart_m=MOST_APART_M,
        concepts=tuple(area.concepts[0] for area in areas),
        is_proven_least=all(area.is_proven_least for area in areas),
    )
    return [*_l_shapes(areas, room), loose]


def _l_shapes(areas: Sequence[PadShape], room: Room) -> list[PadShape]:
    """Two age areas side by side, flush at one end: an L and its mirror image, the least of them."""
    layouts = [area.concepts[0].layout for area in areas]
    # The first area lies along x as it was packed; the second may be packed either way round.
    first, second = sorted(layouts, key=lambda layout: -layout.length_m * layout.width_m)
    shapes = [
        _l_shape(first, second, room, turned=turned, flush_top=top)
        for turned, top in itertools.product((False, True), (False, True))
    ]
    shapes = [shape for shape in shapes if len(shape.parts) > 1]
    if not shapes:
        return []
    least = min(shape.area_m2 for shape in shapes)
    return [shape for shape in shapes if shape.area_m2 < least + 1e-6][:2]


def _l_shape(
    first: Layout, second: Layout, room: Room, *, turned: bool, flush_top: bool
) -> PadShape:
    """Two surfacings side by side along x with the strip between them, and the ring round both."""
    ring, long_1, wide_1 = room.ring_m, first.length_m, first.width_m
    long_2, wide_2 = (second.length_m, second.width_m)[:: -1 if turned else 1]
    start_2 = long_1 + room.strip_m
    end, high = start_2 + long_2 + ring, max(wide_1, wide_2) + ring
    # The wider one keeps its whole ring; the other's part begins where that ends.
    cut = long_1 + ring if wide_1 >= wide_2 else min(long_1 + ring, start_2 - ring)
    lift_1, lift_2 = ((high - ring - wide) if flush_top else 0.0 for wide in (wide_1, wide_2))
    middle = ((end - ring) / 2, (high - ring) / 2)

    def part(west: float, east: float, lift: float, wide: float) -> PadPart:
        x, y = (west + east) / 2 - middle[0], lift + wide / 2 - middle[1]
        return PadPart(x, y, east - west, wide + 2 * ring)

    parts = (part(-ring, cut, lift_1, wide_1), part(cut, end, lift_2, wide_2))
    concepts = (
        Concept(first, long_1 / 2 - middle[0], lift_1 + wide_1 / 2 - middle[1]),
        Concept(
            second,
            start_2 + long_2 / 2 - middle[0],
            lift_2 + wide_2 / 2 - middle[1],
            90.0 if turned else 0.0,
        ),
    )
    name = "an L, the other hand" if flush_top else "an L"
    even = abs(wide_1 - wide_2) < room.step_m / 2
    return PadShape(name, parts[:1] if even else parts, concepts=concepts)
