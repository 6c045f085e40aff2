"""Ways outward from a pad's edge: square to its sides, in a fan about its corners."""

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from playsite.terrain.pad_pieces import Floats

FAN_DEG = 5.0


@dataclass(frozen=True)
class Rays:
    """Ways outward from a pad's edge; each stands for a strip ``width_m + fan_rad t`` across."""

    foot: Floats
    ahead: Floats
    width_m: Floats
    fan_rad: Floats

    def at(self, t: Floats) -> Floats:
        """Points at distances along the rays, (n, ..., 2)."""
        return np.moveaxis(self.foot.T[:, :, None] + self.ahead.T[:, :, None] * t, 0, -1)


def outward_rays(outline: shapely.Polygon, spacing_m: float) -> Rays:
    """Rays square to an anticlockwise outline's sides, and fans about its outer corners."""
    corners = shapely.get_coordinates(shapely.remove_repeated_points(outline))[:-1]
    sides = np.roll(corners, -1, axis=0) - corners
    turns = np.arctan2(-sides[:, 0], sides[:, 1])  # of the normals that point outward
    feet, angles, widths, fans = [], [], [], []
    for at, (corner, side, turn) in enumerate(zip(corners, sides, turns, strict=True)):
        before = turns[at - 1]
        bend = (turn - before + math.pi) % (2 * math.pi) - math.pi
        if bend > 1e-9:
            parts = math.ceil(math.degrees(bend) / FAN_DEG)
            feet.append(np.repeat(corner[None], parts, axis=0))
            angles.append(before + bend * (np.arange(parts) + 0.5) / parts)
            widths.append(np.zeros(parts))
            fans.append(np.full(parts, bend / parts))
        length_m = math.hypot(*side)
        parts = math.ceil(length_m / spacing_m)
        feet.append(corner + side * ((np.arange(parts) + 0.5) / parts)[:, None])
        angles.append(np.full(parts, turn))
        widths.append(np.full(parts, length_m / parts))
        fans.append(np.zeros(parts))
    angle = np.concatenate(angles)
    return Rays(
        foot=np.concatenate(feet),
        ahead=np.stack([np.cos(angle), np.sin(angle)], axis=1),
        width_m=np.concatenate(widths),
        fan_rad=np.concatenate(fans),
    )


def room_m(
    rays: Rays, land: BaseGeometry | None, in_the_way: BaseGeometry | None, reach_m: float
) -> Floats:
    """Way along each ray to the land's end or the first thing in the way; infinite if neither."""
    feet = shapely.points(rays.foot)
    room = np.full(len(feet), math.inf)
    lines = shapely.linestrings(
        np.stack([rays.foot, rays.foot + rays.ahead * (reach_m + 1)], axis=1)
    )
    for bound in (None if land is None else land.boundary, in_the_way):
        if bound is not None:
            # of nothing in the way the distance is NaN, which fmin leaves out
            room = np.fmin(room, shapely.distance(feet, shapely.intersection(lines, bound)))
    if land is not None:
        room[~shapely.intersects(land, feet)] = 0
    return room


def own_m(outline: shapely.Polygon, along: Floats, step_m: float) -> Floats:
    """Way along each ray up to where another part of the pad's edge is nearer."""
    rays, steps, _ = along.shape
    if outline.convex_hull.area <= outline.area * (1 + 1e-9):
        return np.full(rays, math.inf)
    away = shapely.distance(outline, shapely.points(along.reshape(-1, 2))).reshape(rays, steps)
    nearer = away < np.arange(steps) * step_m - 1e-6
    first = np.argmax(nearer, axis=1)
    return np.where(nearer.any(axis=1), (first - 0.5) * step_m, math.inf)
