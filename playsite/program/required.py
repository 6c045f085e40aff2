"""A program worked out: pieces, zones, areas, access, surfacing, and the pad that holds them."""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import TYPE_CHECKING

from playsite.program import RequiredPad
from playsite.program.accessible import RAMP_SPACE, access, ramp_area_m2, route_width_m
from playsite.program.area import (
    INCLUSIVE,
    RING,
    RING_M,
    STRIP,
    STRIP_M,
    TIE_IN,
    UNION,
    areas,
    tie_in_m,
)
from playsite.program.equipment import ages_of, pieces_of
from playsite.program.layout import blocks_of, overlaps_of
from playsite.program.pad_shapes import Room, given_pad, pad_shapes, plain_rectangles
from playsite.program.profiles import PROFILES
from playsite.program.rules import Figure, common_practice
from playsite.program.smallest import too_much
from playsite.program.surfacing import SURFACINGS, depth
from playsite.program.use_zones import handbook_zone
from playsite.program.use_zones_europe import check_fall_heights, european_zone
from playsite.units import LENGTHS_M, Unit

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from typing import Any

    from playsite._program_settings import ProgramTable
    from playsite.problems import Problems
    from playsite.program.accessible import Access
    from playsite.program.area import Areas
    from playsite.program.equipment import Piece
    from playsite.program.pad_shapes import PadShape
    from playsite.program.surfacing import Depth
    from playsite.program.use_zones import UseZone

__all__ = ["Worked", "check_programs", "required_pad"]

_STEPS_M = {"feet": LENGTHS_M["ft"] / 2, "metres": 0.1}
_LAYOUT = common_practice(
    "The least rectangle from 1:1 to 2:1 that is proven to hold the pieces, with its ring."
)
_GIVEN = common_practice("As the study gives it.")


@dataclass(frozen=True)
class Worked:
    """A program worked out, each figure with its rule.

    Parameters
    ----------
    name
        Of the program, empty for the study's own.
    ages, rules, inclusive
        Whom it is for and by whose rules.
    pieces, zones
        The equipment and its use zones, in the same order.
    areas, access
        By plain areas; what accessibility asks.
    depths
        Of each material of surfacing under the highest fall that is known.
    figures
        Every figure with its rule and source.
    too_much
        Labels of the pieces that have no room in a pad that is given.
    """

    name: str
    ages: tuple[str, ...]
    rules: str
    inclusive: bool
    pieces: tuple[Piece, ...]
    zones: tuple[UseZone, ...]
    areas: Areas
    access: Access
    depths: tuple[Depth, ...]
    figures: tuple[Figure, ...]
    too_much: tuple[str, ...] | None = ()

    @property
    def unknown_falls(self) -> tuple[str, ...]:
        """Labels of pieces whose fall height isn't known: no depth is checked for them."""
        return tuple(zone.piece.label for zone in self.zones if zone.fall_height_m is None)

    def figure(self, name: str) -> float | None:
        """Value of a figure by its name; None where it isn't known or isn't there."""
        return next((each.value for each in self.figures if each.name == name), None)


def required_pad(
    program: ProgramTable,
    problems: Problems,
    *,
    profile: str = "public",
    units: str = "feet",
    name: str = "",
) -> RequiredPad:
    """Work a program out: from who plays to the shapes of ground that hold it.

    Parameters
    ----------
    program
        As the study says it.
    problems
        Takes what is wrong with its pieces; the caller stops before anything is built on it.
    profile
        The setting, which gives defaults.
    units
        ``feet``: sides are told to half a foot; ``metres``: to a decimetre.
    name
        What it is called.
    """
    before = len(problems.items)
    pieces = pieces_of(program, problems)
    if program.rules == "europe":
        check_fall_heights(pieces, problems)
    if len(problems.items) > before:
        pieces = ()
    zones = tuple(_zone(piece, program) for piece in pieces)
    plain = areas(program, zones, PROFILES[profile])
    room = _room(program, units, zones, plain)
    shapes = _shapes(program, zones, room, plain)
    worked = Worked(
        name=name,
        ages=ages_of(program),
        rules=program.rules,
        inclusive=program.inclusive,
        pieces=pieces,
        zones=zones,
        areas=plain,
        access=access(pieces),
        depths=_depths(program, zones),
        figures=(*plain.figures, *_figures(program, shapes, room)),
        too_much=_too_much(shapes[0], zones, room) if program.pad else (),
    )
    long_m, short_m = shapes[0].sides_m
    return RequiredPad(long_m, short_m, _why(program, shapes[0]), shapes, worked)


def check_programs(
    programs: Mapping[str, ProgramTable], problems: Problems, place: Callable[..., dict[str, Any]]
) -> None:
    """Add what is wrong with the pieces of each program, by the path of its table.

    Nothing is looked at once the tables themselves are at fault: their pieces aren't all there.
    """
    if any(problem.key.startswith("program") for problem in problems.items):
        return
    for path, program in programs.items():
        pieces = pieces_of(program, problems, functools.partial(_within, place, path))
        if program.rules == "europe":
            check_fall_heights(pieces, problems)


def _within(place: Callable[..., dict[str, Any]], path: str, *keys: str) -> dict[str, Any]:
    """Place of a key of a program that may be one of several."""
    return place(*path.split("."), *keys[1:])


def _zone(piece: Piece, program: ProgramTable) -> UseZone:
    if program.rules == "europe":
        return european_zone(piece, unitary=program.surfacing == "unitary")
    return handbook_zone(piece, limited_access=program.limited_access)


def _room(program: ProgramTable, units: str, zones: tuple[UseZone, ...], plain: Areas) -> Room:
    width_m, _ = route_width_m(plain.surfacing_m2 or plain.by_heads_m2 or float("inf"))
    return Room(
        ring_m=RING_M if program.ring_m is None else program.ring_m,
        strip_m=STRIP_M if program.age_strip_m is None else program.age_strip_m,
        step_m=_STEPS_M[units],
        route_m=width_m,
        growth=1 + program.inclusive_allowance_pct / 100 if program.inclusive else 1.0,
        extra_m2=_ramps_m2(zones),
    )


def _shapes(
    program: ProgramTable, zones: tuple[UseZone, ...], room: Room, plain: Areas
) -> tuple[PadShape, ...]:
    if program.pad is not None:
        return (given_pad(zones, room, (program.pad.length_m, program.pad.width_m)),)
    heads_m2 = plain.by_heads_m2 or 0.0
    if zones:
        return pad_shapes(zones, room, least_m2=heads_m2)
    return plain_rectangles(max(heads_m2 * room.growth, room.step_m**2), room)


def _ramps_m2(zones: tuple[UseZone, ...]) -> float:
    """Space for the ramps of decks that have one."""
    decks = [zone.piece.deck_height_m for zone in zones if zone.piece.ramped_components]
    return sum(ramp_area_m2(deck_m) for deck_m in decks if deck_m)


def _depths(program: ProgramTable, zones: tuple[UseZone, ...]) -> tuple[Depth, ...]:
    """Of the material that is given, else of all, under the highest fall that is known."""
    if not zones:
        return ()
    heights = [zone.fall_height_m for zone in zones if zone.fall_height_m is not None]
    known = max(heights, default=None)
    materials = [program.surfacing] if program.surfacing else list(SURFACINGS)
    return tuple(depth(material, known) for material in materials)


def _too_much(shape: PadShape, zones: tuple[UseZone, ...], room: Room) -> tuple[str, ...] | None:
    """Labels of pieces that a given pad has no room for; None where that isn't decided."""
    if not zones or shape.concepts:
        return ()
    long_m, short_m = (side - 2 * room.ring_m for side in shape.sides_m)
    if short_m <= 0:
        return tuple(zone.piece.label for zone in zones)
    dropped = too_much(
        blocks_of(zones),
        overlaps_of(zones),
        length_m=long_m,
        width_m=short_m,
        strip_m=room.strip_m,
    )
    return None if dropped is None else tuple(zones[i].piece.label for i in dropped)


def _figures(program: ProgramTable, shapes: tuple[PadShape, ...], room: Room) -> tuple[Figure, ...]:
    """What the layout and the ring add to the plain areas, each with its rule."""
    layouts = [concept.layout for concept in shapes[0].concepts]
    union_m2 = sum(layout.zones_union_m2 for layout in layouts) if layouts else None
    laid_m2 = sum(layout.surfacing.area for layout in layouts) if layouts else None
    rule = _GIVEN if program.pad else INCLUSIVE if program.inclusive else _LAYOUT
    m2, m = Unit.SQUARE_METRE, Unit.METRE
    return (
        Figure("use_zones_union_m2", "use zones as laid out, overlaps once", union_m2, m2, UNION),
        Figure("layout_surfacing_m2", "surfacing of the layout", laid_m2, m2, rule),
        Figure("ring_m", "ring for path, seats and fence", room.ring_m, m, RING),
        Figure("age_strip_m", "strip between age areas", room.strip_m, m, STRIP),
        Figure("ramps_m2", "ramps to decks, at the least", room.extra_m2, m2, RAMP_SPACE),
        Figure("tie_in_m", "graded ground round the pad", tie_in_m(program), m, TIE_IN),
        Figure("pad_m2", "the pad, ring included", shapes[0].area_m2, m2, rule),
    )


def _why(program: ProgramTable, shape: PadShape) -> str:
    if program.pad is not None:
        return "fixed by the study: [program] pad"
    if shape.concepts and not shape.is_proven_least:
        return (
            "a rectangle that is proven to hold the equipment and has the space due, and its ring"
        )
    if shape.concepts:
        return "the least rectangle that is proven to hold the equipment, and its ring"
    return "space for the children who play at one time, and its ring"
