"""Curves through points, places beside a street, and rounding to the millimetre."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.interpolate import CubicSpline
from shapely import LineString, Point, Polygon
from shapely.affinity import rotate, scale, translate

from sample_town import plan

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry


def curve(points: plan.Points) -> LineString:
    """Line through the points without corners, a vertex about every 4 m."""
    given = np.asarray(points, dtype=float)
    along_m = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(given, axis=0).T))])
    steps = np.linspace(0, along_m[-1], int(along_m[-1] / 4) + 2)
    line = LineString(CubicSpline(along_m, given)(steps))
    return shapely.set_precision(shapely.simplify(line, 0.02), 0.001)


def polygons(shape: BaseGeometry) -> list[Polygon]:
    """The polygons of a shape, whatever else it holds."""
    return [part for part in shapely.get_parts(shape) if isinstance(part, Polygon)]


def street_lines() -> dict[str, LineString]:
    """Centre lines by name; an end within 30 m of another street is set onto it."""
    lines = {street.name: curve(street.points) for street in plan.STREETS}
    frame = shapely.box(0, 0, plan.SIDE_M, plan.SIDE_M)
    for name, line in lines.items():
        others = [other for key, other in lines.items() if key != name]
        points = list(line.coords)
        for end in (0, -1):
            here = Point(points[end])
            if not shapely.box(5, 5, plan.SIDE_M - 5, plan.SIDE_M - 5).contains(here):
                continue
            nearest = min(others, key=here.distance)
            if 0 < here.distance(nearest) < 30:
                points[end] = nearest.interpolate(nearest.project(here)).coords[0]
        lines[name] = LineString(shapely.get_coordinates(LineString(points).intersection(frame)))
    return lines


def tangent(line: LineString, at_m: float) -> NDArray[np.float64]:
    """Unit vector along a line."""
    ahead, behind = line.interpolate(min(at_m + 2, line.length)), line.interpolate(max(at_m - 2, 0))
    step = np.array([ahead.x - behind.x, ahead.y - behind.y])
    return np.asarray(step / np.hypot(*step))


def frame_beside(
    line: LineString, near: tuple[float, float]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Place on the line, unit vector along it, unit vector away from it towards `near`."""
    at_m = line.project(Point(near))
    here = np.asarray(line.interpolate(at_m).coords[0])
    along = tangent(line, at_m)
    away = np.array([-along[1], along[0]])
    if np.dot(away, np.asarray(near) - here) < 0:
        along, away = -along, -away
    return here, along, away


def parcel_outline(candidate: plan.Candidate, lines: Mapping[str, LineString]) -> Polygon:
    """Outline of a candidate at its exact size, moved just clear of its street."""
    func = {street.name: street.func for street in plan.STREETS}[candidate.street]
    row_m = plan.RIGHT_OF_WAY_HALF_M[func]
    line = lines[candidate.street]
    here, along, away = frame_beside(line, candidate.near)
    half = candidate.front_m / 2
    corners = [(-half, 0), (half, 0), (half, candidate.depth_m), (-half, candidate.depth_m)]
    if candidate.arm_m is not None:
        arm = candidate.arm_m
        corners[2:3] = [(half, arm), (arm - half, arm), (arm - half, candidate.depth_m)]
    shape = Polygon([here + along * u + away * v for u, v in corners])
    if candidate.turn_deg is not None:
        shape = _turned(shape, candidate, candidate.turn_deg)
    short_m = row_m - shape.distance(line)
    move_m = next(
        step
        for step in np.arange(short_m, short_m + 40, 0.1)
        if translate(shape, *(away * step)).distance(line) >= row_m
    )
    return translate(shape, *(away * move_m))


def _turned(shape: Polygon, candidate: plan.Candidate, turn_deg: float) -> Polygon:
    """The same rectangle with its long side at `turn_deg` to east, whatever its street does."""
    upright = shapely.box(0, 0, candidate.front_m, candidate.depth_m)
    middle = shape.centroid
    moved = translate(upright, middle.x - candidate.front_m / 2, middle.y - candidate.depth_m / 2)
    return rotate(moved, turn_deg)


def pond_outline(pond: plan.Pond) -> Polygon:
    """A pond's shore: an egg, rounder at one end, convex."""
    turn = np.linspace(0, 2 * np.pi, 64, endpoint=False)
    radius = 1 + 0.10 * np.cos(2 * turn + 0.7) + 0.03 * np.cos(3 * turn + 2.1)
    round_one = Polygon(np.column_stack([radius * np.cos(turn), radius * np.sin(turn)]))
    sized = rotate(scale(round_one, *pond.radii_m, origin=(0, 0)), pond.turn_deg, origin=(0, 0))
    return translate(sized, *pond.centre)
