"""Signs of a garden plan: a few lines within a piece of equipment that tell what it is."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from shapely import LineString, Point, affinity, box

from playsite.program.equipment import SWINGS, TURNING

if TYPE_CHECKING:
    from collections.abc import Iterator

    from shapely.geometry.base import BaseGeometry

    from playsite.program.use_zones import UseZone

__all__ = ["marks_of"]


def marks_of(zone: UseZone) -> Iterator[tuple[str, BaseGeometry]]:
    """Lines that tell the kind, about the origin as in its use zone."""
    piece = zone.piece
    west, south, east, north = zone.body.bounds
    if piece.kind in SWINGS:
        yield from _swing_marks(zone)
    elif piece.kind in TURNING:
        yield "mark", LineString([(west, 0), (east, 0)])
        yield "mark", LineString([(0, south), (0, north)])
    elif piece.kind == "rocker":
        yield "mark", affinity.scale(Point(0, 0).buffer(0.5), east - west, north - south)
    elif piece.kind in {"climber", "overhead climber"}:
        along = np.linspace(west, east, max(3, round((east - west) / 0.6) + 1))[1:-1]
        yield from (("mark", LineString([(x, south), (x, north)])) for x in along)
    elif piece.kind in {"seesaw", "track ride"}:
        yield "mark", LineString([(west, 0), (east, 0)])
    elif piece.kind == "composite":
        third = (east - west) / 3
        yield "mark", LineString([(west + third, south), (west + third, north)])
        yield "mark", LineString([(west + third, 0), (east, 0)])
    if piece.exit:
        yield from (("mark", arrow) for arrow in _exit_arrow(zone))


def _swing_marks(zone: UseZone) -> Iterator[tuple[str, BaseGeometry]]:
    """Posts at the ends of bays; each bay's seat and the line it swings along."""
    west, _, east, _ = zone.body.bounds
    reach_m = 0.6 * zone.square.bounds[3]
    posts = np.linspace(west, east, zone.piece.bays + 1)
    for x in posts:
        yield "mark", LineString([(x, -0.6), (x, 0.6)])
    for x in (posts[:-1] + posts[1:]) / 2:
        yield "to-fro", LineString([(x, -reach_m), (x, reach_m)])
        yield "piece", box(x - 0.4, -0.2, x + 0.4, 0.2)


def _exit_arrow(zone: UseZone) -> Iterator[LineString]:
    """Arrow out of a slide's exit."""
    west, south, east, north = zone.body.bounds
    ends = {
        "left": ((west + 0.9, 0), (west - 0.7, 0)),
        "right": ((east - 0.9, 0), (east + 0.7, 0)),
        "front": ((0, south + 0.9), (0, south - 0.7)),
        "back": ((0, north - 0.9), (0, north + 0.7)),
    }
    start, end = (np.array(point, float) for point in ends[zone.piece.exit or "right"])
    along = (end - start) / np.hypot(*(end - start))
    across = np.array([-along[1], along[0]])
    yield LineString([start, end])
    yield LineString([end - 0.5 * along + 0.3 * across, end, end - 0.5 * along - 0.3 * across])
