"""How many components must be on an accessible route, and what the route is like."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from playsite.program.rules import ADA, Rule, common_practice
from playsite.units import LENGTHS_M

if TYPE_CHECKING:
    from collections.abc import Iterable

    from playsite.program.equipment import Piece

__all__ = ["Access", "access", "ground_components_due", "ramp_area_m2", "route_width_m"]

FOOT_M, INCH_M = LENGTHS_M["ft"], LENGTHS_M["in"]
SMALL_M2 = 1000 * FOOT_M**2
ROUTE_M, SMALL_ROUTE_M, PINCH_M = 60 * INCH_M, 44 * INCH_M, 36 * INCH_M

GROUND = Rule(
    "Ground-level components on an accessible route: one of each type, and no fewer than the "
    "table asks for by the number of elevated components; beyond 25, 8 and one for each further "
    "3 or fraction.",
    "240.2.1, table 240.2.1.2",
    ADA,
    "seen",
)
WAIVED = Rule(
    "The table need not be met where ramps reach at least half of the elevated components, among "
    "them three types.",
    "240.2.1.2, exception",
    ADA,
    "seen",
)
ELEVATED = Rule("At least half of the elevated components.", "240.2.2", ADA, "seen")
RAMPS = Rule(
    "With 20 elevated components or more, ramps reach at least a quarter of them.",
    "1008.2.1",
    ADA,
    "seen",
)
WIDTH = Rule(
    "Ground-level routes are 60 in clear; 36 in for at most 60 in.", "1008.2.4.1", ADA, "seen"
)
SMALL_WIDTH = Rule(
    "In a play area under 1,000 sq ft the route may be 44 in wide, with a turning space where it "
    "is over 30 ft long.",
    "1008.2.4.1, exception 1",
    ADA,
    "seen",
)
SLOPE = Rule(
    "Ground-level routes no steeper than 1:16, 1:48 across.", "1008.2.5.1, 403.3", ADA, "seen"
)
SURFACE = Rule(
    "Ground surfaces of accessible routes and clear spaces comply with ASTM F1951, inside use "
    "zones also with ASTM F1292.",
    "1008.2.6",
    ADA,
    "seen",
)
RAMP_SPACE = common_practice(
    "12 ft of run for 12 in of rise, 6 ft wide, and two landings of 5 ft: a 36 in deck takes 36 "
    "ft and about 280 sq ft."
)

# Number of elevated components up to which the table asks for (number, types).
_TABLE = (
    (1, 0, 0), (4, 1, 1), (7, 2, 2), (10, 3, 3), (13, 4, 3), (16, 5, 3), (19, 6, 3), (22, 7, 4),
    (25, 8, 4),
)  # fmt: skip

# Types are kinds of experience (advisory 240.2.1.1), not of equipment.
_EXPERIENCE = {
    "belt swing": "swinging",
    "bucket swing": "swinging",
    "multi-axis swing": "swinging",
    "spinner": "spinning",
    "merry-go-round": "spinning",
    "rocker": "rocking",
    "seesaw": "rocking",
    "climber": "climbing",
    "overhead climber": "climbing",
}


def ground_components_due(elevated: int) -> tuple[int, int]:
    """Ground-level components, and types among them, for a number of elevated ones.

    Source: 2010 ADA Standards, table 240.2.1.2.

    Examples
    --------
    >>> [ground_components_due(n) for n in (1, 4, 10, 20, 26, 28, 29)]
    [(0, 0), (1, 1), (3, 3), (7, 4), (9, 5), (9, 5), (10, 5)]
    """
    for most, number, types in _TABLE:
        if elevated <= most:
            return number, types
    return 8 + math.ceil((elevated - 25) / 3), 5


def route_width_m(area_m2: float) -> tuple[float, Rule]:
    """Clear width of ground-level routes in a play area, metres, with its rule."""
    return (SMALL_ROUTE_M, SMALL_WIDTH) if area_m2 < SMALL_M2 else (ROUTE_M, WIDTH)


def ramp_area_m2(deck_height_m: float) -> float:
    """Space that a ramp to a deck takes, square metres; common practice.

    Examples
    --------
    >>> round(ramp_area_m2(36 * 0.0254) / 0.09290304)
    276
    """
    return (12 * deck_height_m + 2 * 5 * FOOT_M) * 6 * FOOT_M


@dataclass(frozen=True)
class Access:
    """What accessibility asks of a program, and what the program has.

    Parameters
    ----------
    elevated, elevated_due
        Elevated components as far as they are given, and how many must be on a route.
    ramps_due
        Elevated components that ramps must reach; 0 below 20.
    ramped
        How many ramps reach, as given.
    ground, ground_types
        Ground-level components and types that the program has.
    ground_due, types_due
        How many must be on a route: the larger of the table and one of each type.
    waived
        Whether the table is waived.
    short
        Sentences: what is missing, or not known.
    """

    elevated: int
    elevated_due: int
    ramps_due: int
    ramped: int
    ground: int
    ground_types: int
    ground_due: int
    types_due: int
    waived: bool
    short: tuple[str, ...]
    rules: tuple[Rule, ...]


def access(pieces: Iterable[Piece]) -> Access:
    """What the standards ask of these pieces.

    Examples
    --------
    The guide's own example, four elevated components, one rocker, two swings: two ground-level
    components of two types, and two of the elevated.

    >>> from playsite.program.equipment import Piece
    >>> found = access([Piece("c", "composite", "5-12", 6, 6, 2, 2, elevated_components=4,
    ...     ground_components=0), Piece("r", "rocker", "5-12", 1, 1, 0.5, 0.5),
    ...     Piece("s", "belt swing", "5-12", 6, 0, pivot_height_m=2.4, bays=2, ground_components=2)])
    >>> found.ground_due, found.types_due, found.elevated_due
    (2, 2, 2)
    """
    listed = tuple(pieces)
    elevated = sum(piece.elevated_components or 0 for piece in listed)
    uncounted = [piece.label for piece in listed if piece.elevated_components is None]
    ramped = sum(piece.ramped_components for piece in listed)
    ground = sum(piece.ground_components for piece in listed)
    types = len({_EXPERIENCE.get(p.kind, p.kind) for p in listed if p.ground_components})
    ramps_due = math.ceil(elevated / 4) if elevated >= 20 else 0
    # Three types among them can't be told from numbers alone: with fewer than 3 there are none.
    waived = elevated > 0 and ramped >= max(3, math.ceil(elevated / 2))
    table, table_types = (0, 0) if waived else ground_components_due(elevated)
    short = []
    if uncounted:
        short.append(
            f"elevated components of {', '.join(uncounted)} are not given (elevated_components), "
            "so more may be due"
        )
    if ground < table:
        short.append(f"{table} ground-level components are due, the program has {ground}")
    if types < table_types:
        short.append(f"{table_types} types of ground-level component are due, there are {types}")
    if ramped < ramps_due:
        short.append(
            f"ramps must reach {ramps_due} of {elevated} elevated components, not {ramped}"
        )
    rules = [GROUND, ELEVATED, WIDTH, SLOPE, SURFACE]
    rules += [RAMPS] if ramps_due else []
    rules += [WAIVED] if waived else []
    return Access(
        elevated=elevated,
        elevated_due=math.ceil(elevated / 2),
        ramps_due=ramps_due,
        ramped=ramped,
        ground=ground,
        ground_types=types,
        ground_due=max(table, types),
        types_due=max(table_types, types),
        waived=waived,
        short=tuple(short),
        rules=tuple(rules),
    )
