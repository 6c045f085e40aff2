"""Pieces of equipment as the program gives them, checked for what each kind needs."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from playsite.units import LENGTHS_M

if TYPE_CHECKING:
    from collections.abc import Callable

    from playsite._program_settings import EquipmentTable, ProgramTable
    from playsite.problems import Problems

__all__ = ["SWINGS", "TURNING", "Piece", "ages_of", "pieces_of"]

SWINGS = ("belt swing", "bucket swing", "multi-axis swing")
TURNING = ("spinner", "merry-go-round")
_IN = LENGTHS_M["in"]

_NEEDS = {
    "belt swing": ("length", "pivot_height"),
    "bucket swing": ("length", "pivot_height", "seat_height"),
    "multi-axis swing": ("length", "pivot_height", "seat_height"),
    "spinner": ("length",),
    "merry-go-round": ("length",),
    "rocker": ("length", "width"),
    "musical": ("length", "width"),
}
_NEEDS_ELSE = ("length", "width", "height")
_ONLY_FOR = {
    "pivot_height": SWINGS,
    "seat_height": SWINGS,
    "bays": SWINGS,
    "exit": ("slide", "composite", "other"),
    "exit_height": ("slide", "composite", "other"),
    "exit_width": ("slide", "composite", "other"),
    "elevated_components": ("composite",),
    "ramped_components": ("composite",),
    "deck_height": ("composite",),
}
_EXAMPLES = {
    "length": 'length = "20 ft" (the piece itself; a swing: its whole beam)',
    "width": 'width = "10 ft" (the piece itself)',
    "height": 'height = "6 ft" (the highest point children are meant to reach)',
    "pivot_height": 'pivot_height = "8 ft" (from the surfacing to the pivots)',
    "seat_height": 'seat_height = "2 ft" (from the surfacing to the top of the seat)',
}


@dataclass(frozen=True)
class Piece:
    """One piece of equipment, in metres.

    Parameters
    ----------
    label
        Its name, told apart from others alike.
    kind, ages
        What it is and for whom.
    length_m, width_m
        The piece itself; a swing's width is 0 where it is not given.
    height_m
        Highest point that children reach; None where it isn't known.
    surface_height_m
        Highest play surface beside others; None where it isn't known.
    moving
        Whether it belongs at an edge of the play area.
    elevated_components
        None for a composite whose number isn't given.
    """

    label: str
    kind: str
    ages: str
    length_m: float
    width_m: float
    height_m: float | None = None
    surface_height_m: float | None = None
    pivot_height_m: float | None = None
    seat_height_m: float | None = None
    bays: int = 1
    exit: str | None = None
    exit_height_m: float | None = None
    exit_width_m: float | None = None
    moving: bool = False
    elevated_components: int | None = 0
    ramped_components: int = 0
    ground_components: int = 1
    deck_height_m: float | None = None


def ages_of(program: ProgramTable) -> tuple[str, ...]:
    """Age groups that play: as given, else those of the equipment, youngest first."""
    from playsite._program_settings import AGES  # noqa: PLC0415  # pydantic waits

    named = program.ages or [piece.ages for piece in program.equipment]
    return tuple(age for age in AGES if age in named)


def pieces_of(
    program: ProgramTable,
    problems: Problems,
    place: Callable[..., dict[str, Any]] | None = None,
) -> tuple[Piece, ...]:
    """Pieces of a program, each of several alike on its own.

    Parameters
    ----------
    program
        As the study says it.
    problems
        Takes every key that is missing, wrong or not of the kind.
    place
        Gives file and line of a path of keys, as `Settings.place` does.

    Returns
    -------
    tuple of Piece
        Only those without a problem.
    """
    pieces: list[Piece] = []
    kinds = Counter(_plain_name(table) for table in program.equipment for _ in range(table.count))
    numbers: Counter[str] = Counter()
    for number, table in enumerate(program.equipment, start=1):
        faults = [*_faults_of_keys(table), *_faults_of_values(table, program)]
        for what, remedy in faults:
            where = {"key": "program.equipment"}
            if place:
                where = place("program", "equipment", str(number - 1))
            problems.add(f"piece {number} ({table.kind}): {what}", remedy, **where)
        for _ in range(0 if faults else table.count):
            name = _plain_name(table)
            numbers[name] += 1
            pieces.append(_piece(table, f"{name} {numbers[name]}" if kinds[name] > 1 else name))
    return tuple(pieces)


def _plain_name(table: EquipmentTable) -> str:
    return table.name or table.kind


def _faults_of_keys(table: EquipmentTable) -> list[tuple[str, str]]:
    """What is missing for the kind, and what has no meaning for it."""
    faults = [
        (f'a {table.kind} needs the key "{key}".', f"Expected {_EXAMPLES[key]}.")
        for key in _NEEDS.get(table.kind, _NEEDS_ELSE)
        if getattr(table, f"{key}_m") is None
    ]
    for key, kinds in _ONLY_FOR.items():
        value = getattr(table, key, None) if hasattr(table, key) else getattr(table, f"{key}_m")
        if value is not None and table.kind not in kinds:
            remedy = f"Leave it out: it belongs to {' or '.join(kinds)}."
            faults.append((f'a {table.kind} has no "{key}".', remedy))
    if table.exit is None and table.kind in {"composite", "other"}:
        faults += [
            (f'"{key}" needs the key "exit".', 'Expected exit = "right".')
            for key in ("exit_height", "exit_width")
            if getattr(table, f"{key}_m") is not None
        ]
    if table.ramped_components and table.elevated_components is None:
        faults.append(
            (
                '"ramped_components" needs the key "elevated_components".',
                "Expected elevated_components = 8 (how many there are, reached by ramp or not).",
            )
        )
    return faults


def _faults_of_values(table: EquipmentTable, program: ProgramTable) -> list[tuple[str, str]]:
    """Values that contradict each other or the rule set that the program names."""
    faults = _faults_of_heights(table)
    if program.ages and table.ages not in program.ages:
        faults.append(
            (
                f"is for ages {table.ages}, and the program is for {', '.join(program.ages)}.",
                "Add the age group to ages, or change the piece's.",
            )
        )
    elevated = table.elevated_components
    if elevated is not None and (table.ramped_components or 0) > elevated:
        what = "more components are reached by ramp than are elevated."
        faults.append((what, "Check ramped_components and elevated_components."))
    if table.kind == "multi-axis swing" and (table.bays or 1) > 1:
        what = "each multi-axis swing has its own zone, which no other may overlap."
        faults.append((what, f"Leave bays out and write count = {table.bays}."))
    if program.rules == "us":
        faults += _faults_of_handbook(table)
    elif table.kind == "belt swing" and table.seat_height_m is None:
        faults.append(
            (
                'a belt swing needs the key "seat_height" under rules = "europe".',
                f"Expected {_EXAMPLES['seat_height']}.",
            )
        )
    return faults


def _faults_of_heights(table: EquipmentTable) -> list[tuple[str, str]]:
    """Heights that can't be true together."""
    lower = {
        "surface_height": table.surface_height_m,
        "exit_height": table.exit_height_m,
        "deck_height": table.deck_height_m,
    }
    faults = [
        (f'"{key}" is more than "height".', f"Expected {_EXAMPLES['height']}.")
        for key, lower_m in lower.items()
        if lower_m is not None and table.height_m is not None and lower_m > table.height_m + 1e-9
    ]
    pivot_m, seat_m = table.pivot_height_m, table.seat_height_m
    if pivot_m is not None and seat_m is not None and seat_m >= pivot_m:
        faults.append(("the seat is not below the pivot.", "Check seat_height and pivot_height."))
    return faults


def _faults_of_handbook(table: EquipmentTable) -> list[tuple[str, str]]:
    """What the U.S. handbook rules out or doesn't know (5.3.4, 5.3.8.3.2)."""
    faults = []
    pivot_m, height_m = table.pivot_height_m, table.height_m
    if table.kind == "bucket swing" and pivot_m is not None:
        within = 47 * _IN < pivot_m <= 96 * _IN + 1e-9
        if not within:
            what = f"a full bucket swing's pivot stands {_inches(pivot_m)} in above the surfacing."
            faults.append((what, "The handbook asks for over 47 in, at most 96 in (5.3.8.3.2)."))
    if table.kind == "merry-go-round" and table.ages == "6-23 months":
        faults.append(("a merry-go-round is not for toddlers.", "See the handbook, 5.3.4."))
    most = {"2-5": 14, "5-12": 18}.get(table.ages)
    if table.kind == "merry-go-round" and most and (height_m or 0) > most * _IN + 1e-9:
        what = f"the platform stands {_inches(height_m or 0)} in above the surfacing."
        faults.append((what, f"The handbook allows {most} in for ages {table.ages} (5.3.4)."))
    return faults


def _inches(length_m: float) -> str:
    """With a decimal: 96.1 is never told as 96, the most that may be."""
    return f"{length_m / _IN:.1f}".removesuffix(".0")


def _piece(table: EquipmentTable, label: str) -> Piece:
    round_m = table.length_m if table.kind in TURNING else 0.0
    bays = table.bays or 1
    moves = table.kind in SWINGS or table.kind in TURNING
    height_m = table.height_m
    unknown = table.kind == "composite" and table.elevated_components is None
    return Piece(
        label=label,
        kind=table.kind,
        ages=table.ages,
        length_m=table.length_m or 0.0,
        width_m=table.width_m or round_m or 0.0,
        height_m=height_m,
        surface_height_m=height_m if table.surface_height_m is None else table.surface_height_m,
        pivot_height_m=table.pivot_height_m,
        seat_height_m=table.seat_height_m,
        bays=bays,
        exit=table.exit or ("right" if table.kind == "slide" else None),
        exit_height_m=table.exit_height_m or height_m,
        exit_width_m=table.exit_width_m,
        moving=moves if table.moving is None else table.moving,
        elevated_components=None if unknown else table.elevated_components or 0,
        ramped_components=table.ramped_components or 0,
        ground_components=_ground_components(table, bays),
        deck_height_m=table.deck_height_m,
    )


def _ground_components(table: EquipmentTable, bays: int) -> int:
    """Components entered from the ground: a composite's only where they are given."""
    if table.ground_components is not None:
        return table.ground_components
    return 0 if table.kind == "composite" else bays
