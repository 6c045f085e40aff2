"""The use zone of each piece, as a polygon; how far two may overlap; what needs a maker's test.

A piece lies with its length along x and its middle at the origin; a swing's beam is its length,
and it swings along y. ``square`` has square corners, ``rounded`` the corners that a distance
from the piece really has. U.S. rules here; European ones in `use_zones_europe`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import shapely
from shapely import Polygon, box

from playsite.program.equipment import SWINGS, TURNING
from playsite.program.rules import CPSC, Rule
from playsite.units import LENGTHS_M

if TYPE_CHECKING:
    from playsite.program.equipment import Piece

__all__ = ["UseZone", "body_of", "handbook_zone", "overlap_m"]

FOOT_M, INCH_M = LENGTHS_M["ft"], LENGTHS_M["in"]
GENERAL_M = 6 * FOOT_M
TODDLER_SLIDE_M = 3 * FOOT_M
HIGH_M = 30 * INCH_M
APART_LOW_M, APART_HIGH_M = 6 * FOOT_M, 9 * FOOT_M
_BEAM_M = 0.15  # drawn thickness of a swing's beam where its width is not given

GENERAL = Rule(
    "At least 6 ft in all directions from the perimeter of the equipment.",
    "5.3.10",
    CPSC,
    "seen in another's copy",
)
BELT = Rule(
    "In front and behind, twice the height of the pivot above the surfacing; 6 ft at the sides.",
    "5.3.8.3.3",
    CPSC,
    "seen",
)
BUCKET = Rule(
    "In front and behind, twice the height from the top of the seat to the pivot; 6 ft at the sides.",
    "5.3.8.3.3",
    CPSC,
    "seen",
)
MULTI_AXIS = Rule(
    "In every direction from below the pivot, 6 ft and the length of the suspending members; it "
    "never overlaps another.",
    "5.3.8.4.1",
    CPSC,
    "from memory",
)
NEVER_IN_SWING = Rule(
    "In front of and behind a swing no other use zone may overlap; the 6 ft at its sides may "
    "overlap a neighboring swing's. (The handbook would let other structures in at the sides "
    "too; that is not made use of.)",
    "5.3.8.3.3",
    CPSC,
    "seen",
)
SLIDE_EXIT = Rule(
    "In front of a slide's exit 6 ft; where the slide is higher than 6 ft, its height, at most 8 "
    "ft; no other zone may overlap it.",
    "5.3.6.5",
    CPSC,
    "seen",
)
TODDLER_SLIDE = Rule(
    "A toddler slide where access is limited: 3 ft; 6 ft elsewhere.", "5.3.6.5", CPSC, "seen"
)
TURNING_RULE = Rule(
    "6 ft beyond the perimeter of rotating equipment; never overlapped.",
    "5.3.4",
    CPSC,
    "from memory",
)
ROCKER = Rule("6 ft from the perimeter of a rocker.", "5.3.7", CPSC, "from memory")
SEESAW = Rule("6 ft from each outside edge of a seesaw.", "5.3.5.3", CPSC, "seen")
OVERLAP = Rule(
    "Two stationary pieces: at least 6 ft apart where the play surfaces beside each other are at "
    "most 30 in high, at least 9 ft where one is higher. (Seen where it is said of seesaws; that "
    "it is said of other pieces too is from memory.)",
    "5.3.5.3",
    CPSC,
    "seen",
)
FALL_HEIGHTS = {
    "swing": Rule("From the pivot to the surfacing.", "5.3.8", CPSC, "from memory"),
    "slide": Rule("From the transition platform to the surfacing.", "5.3.6.6", CPSC, "seen"),
    "seesaw": Rule("From the highest point any part reaches.", "5.3.5.5", CPSC, "seen"),
    "track ride": Rule("From the maximum height of the equipment.", "5.3.2.7.1", CPSC, "seen"),
    "else": Rule(
        "From the highest designated play surface: a platform, or the top of its guardrail.",
        "5.1, 5.3",
        CPSC,
        "from memory",
    ),
}
MAKER = (
    "ask the maker for the use zone tested under ASTM F1487: it may be larger than the general 6 ft"
)

_TESTED = (*TURNING, "composite", "track ride", "musical", "other")

OverlapClass = Literal["stationary", "swing", "never"]


@dataclass(frozen=True)
class UseZone:
    """The use zone of a piece, in the piece's own place.

    Parameters
    ----------
    piece
        What it belongs to.
    body
        The piece itself.
    square, rounded
        The zone with square corners, and as a distance makes it.
    exclusive
        The part that no other zone may overlap; empty where there is none.
    overlaps
        "stationary": others may, by `overlap_m`; "swing": at the sides, another swing; "never".
    margin_m
        Width of the zone at its open sides.
    apart_m
        Distance that it needs from another piece, low and high.
    open_sides
        Left, bottom, right, top: whether another zone may overlap it there.
    fall_height_m
        Height that surfacing must protect from; None where the piece's height isn't known.
    rules
        What it follows.
    needs_test
        Sentences: what only the maker's tests can say.
    """

    piece: Piece
    body: Polygon
    square: Polygon
    rounded: Polygon
    exclusive: Polygon
    overlaps: OverlapClass
    margin_m: float
    apart_m: tuple[float, float]
    open_sides: tuple[bool, bool, bool, bool]
    fall_height_m: float | None
    rules: tuple[Rule, ...]
    needs_test: tuple[str, ...] = ()

    @property
    def is_high(self) -> bool:
        """Whether its play surface is over 30 in high; one that isn't known counts as high."""
        surface_m = self.piece.surface_height_m
        return surface_m is None or surface_m > HIGH_M + 1e-9


def overlap_m(a: UseZone, b: UseZone) -> float:
    """How far two zones may overlap where both are open, metres.

    Returns
    -------
    float
        0 if they never do; less than 0 where narrow zones don't keep their pieces apart: so far
        the zones themselves must stand from each other.

    Source: CPSC Pub. 325, 5.3.5.3 and 5.3.8.3.3; EN 1176-1 for European zones.
    """
    if a.overlaps == b.overlaps == "swing":
        return min(a.margin_m, b.margin_m)
    if not a.overlaps == b.overlaps == "stationary":
        return 0.0
    high = a.is_high or b.is_high
    apart_m = max(a.apart_m[high], b.apart_m[high])
    return a.margin_m + b.margin_m - apart_m


def body_of(piece: Piece) -> Polygon:
    """The piece itself about the origin: a disc where it turns, else a rectangle."""
    length_m, width_m = piece.length_m, piece.width_m or _BEAM_M
    if piece.kind in TURNING and abs(length_m - width_m) < 1e-9:
        return shapely.Point(0, 0).buffer(length_m / 2, quad_segs=32)
    return box(-length_m / 2, -width_m / 2, length_m / 2, width_m / 2)


def handbook_zone(piece: Piece, *, limited_access: bool = False) -> UseZone:
    """Use zone of a piece by the U.S. handbook.

    Parameters
    ----------
    piece
        The piece.
    limited_access
        Whether only toddlers under supervision can get in: their slides then need 3 ft.

    Raises
    ------
    ValueError
        If a swing has no height of its pivot, or of the seat where the zone follows from it.

    Examples
    --------
    >>> from playsite.program.equipment import Piece
    >>> climber = handbook_zone(Piece("climber", "climber", "5-12", 3.6576, 3.048, 1.8, 1.8))
    >>> round(climber.square.area / 0.09290304, 1), round(climber.rounded.area / 0.09290304, 1)
    (528.0, 497.1)
    """
    if piece.kind == "multi-axis swing":
        return _multi_axis(piece)
    if piece.kind in SWINGS:
        return _to_fro(piece)
    if piece.kind in TURNING:
        return _turning(piece)
    return _stationary(piece, limited_access=limited_access)


def closed_zone(
    piece: Piece,
    zones: tuple[Polygon, Polygon],
    margin_m: float,
    rules: tuple[Rule, ...],
    fall_height_m: float | None,
) -> UseZone:
    """Zone that nothing may overlap: ``zones`` are the square and the rounded one."""
    return UseZone(
        piece=piece,
        body=body_of(piece),
        square=zones[0],
        rounded=zones[1],
        exclusive=zones[1],
        overlaps="never",
        margin_m=margin_m,
        apart_m=(margin_m, margin_m),
        open_sides=(False, False, False, False),
        fall_height_m=fall_height_m,
        rules=rules,
        needs_test=(MAKER,) if piece.kind in _TESTED else (),
    )


def around(body: Polygon, margin_m: float) -> tuple[Polygon, Polygon]:
    """A margin round a body, with square corners and rounded."""
    left, bottom, right, top = body.bounds
    square = box(left - margin_m, bottom - margin_m, right + margin_m, top + margin_m)
    return square, body.buffer(margin_m, quad_segs=32)


def exit_zone(piece: Piece, reach_m: float, beside_m: float) -> tuple[Polygon, Polygon]:
    """In front of a slide's exit: the part that is the exit's alone, and the whole of it.

    The first is as wide as the exit, the second has the zone's margin beside it too. Where the
    width of the exit isn't given it is the whole side.
    """
    long_m, wide_m = piece.length_m / 2, piece.width_m / 2
    along_x = piece.exit in {"left", "right"}
    front_m, side_m = (long_m, wide_m) if along_x else (wide_m, long_m)
    half_m = min(piece.exit_width_m / 2, side_m) if piece.exit_width_m else side_m
    sign = 1 if piece.exit in {"right", "back"} else -1
    near, far = sorted((sign * front_m, sign * (front_m + reach_m)))
    own, whole = (box(near, -w, far, w) for w in (half_m, half_m + beside_m))
    if along_x:
        return own, whole
    return shapely.transform(own, lambda xy: xy[:, ::-1]), shapely.transform(
        whole, lambda xy: xy[:, ::-1]
    )


def stationary_zone(
    piece: Piece,
    margin_m: float,
    exit_reach_m: float,
    apart_m: tuple[float, float],
    rules: tuple[Rule, ...],
    fall_height_m: float | None,
) -> UseZone:
    """Zone of a piece that stands still: a margin all round, and more before a slide's exit."""
    body = body_of(piece)
    square, rounded = around(body, margin_m)
    exclusive = Polygon()
    open_sides = [True] * 4
    if piece.exit:
        exclusive, whole = exit_zone(piece, exit_reach_m, margin_m)
        square, rounded = shapely.union(square, whole), shapely.union(rounded, whole)
        open_sides[["left", "front", "right", "back"].index(piece.exit)] = False
    return UseZone(
        piece=piece,
        body=body,
        square=square,
        rounded=rounded,
        exclusive=exclusive,
        overlaps="stationary",
        margin_m=margin_m,
        apart_m=apart_m,
        open_sides=(open_sides[0], open_sides[1], open_sides[2], open_sides[3]),
        fall_height_m=fall_height_m,
        rules=rules,
        needs_test=(MAKER,) if piece.kind in _TESTED else (),
    )


def pivot_height_m(piece: Piece) -> float:
    """Height of a swing's pivot; never guessed."""
    if piece.pivot_height_m is None:
        raise ValueError(f"{piece.label}: the zone of a {piece.kind} needs the pivot's height")
    return piece.pivot_height_m


def hanging_m(piece: Piece) -> float:
    """Pivot to the top of a swing's seat; never guessed."""
    if piece.seat_height_m is None:
        raise ValueError(f"{piece.label}: the zone of a {piece.kind} needs the seat's height")
    return pivot_height_m(piece) - piece.seat_height_m


def _to_fro(piece: Piece) -> UseZone:
    """Reach to both sides of the pivot line; beam and sides along it."""
    bucket = piece.kind == "bucket swing"
    pivot_m = pivot_height_m(piece)
    drop_m = hanging_m(piece) if bucket else pivot_m
    half_m = piece.length_m / 2
    reach_m = max(2 * drop_m, piece.width_m / 2)  # of a low swing in a splayed frame
    square = box(-half_m - GENERAL_M, -reach_m, half_m + GENERAL_M, reach_m)
    return UseZone(
        piece=piece,
        body=body_of(piece),
        square=square,
        rounded=square,
        exclusive=box(-half_m, -reach_m, half_m, reach_m),
        overlaps="swing",
        margin_m=GENERAL_M,
        apart_m=(GENERAL_M, GENERAL_M),
        open_sides=(True, False, True, False),
        fall_height_m=pivot_m,
        rules=(BUCKET if bucket else BELT, NEVER_IN_SWING, FALL_HEIGHTS["swing"]),
    )


def _multi_axis(piece: Piece) -> UseZone:
    radius_m = GENERAL_M + hanging_m(piece)
    disc = shapely.Point(0, 0).buffer(radius_m, quad_segs=32)
    frame = around(body_of(piece), GENERAL_M)
    square = box(*shapely.union(disc, frame[0]).bounds)
    rules = (MULTI_AXIS, GENERAL, FALL_HEIGHTS["swing"])
    zones = (square, shapely.union(disc, frame[1]))
    return closed_zone(piece, zones, GENERAL_M, rules, pivot_height_m(piece))


def _turning(piece: Piece) -> UseZone:
    rules = (TURNING_RULE, FALL_HEIGHTS["else"])
    return closed_zone(piece, around(body_of(piece), GENERAL_M), GENERAL_M, rules, piece.height_m)


def _stationary(piece: Piece, *, limited_access: bool) -> UseZone:
    toddler = limited_access and piece.ages == "6-23 months" and piece.kind == "slide"
    margin_m = TODDLER_SLIDE_M if toddler else GENERAL_M
    least_m, most_m = 6 * FOOT_M, 8 * FOOT_M
    exit_m = most_m if piece.exit_height_m is None else piece.exit_height_m
    reach_m = margin_m if toddler else min(max(exit_m, least_m), most_m)
    own = {"rocker": ROCKER, "seesaw": SEESAW}
    rules = [TODDLER_SLIDE if toddler else own.get(piece.kind, GENERAL)]
    rules += [SLIDE_EXIT] if piece.exit else []
    rules += [OVERLAP, FALL_HEIGHTS.get(piece.kind, FALL_HEIGHTS["else"])]
    apart_m = (APART_LOW_M, APART_HIGH_M)
    return stationary_zone(piece, margin_m, reach_m, apart_m, tuple(rules), piece.height_m)
