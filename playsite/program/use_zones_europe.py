"""Falling spaces of European rules (EN 1176), as use zones."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import shapely
from shapely import box

from playsite.program.equipment import SWINGS, TURNING
from playsite.program.rules import EN_1176, Rule
from playsite.program.use_zones import (
    UseZone,
    around,
    body_of,
    closed_zone,
    hanging_m,
    pivot_height_m,
    stationary_zone,
)

if TYPE_CHECKING:
    from playsite.problems import Problems
    from playsite.program.equipment import Piece

__all__ = ["MOST_FALL_M", "check_fall_heights", "european_zone", "falling_space_m"]

MOST_FALL_M = 3.0
_LEAST_M = 1.5
_SWUNG = 0.867  # sine of 60 degrees, as the standard rounds it
_LOOSE_M, _UNITARY_M = 2.25, 1.75
_FORCED_M = 2.0
_RUN_OUT_M = 2.0

FALLING_SPACE = Rule(
    "1.5 m round the piece up to a free height of fall of 1.5 m, then two thirds of it and 0.5 "
    "m, up to 2.5 m at 3 m; more than 3 m is not allowed.",
    "part 1, falling space",
    EN_1176,
    "seen in another's copy",
)
FREE_OVERLAP = Rule(
    "Falling spaces of pieces that force no movement may overlap; none may hold another piece.",
    "part 1, falling space",
    EN_1176,
    "from memory",
)
SWING = Rule(
    "The seat swung to 60 degrees and 2.25 m of loose fill beyond it (from memory: 1.75 m of "
    "unitary surfacing; 1.5 m beside the frame); never overlapped.",
    "part 2, impact area",
    EN_1176,
    "seen in another's copy",
)
SWING_FALL = Rule(
    "Height of the seat swung to 60 degrees.",
    "part 2, free height of fall",
    EN_1176,
    "seen in another's copy",
)
FORCED = Rule(
    "At least 2 m round a carousel or a track ride (this width is from memory); never overlapped.",
    "parts 4 and 5",
    EN_1176,
    "seen in another's copy",
)
RUN_OUT = Rule(
    "2 m beyond the end of a slide, never overlapped.",
    "part 3, impact area",
    EN_1176,
    "from memory",
)
MAKER = "ask the maker for the falling space that was tested under EN 1176: it may be larger"
HEIGHT = Rule(
    "From the body support that is meant to the surface below.",
    "part 1, free height of fall",
    EN_1176,
    "seen in another's copy",
)


def falling_space_m(fall_height_m: float) -> float:
    """Width of the falling space for a free height of fall, metres.

    Formula: 1.5 up to 1.5, then 2/3 h + 0.5. Source: EN 1176-1, as a table of an accident
    insurer gives it (0.6, 1, 1.5: 1.5; 2: 1.85; 2.5: 2.2; 3: 2.5, rounded to 5 cm).

    Raises
    ------
    ValueError
        Above 3 m, which the standard does not allow.

    Examples
    --------
    >>> falling_space_m(1.0), round(falling_space_m(2.0), 2), falling_space_m(3.0)
    (1.5, 1.83, 2.5)
    """
    if fall_height_m > MOST_FALL_M + 1e-9:
        raise ValueError(
            f"EN 1176 allows no free height of fall above 3 m; given {fall_height_m:g} m"
        )
    return max(_LEAST_M, fall_height_m * 2 / 3 + 0.5)


def european_zone(piece: Piece, *, unitary: bool = False) -> UseZone:
    """Falling space of a piece by European rules, as a use zone.

    Parameters
    ----------
    piece
        The piece, with a free height of fall of at most 3 m.
    unitary
        Whether the surfacing is unitary: under swings it then needs to reach less far.

    Raises
    ------
    ValueError
        If it falls from higher, or a swing has no heights of its pivot and seat.
    """
    if piece.kind in SWINGS:
        return _swing(piece, unitary=unitary)
    zone = _zone_round(piece)
    return replace(zone, needs_test=(MAKER,) if zone.needs_test else ())


def _zone_round(piece: Piece) -> UseZone:
    """Falling space round a piece; one whose height isn't known counts as the highest."""
    margin_m = falling_space_m(MOST_FALL_M if piece.height_m is None else piece.height_m)
    if piece.kind in (*TURNING, "track ride"):
        margin_m = max(_FORCED_M, margin_m)
        zones = around(body_of(piece), margin_m)
        return closed_zone(piece, zones, margin_m, (FORCED, HEIGHT), piece.height_m)
    rules = [FALLING_SPACE, FREE_OVERLAP, HEIGHT] + ([RUN_OUT] if piece.exit else [])
    reach_m = max(_RUN_OUT_M, margin_m)
    apart_m = (margin_m, margin_m)
    return stationary_zone(piece, margin_m, reach_m, apart_m, tuple(rules), piece.height_m)


def free_height_of_fall_m(piece: Piece) -> float | None:
    """Free height of fall: a swing's seat at 60 degrees, else the piece's height."""
    if piece.kind in SWINGS:
        return pivot_height_m(piece) - hanging_m(piece) / 2
    return piece.height_m


def check_fall_heights(pieces: tuple[Piece, ...], problems: Problems) -> None:
    """Add a problem for each piece that falls from higher than European rules allow."""
    for piece in pieces:
        fall_m = free_height_of_fall_m(piece)
        if fall_m is not None and fall_m > MOST_FALL_M + 1e-9:
            problems.add(
                f"{piece.label}: a free height of fall of {fall_m:.2f} m; "
                "European rules allow 3 m (EN 1176-1).",
                "Lower the piece, or check what its height means.",
                key="program.equipment",
            )


def _swing(piece: Piece, *, unitary: bool) -> UseZone:
    reach_m = _SWUNG * hanging_m(piece) + (_UNITARY_M if unitary else _LOOSE_M)
    frame = around(body_of(piece), _LEAST_M)
    if piece.kind == "multi-axis swing":
        swung = shapely.Point(0, 0).buffer(reach_m, quad_segs=32)
        zones = (box(*shapely.union(swung, frame[0]).bounds), shapely.union(swung, frame[1]))
    else:
        half_m = piece.length_m / 2 + _LEAST_M
        swung = box(-half_m, -reach_m, half_m, reach_m)
        zones = (shapely.union(swung, frame[0]), shapely.union(swung, frame[1]))
    fall_m = free_height_of_fall_m(piece)
    return closed_zone(piece, zones, _LEAST_M, (SWING, SWING_FALL), fall_m)
