"""Areas that a program asks for: by heads, by zones, and what stands round the surfacing."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from playsite.program.rules import CPSC, Figure, Rule, common_practice
from playsite.units import LENGTHS_M, Unit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from playsite._program_settings import ProgramTable
    from playsite.program.profiles import Profile
    from playsite.program.use_zones import UseZone

__all__ = ["RING_M", "STRIP_M", "Areas", "areas", "children_at_once", "tie_in_m"]

FOOT_M = LENGTHS_M["ft"]
RING_M = 8 * FOOT_M
STRIP_M = 12 * FOOT_M
_SHARE_PCT = 5.0

RING = common_practice("A ring of 8 ft round the surfacing for path, seats and fence.")
STRIP = Rule(
    "A buffer zone between age groups; its 12 ft are common practice without a source.",
    "2.2.2",
    CPSC,
    "seen",
)
SHARE = common_practice("5% of the children within reach are there at the busy hour (3 to 8%).")
SUM = Rule(
    "Use zones added up with square corners, none overlapping; to-fro zones from the pivot line.",
    "5.3",
    CPSC,
    "seen",
)
UNION = Rule(
    "Use zones of the layout together, corners rounded, with what may overlap.", "5.3", CPSC, "seen"
)
PACKING = common_practice(
    "Room between pieces: zones times 1.20 (1.10 compact, 1.35 loose); a check beside the layout."
)
INCLUSIVE = common_practice("An inclusive play area takes 25 to 40% more surfacing.")
TIE_IN = common_practice(
    "Ground is brought back to its level at 4:1: height difference over (0.25 less the ground's slope)."
)
BENCHES = common_practice("One bench for 8 to 10 children at once.")


@dataclass(frozen=True)
class Areas:
    """What the plain areas say, before any layout.

    Parameters
    ----------
    children
        At once; None where nothing is said of them.
    by_heads_m2, use_zones_m2, surfacing_m2
        None where there are no children, or no pieces.
    figures
        Each with its rule.
    """

    children: int | None
    by_heads_m2: float | None
    use_zones_m2: float | None
    surfacing_m2: float | None
    figures: tuple[Figure, ...]


def children_at_once(program: ProgramTable) -> tuple[int | None, Rule]:
    """Children at once and where the number comes from; None where nothing is said of them.

    Formula: children within reach x share x drive-in factor, rounded up.
    """
    if program.children_at_once is not None:
        return program.children_at_once, common_practice("As the program gives it.")
    reach = program.children_within_reach
    if reach is None:
        return None, SHARE
    total = sum(reach.values()) if isinstance(reach, dict) else reach
    share_pct = _SHARE_PCT if program.share_pct is None else program.share_pct
    number = math.ceil(total * share_pct / 100 * program.drive_in_factor - 1e-9)
    said = program.share_source
    text = f"{share_pct:g}% of {total:,} children within reach"
    if program.drive_in_factor > 1:
        text += f", times {program.drive_in_factor:g} for those who are driven"
    rule = (
        Rule(text + ".", "", said, "seen in another's copy")
        if said
        else common_practice(text + ".")
    )
    return number, rule


def areas(program: ProgramTable, zones: Sequence[UseZone], profile: Profile) -> Areas:
    """Areas by heads and by zones.

    Parameters
    ----------
    program
        As the study says it.
    zones
        Use zones of its pieces.
    profile
        The setting, which knows how much space a child has.
    """
    children, children_rule = children_at_once(program)
    space_m2 = program.space_per_child_m2 or profile.space_per_child_m2
    heads_m2 = None if children is None else children * space_m2
    sum_m2 = sum(zone.square.area for zone in zones) if zones else None
    allowance = 1 + program.inclusive_allowance_pct / 100 if program.inclusive else 1.0
    surfacing_m2 = None if sum_m2 is None else sum_m2 * program.packing * allowance
    space = (
        common_practice("Space a child as the program gives it.")
        if program.space_per_child_m2
        else Rule("Space a child at one time.", "", profile.space_source, "seen")
    )
    figures = [
        Figure("children_at_once", "children at once", children, Unit.COUNT, children_rule),
        Figure("space_per_child_m2", "space a child", space_m2, Unit.SQUARE_METRE, space),
        Figure("by_heads_m2", "area by heads", heads_m2, Unit.SQUARE_METRE, space),
        Figure("use_zones_m2", "use zones, added up", sum_m2, Unit.SQUARE_METRE, SUM),
        Figure(
            "surfacing_m2",
            f"surfacing by areas, zones times {program.packing * allowance:.2f}",
            surfacing_m2,
            Unit.SQUARE_METRE,
            INCLUSIVE if program.inclusive else PACKING,
        ),
    ]
    if children is not None:
        figures.append(Figure("benches", "benches", math.ceil(children / 10), Unit.COUNT, BENCHES))
    return Areas(children, heads_m2, sum_m2, surfacing_m2, tuple(figures))


def tie_in_m(program: ProgramTable) -> float | None:
    """Width of the ground that is graded round the pad; None where the program says nothing.

    Ground too steep for it is refused by the settings.

    Formula: height difference / (0.25 - ground slope). Common practice, no source.

    Examples
    --------
    >>> from playsite._program_settings import ProgramTable
    >>> program = ProgramTable.model_validate(
    ...     {"children_at_once": 9, "level_difference": "1 m", "ground_slope": "5 %"})
    >>> tie_in_m(program)
    5.0
    """
    if program.tie_in_m is not None:
        return program.tie_in_m
    if program.level_difference_m is None:
        return None
    from playsite._program_settings import MOWABLE_PCT  # noqa: PLC0415  # pydantic waits

    steeper_pct = MOWABLE_PCT - (program.ground_slope_pct or 0.0)
    return program.level_difference_m * 100 / steeper_pct
