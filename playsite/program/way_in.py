"""The accessible way in: where its middle can run, which pieces it reaches, and its lines."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra
from shapely import LineString, MultiLineString, Point

from playsite.program.layout import Route

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from playsite.program.layout import Layout, PlacedPiece

__all__ = ["way_in"]

_SLACK_M = 0.001  # a gap exactly as wide as the way is wide enough
_ROUND_M = 0.005  # by so much a disc is grown more, to be drawn with few points
_GATE_STEP_M = 1.0


def way_in(layout: Layout, width_m: float) -> Route | None:
    """Way from a gate on the pad's outer line to every piece that can be reached.

    Parameters
    ----------
    layout
        The layout.
    width_m
        Clear width.

    Returns
    -------
    Route or None
        None where no gate leads in. The middle of the way keeps half its width from every piece
        and from every zone that is a swing's or a slide exit's alone, to a millimetre.
    """
    half_m = width_m / 2 - _SLACK_M
    barred = [p.body for p in layout.pieces]
    barred += [p.exclusive for p in layout.pieces if not p.exclusive.is_empty]
    grown = shapely.union_all([_grown(shape, half_m) for shape in barred])
    room = layout.pad.buffer(-half_m, join_style="mitre").difference(grown)
    rooms = [part for part in shapely.get_parts(room) if part.area > _SLACK_M]
    gates = _gates(layout, rooms, half_m, shapely.union_all(barred))
    if not gates:
        return None
    gate, inside, room = gates[0]
    reached, unreached = _reached(layout.pieces, room, half_m)
    ends = [shapely.shortest_line(room, target) for target in reached]
    stops = [Point(line.coords[0]) for line in ends]
    ways = [LineString([gate, inside]), *_ways(room, inside, stops)]
    return Route(gate, MultiLineString(ways), width_m, unreached)


def _grown(shape: BaseGeometry, by_m: float) -> BaseGeometry:
    """Grown with square corners, which keep a little more than the distance; discs by few points."""
    if shapely.get_num_coordinates(shape) <= 5:
        return shape.buffer(by_m, join_style="mitre")
    return shape.buffer(by_m + _ROUND_M, join_style="mitre").simplify(_ROUND_M)


def _reached(
    pieces: Sequence[PlacedPiece], room: BaseGeometry, half_m: float
) -> tuple[list[BaseGeometry], tuple[str, ...]]:
    """Targets that the way touches with its edge, and labels of those that it doesn't."""
    targets, unreached = [], []
    for piece in pieces:
        # Into a swing's own zone one goes from the way's end: its edge is the goal.
        closed = piece.zone.overlaps != "stationary"
        target = piece.exclusive if closed else piece.body
        if room.distance(target) <= half_m + 4 * _ROUND_M:
            targets.append(target)
        else:
            unreached.append(piece.label)
    return targets, tuple(unreached)


def _gates(
    layout: Layout, rooms: Sequence[BaseGeometry], half_m: float, barred: BaseGeometry
) -> list[tuple[Point, Point, BaseGeometry]]:
    """Gates with the room that they lead to: first to the largest, far from what moves.

    A gate at the end of the strip between age areas comes before all others.
    """
    outer = layout.pad.exterior
    steps = np.arange(0.0, outer.length, _GATE_STEP_M)
    places = [*(_strip_ends(layout)), *shapely.line_interpolate_point(outer, steps)]
    inner = layout.pad.buffer(-half_m, join_style="mitre").exterior
    found = []
    for number, place in enumerate(places):
        inside = shapely.line_interpolate_point(inner, inner.project(place))
        if abs(inside.distance(place) - half_m) > _SLACK_M:
            continue  # at a corner
        for room in rooms:
            if room.buffer(_SLACK_M).covers(inside):
                at_strip = number < 2 * len(layout.strips)
                far_m = min(place.distance(barred), 10.0) if not barred.is_empty else 10.0
                found.append((-room.area, not at_strip, -far_m, number, place, inside, room))
    found.sort(key=lambda gate: gate[:4])
    return [(place, inside, room) for *_, place, inside, room in found]


def _strip_ends(layout: Layout) -> list[Point]:
    west, south, east, north = layout.pad.bounds
    ends = []
    for strip in layout.strips:
        x, y = strip.centroid.coords[0]
        across = strip.bounds[3] - strip.bounds[1] >= layout.width_m - _SLACK_M
        ends += [Point(x, south), Point(x, north)] if across else [Point(west, y), Point(east, y)]
    return ends


def _ways(room: BaseGeometry, start: Point, stops: Sequence[Point]) -> list[LineString]:
    """Shortest ways inside a room from one point to others, by the corners they turn at."""
    corners = shapely.get_coordinates(room)
    points = np.vstack([shapely.get_coordinates([start, *stops]), corners])
    graph = _sight(room.buffer(_SLACK_M / 2, join_style="mitre"), points)
    reach_m, before = dijkstra(graph, directed=False, indices=0, return_predecessors=True)
    ways = []
    for stop in range(1, len(stops) + 1):
        if not np.isfinite(reach_m[stop]):
            continue
        path = [stop]
        while path[-1] != 0:
            path.append(int(before[path[-1]]))
        if len(path) > 1 and reach_m[stop] > 0:
            ways.append(LineString(points[path[::-1]]))
    return ways


def _sight(room: BaseGeometry, points: NDArray[np.float64]) -> csr_array:
    """Which points see each other inside a room, with their distances."""
    first, second = np.triu_indices(len(points), 1)
    lines = shapely.linestrings(np.stack([points[first], points[second]], axis=1))
    shapely.prepare(room)
    seen = shapely.covers(room, lines)
    far_m = np.hypot(*(points[first] - points[second]).T)
    kept = seen & (far_m > 0)
    shape = (len(points), len(points))
    return csr_array((far_m[kept], (first[kept], second[kept])), shape=shape)
