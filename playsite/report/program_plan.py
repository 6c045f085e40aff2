"""One layout drawn to scale like a garden plan: zones, pieces, way in, gate, seat with its sight."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import LineString, Point, affinity, box

from playsite.program.equipment import SWINGS
from playsite.program.seat import SIGHT_M
from playsite.report.program_marks import marks_of
from playsite.report.vector_sheet import circle, path, text

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

    from playsite.program.layout import Layout, PlacedPiece, Route, Seat
    from playsite.program.pad_shapes import Concept, PadShape

__all__ = ["Frame", "frames_of", "outline", "plan", "sketch"]

_LOOSE_M = 3.0
_DISC = 0.72
_NAMED_RING_M = 1.6
_BENCH_M = (1.8, 0.5)
_FINE_M = 0.004  # of rounded corners, a fiftieth of a millimetre on paper


@dataclass(frozen=True)
class Frame:
    """Where metres of a plan lie on the sheet: y is up there and down here.

    Parameters
    ----------
    x, y
        Of the plan's origin on the sheet.
    scale
        Sheet units in a metre.
    turn_deg
        Of the plan, counterclockwise, about its origin.
    middle_m
        Point of the plan that lies at its origin.
    """

    x: float
    y: float
    scale: float = 1.0
    turn_deg: float = 0.0
    middle_m: tuple[float, float] = (0.0, 0.0)

    def put(self, shape: BaseGeometry) -> BaseGeometry:
        """Lay a shape of the plan on the sheet."""
        turned = affinity.rotate(shape, self.turn_deg, origin=self.middle_m)
        start = np.array(self.middle_m)
        return shapely.transform(
            turned, lambda xy: (xy - start) * [self.scale, -self.scale] + [self.x, self.y]
        )

    def inside(self, concept: Concept, part: tuple[float, float] = (0.0, 0.0)) -> Frame:
        """Frame of a layout that lies in a pad of this frame, measured from the part's middle."""
        layout = concept.layout
        return Frame(
            self.x + (part[0] + concept.x_m) * self.scale,
            self.y - (part[1] + concept.y_m) * self.scale,
            self.scale,
            concept.turn_deg,
            (layout.length_m / 2, layout.width_m / 2),
        )


def outline(shape: PadShape) -> tuple[BaseGeometry, list[tuple[float, float]]]:
    """Outer line of a pad in its own frame, and the middle of each part as it is drawn.

    Loose parts are drawn one above the other, as near as they may lie, but with air between.
    """
    middles = [(part.x_m, part.y_m) for part in shape.parts]
    if shape.is_loose:
        gap_m = min(max(shape.least_apart_m, _LOOSE_M), shape.most_apart_m)
        first, *rest = shape.parts
        middles, top = [(0.0, 0.0)], -first.width_m / 2
        for part in rest:
            middles.append((0.0, top - gap_m - part.width_m / 2))
            top -= gap_m + part.width_m
    rectangles = [
        box(x - p.length_m / 2, y - p.width_m / 2, x + p.length_m / 2, y + p.width_m / 2)
        for p, (x, y) in zip(shape.parts, middles, strict=True)
    ]
    return shapely.union_all(rectangles), middles


def frames_of(shape: PadShape, frame: Frame) -> Iterator[tuple[Concept, Frame]]:
    """Each layout of a shape with the frame it is drawn in."""
    _, middles = outline(shape)
    for number, concept in enumerate(shape.concepts):
        yield concept, frame.inside(concept, middles[number] if shape.is_loose else (0.0, 0.0))


def plan(layout: Layout, frame: Frame, numbers: Mapping[int, int]) -> Iterator[str]:
    """A layout with all that it says, inside the outer line that is drawn already.

    Parameters
    ----------
    layout
        The layout.
    frame
        Where it lies on the sheet.
    numbers
        Number of each piece in the legend, by the identity of its use zone.
    """
    yield from _ground(layout, frame)
    if layout.route is not None:
        band = layout.route.ways.buffer(layout.route.width_m / 2, cap_style="flat")
        yield path(frame.put(band.intersection(layout.pad)), "way-band")
    for piece in layout.pieces:
        yield from _piece(piece, frame, numbers[id(piece.zone)])
    if layout.route is not None:
        yield from _way(layout, layout.route, frame)
    if layout.seat is not None:
        yield from _seat(layout, layout.seat, frame)
    yield from _names(layout, frame)
    yield from _names(layout, frame)
    for piece in layout.pieces:
        yield from _tag(piece, frame, numbers[id(piece.zone)])


def sketch(layout: Layout, frame: Frame, numbers: Mapping[int, int]) -> Iterator[str]:
    """A layout in small: zones, pieces, numbers."""
    yield from _ground(layout, frame)
    for piece in layout.pieces:
        yield path(frame.put(piece.body), "piece-small", number=str(numbers[id(piece.zone)]))
    for piece in layout.pieces:
        middle = frame.put(piece.body.centroid)
        number = str(numbers[id(piece.zone)])
        yield text(middle.x, middle.y + 0.34, number, "number said", anchor="middle")


def _ground(layout: Layout, frame: Frame) -> Iterator[str]:
    yield path(frame.put(layout.surfacing), "surfacing")
    for strip in layout.strips:
        yield path(frame.put(strip), "strip")
    for piece in layout.pieces:
        yield path(frame.put(piece.use_zone.simplify(_FINE_M)), "zone")
        if not piece.exclusive.is_empty:
            yield path(frame.put(piece.exclusive.simplify(_FINE_M)), "alone")


def _piece(piece: PlacedPiece, frame: Frame, number: int) -> Iterator[str]:
    """The piece to its size, and what it is in a few lines within."""
    middle = piece.body.centroid
    yield path(frame.put(piece.body), "piece", number=str(number), title=piece.label)
    for kind, mark in marks_of(piece.zone):
        turned = affinity.rotate(mark, 90 * piece.quarter_turns, origin=(0, 0))
        yield path(frame.put(affinity.translate(turned, middle.x, middle.y)), kind)


def _tag(piece: PlacedPiece, frame: Frame, number: int) -> Iterator[str]:
    """Number on a piece that is large enough, else above it, where its own zone is."""
    west, south, east, north = piece.body.bounds
    middle = frame.put(piece.body.centroid)
    above = 0.0 if min(east - west, north - south) > 3 * _DISC else (north - south) / 2
    y = middle.y - (above * frame.scale + _DISC + 0.2 if above else 0.0)
    yield circle(middle.x, y, _DISC, "disc")
    yield text(middle.x, y + 0.36, str(number), "number", anchor="middle")


def _names(layout: Layout, frame: Frame) -> Iterator[str]:
    """Name each strip along its middle, and the age areas that it parts in the ring beside them."""
    for strip in layout.strips:
        yield _named("strip between ages", strip.centroid, frame, upright=_is_upright(strip))
    if not layout.strips or layout.ring_m < _NAMED_RING_M:
        return
    side_by_side, ring_m = _is_upright(layout.strips[0]), layout.ring_m / 2
    taken = [layout.route.ways] if layout.route else []
    taken += [layout.seat.place] if layout.seat else []
    for age in sorted({piece.ages for piece in layout.pieces}):
        own = shapely.union_all([p.square for p in layout.pieces if p.ages == age]).centroid
        places = [Point(own.x, y) for y in (layout.width_m + ring_m, -ring_m)]
        if not side_by_side:
            places = [Point(x, own.y) for x in (-ring_m, layout.length_m + ring_m)]
        # Of the two sides of the ring the one that the way and the seat leave free.
        free = max(places, key=lambda place: shapely.distance(place, shapely.union_all(taken)))
        yield _named(f"ages {age}", free, frame, upright=not side_by_side)


def _named(said: str, place: Point, frame: Frame, *, upright: bool) -> str:
    at = frame.put(place)
    x, y = (at.x + 0.3, at.y) if upright else (at.x, at.y + 0.3)
    turn = -90.0 if upright else 0.0
    return text(x, y, said, "note said", anchor="middle", turned_deg=turn)


def _is_upright(strip: Polygon) -> bool:
    west, south, east, north = strip.bounds
    return bool(north - south > east - west)


def _way(layout: Layout, route: Route, frame: Frame) -> Iterator[str]:
    """Middle lines of the accessible way, a ring where it ends, and the gap of its gate."""
    yield path(frame.put(route.ways), "way")
    ends = [shapely.get_point(line, -1) for line in shapely.get_parts(route.ways)[1:]]
    for end in ends:
        place = frame.put(end)
        yield circle(place.x, place.y, 0.28, "way-end")
    gap = layout.pad.exterior.intersection(route.gate.buffer(route.width_m / 2))
    if gap.geom_type != "LineString":  # a pad that begins at the gate
        gap = shapely.line_merge(gap)
    yield path(frame.put(gap), "gate")
    if gap.geom_type == "LineString":
        yield from (path(frame.put(_post(gap, end)), "post") for end in (0, -1))
    yield _gate_name(layout, route.gate, frame)


def _gate_name(layout: Layout, gate: Point, frame: Frame) -> str:
    """The word beside the gap, outside the pad."""
    west, south, east, north = layout.pad.bounds
    off_m = {"W": gate.x - west, "E": east - gate.x, "S": gate.y - south, "N": north - gate.y}
    side = min(off_m, key=lambda name: abs(off_m[name]))
    at = frame.put(gate)
    right, down = {"W": (-0.6, 0), "E": (1.3, 0), "S": (0, 1.4), "N": (0, -0.6)}[side]
    turn = -90.0 if side in "WE" else 0.0
    return text(at.x + right, at.y + down, "gate", "note said", anchor="middle", turned_deg=turn)


def _post(gap: LineString, end: int) -> LineString:
    """Short stroke across the outer line at an end of a gap."""
    points = shapely.get_coordinates(gap)
    along = (points[-1] - points[0]) / np.hypot(*(points[-1] - points[0]))
    across = 0.45 * np.array([-along[1], along[0]])
    return LineString([points[end] - across, points[end] + across])


def _seat(layout: Layout, seat: Seat, frame: Frame) -> Iterator[str]:
    """A bench along its strip or the outer line, how far one sees, and to which pieces."""
    reach = seat.place.buffer(SIGHT_M, quad_segs=32).exterior.intersection(layout.pad)
    yield path(frame.put(reach), "sight") if not reach.is_empty else ""
    walls = shapely.union_all([p.body for p in layout.pieces if p.zone.piece.kind not in SWINGS])
    for piece in layout.pieces:
        ray = shapely.shortest_line(seat.place, piece.body)
        if piece.label not in seat.unseen and not ray.intersects(walls.difference(piece.body)):
            yield path(frame.put(ray), "sight")
    upright = _stands_upright(layout, seat.place)
    long_m, deep_m = _BENCH_M[::-1] if upright else _BENCH_M
    x, y = seat.place.x, seat.place.y
    bench = box(x - long_m / 2, y - deep_m / 2, x + long_m / 2, y + deep_m / 2)
    yield path(frame.put(bench), "seat")
    yield _seat_name(layout, frame.put(bench), frame, upright=upright)


def _seat_name(layout: Layout, bench: BaseGeometry, frame: Frame, *, upright: bool) -> str:
    """The word below an upright bench, else on the side where there is more of the pad."""
    west, north, east, south = bench.bounds
    is_left = bench.centroid.x < frame.put(layout.pad.centroid).x
    anchor = "start" if is_left else "end"
    if upright:
        return text(west if is_left else east, south + 1.1, "seat", "note said", anchor=anchor)
    x = east + 0.3 if is_left else west - 0.3
    return text(x, (north + south) / 2 + 0.35, "seat", "note said", anchor=anchor)


def _stands_upright(layout: Layout, place: Point) -> bool:
    """Whether a bench lies along y: along its strip, else along the nearest outer line."""
    strip: Polygon | None = next((s for s in layout.strips if s.covers(place)), None)
    if strip is not None:
        return _is_upright(strip)
    west, south, east, north = layout.pad.bounds
    beside = min(place.x - west, east - place.x)
    return bool(beside < min(place.y - south, north - place.y))
