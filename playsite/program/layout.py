"""A concept layout: equipment and use zones placed in the surfacing, route, gates and seat.

It proves that the pieces can stand there by the rules; it is a concept, not a design. Distances
are metres from the surfacing's lower left corner, the long side along x.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import MultiLineString, Point, Polygon, affinity, box

from playsite.program.packing import Block, pack
from playsite.program.use_zones import overlap_m

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from playsite.program.packing import Decision, Packing
    from playsite.program.use_zones import UseZone

__all__ = [
    "CONCEPT",
    "Layout",
    "PlacedPiece",
    "PlacedShape",
    "Route",
    "Seat",
    "blocks_of",
    "layout_of",
    "overlaps_of",
    "pieces_in",
    "placed",
    "spread",
]

CONCEPT = "A concept, not a design: it shows that the equipment can stand here by the rules."
BUSY = ("composite", "belt swing", "bucket swing", "multi-axis swing", "slide")
_MOST_SPREAD_M = 6.0
_BRANCHES = 5_000


@dataclass(frozen=True)
class PlacedPiece:
    """A piece where it stands.

    Parameters
    ----------
    zone
        Its use zone, in its own place.
    body, use_zone, square, exclusive
        The piece, its zone with rounded and with square corners, and the part of the zone that
        no other may overlap, where they lie.
    quarter_turns
        How it is turned, counterclockwise.
    """

    zone: UseZone
    body: Polygon
    use_zone: Polygon
    square: Polygon
    exclusive: Polygon
    quarter_turns: int

    @property
    def label(self) -> str:
        """Its name."""
        return self.zone.piece.label

    @property
    def ages(self) -> str:
        """Whom it is for."""
        return self.zone.piece.ages


@dataclass(frozen=True)
class Route:
    """The accessible way in, and to every piece that it reaches.

    Parameters
    ----------
    gate
        Where it begins, on the pad's outer line.
    ways
        Middle lines.
    width_m
        Clear width that it keeps from equipment, and from every zone that is a swing's or a
        slide exit's alone.
    unreached
        Labels of pieces that it doesn't reach.
    """

    gate: Point
    ways: MultiLineString
    width_m: float
    unreached: tuple[str, ...]


@dataclass(frozen=True)
class Seat:
    """One seat, and how much of each age area is seen from it.

    Parameters
    ----------
    place
        Where it stands.
    seen_pct
        Share of each age area's use zones within 25 m that nothing over 1 m hides.
    unseen
        Labels of pieces of which nothing is seen.
    """

    place: Point
    seen_pct: dict[str, float]
    unseen: tuple[str, ...]


@dataclass(frozen=True)
class Layout:
    """Pieces placed in a rectangle of surfacing with a ring round it.

    Parameters
    ----------
    length_m, width_m, ring_m
        Surfacing along x and y; width of the ring for path, seats and fence.
    pieces
        Where each stands.
    strips
        Strips between age areas.
    busy_gap_m
        Least distance between busy pieces of one age area; None where there are not two.
    route, seat
        None where they were not asked for.
    """

    length_m: float
    width_m: float
    ring_m: float
    pieces: tuple[PlacedPiece, ...]
    strips: tuple[Polygon, ...] = ()
    busy_gap_m: float | None = None
    route: Route | None = None
    seat: Seat | None = None

    @property
    def surfacing(self) -> Polygon:
        """The surfacing."""
        return box(0.0, 0.0, self.length_m, self.width_m)

    @property
    def pad(self) -> Polygon:
        """Surfacing and ring."""
        ring_m = self.ring_m
        return box(-ring_m, -ring_m, self.length_m + ring_m, self.width_m + ring_m)

    @property
    def zones_union_m2(self) -> float:
        """Area of all use zones together, rounded corners, overlaps counted once."""
        return float(shapely.union_all([piece.use_zone for piece in self.pieces]).area)


@dataclass(frozen=True)
class PlacedShape:
    """One shape of a layout on a map: its role, whose it is, and where it lies."""

    role: str
    label: str
    geometry: BaseGeometry


def blocks_of(zones: Sequence[UseZone]) -> list[Block]:
    """What the packing needs to know of use zones: extents, open sides, turns, age area, edge."""
    ages = sorted({zone.piece.ages for zone in zones})
    blocks = []
    for zone in zones:
        left, bottom, right, top = zone.square.bounds
        blocks.append(
            Block(
                length_m=right - left,
                width_m=top - bottom,
                open_faces=zone.open_sides,
                turns=(0, 1, 2, 3) if zone.piece.exit else (0, 1),
                area=ages.index(zone.piece.ages),
                at_edge=zone.piece.moving,
            )
        )
    return blocks


def overlaps_of(zones: Sequence[UseZone]) -> NDArray[np.float64]:
    """(n, n): how far each two may overlap, metres."""
    return np.array([[overlap_m(a, b) for b in zones] for a in zones], np.float64)


def spread(
    zones: Sequence[UseZone], *, length_m: float, width_m: float, strip_m: float
) -> Decision:
    """Pack, with busy pieces of one age area as far apart as bisection finds, at most 6 m.

    Source of "busy pieces apart": CPSC Pub. 325, 2.2.3 (from memory).
    """
    blocks, overlaps = blocks_of(zones), overlaps_of(zones)
    best = pack(blocks, overlaps, length_m=length_m, width_m=width_m, strip_m=strip_m)
    busy = np.array([zone.piece.kind in BUSY for zone in zones])
    both = np.outer(busy, busy).astype(np.float64)
    if best.packing is None or both.sum() <= 1:
        return best
    low_m, high_m = 0.0, _MOST_SPREAD_M
    while high_m - low_m > 0.1:
        gap_m = (low_m + high_m) / 2
        tried = pack(
            blocks,
            overlaps - gap_m * both,
            length_m=length_m,
            width_m=width_m,
            strip_m=strip_m,
            branches=_BRANCHES,
        )
        if tried.packing is None:
            high_m = gap_m
        else:
            best, low_m = tried, gap_m
    return best


def pieces_in(zones: Sequence[UseZone], packing: Packing) -> tuple[PlacedPiece, ...]:
    """Place the pieces, each in the middle of the room that its relations leave."""
    left_m, bottom_m = packing.left_m.mean(axis=1), packing.bottom_m.mean(axis=1)
    return tuple(
        _place(zone, float(left_m[i]), float(bottom_m[i]), packing.turns[i])
        for i, zone in enumerate(zones)
    )


def layout_of(
    zones: Sequence[UseZone],
    packing: Packing,
    *,
    length_m: float,
    width_m: float,
    ring_m: float,
) -> Layout:
    """Layout of a packing, without its route and seat."""
    pieces = pieces_in(zones, packing)
    strips = tuple(
        box(start, 0.0, end, width_m) if packing.axis == 0 else box(0.0, start, length_m, end)
        for start, end in packing.strips_m
    )
    return Layout(length_m, width_m, ring_m, pieces, strips, _busy_gap_m(pieces))


def placed(
    layout: Layout, *, easting: float, northing: float, rotation_deg: float
) -> list[PlacedShape]:
    """Shapes of a layout where a pad lies on the map.

    Parameters
    ----------
    layout
        The layout.
    easting, northing
        Middle of the pad, metres.
    rotation_deg
        Of its long side, counterclockwise from east.

    Returns
    -------
    list of PlacedShape
        Roles: pad, surfacing, strip, use zone, exclusive zone, equipment, route, gate, seat.
    """
    shapes = [PlacedShape("pad", "", layout.pad), PlacedShape("surfacing", "", layout.surfacing)]
    shapes += [PlacedShape("strip", "", strip) for strip in layout.strips]
    shapes += [PlacedShape("use zone", piece.label, piece.use_zone) for piece in layout.pieces]
    shapes += [
        PlacedShape("exclusive zone", piece.label, piece.exclusive)
        for piece in layout.pieces
        if not piece.exclusive.is_empty
    ]
    shapes += [PlacedShape("equipment", piece.label, piece.body) for piece in layout.pieces]
    if layout.route is not None:
        shapes.append(PlacedShape("route", "", layout.route.ways))
        shapes.append(PlacedShape("gate", "", layout.route.gate))
    if layout.seat is not None:
        shapes.append(PlacedShape("seat", "", layout.seat.place))
    middle = (layout.length_m / 2, layout.width_m / 2)
    return [
        replace(
            shape,
            geometry=affinity.translate(
                affinity.rotate(shape.geometry, rotation_deg, origin=middle),
                easting - middle[0],
                northing - middle[1],
            ),
        )
        for shape in shapes
    ]


def _place(zone: UseZone, left_m: float, bottom_m: float, turn: int) -> PlacedPiece:
    """Turn by right angles, exactly, and set the zone's lower left corner."""
    shapes = [zone.body, zone.rounded, zone.square, zone.exclusive]
    turned = [shapely.transform(shape, lambda xy: _turned(xy, turn)) for shape in shapes]
    west, south, _, _ = turned[2].bounds
    moved = [affinity.translate(shape, left_m - west, bottom_m - south) for shape in turned]
    return PlacedPiece(zone, moved[0], moved[1], moved[2], moved[3], turn)


def _turned(xy: NDArray[np.float64], turn: int) -> NDArray[np.float64]:
    for _ in range(turn % 4):
        xy = np.column_stack([-xy[:, 1], xy[:, 0]])
    return xy


def _busy_gap_m(pieces: Sequence[PlacedPiece]) -> float | None:
    gaps = [
        a.body.distance(b.body)
        for i, a in enumerate(pieces)
        for b in pieces[i + 1 :]
        if a.ages == b.ages and a.zone.piece.kind in BUSY and b.zone.piece.kind in BUSY
    ]
    return float(min(gaps)) if gaps else None
