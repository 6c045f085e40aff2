"""A section through a pad for a drawing: the ground, and the finish with its banks."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from affine import Affine
from numpy.typing import ArrayLike, NDArray
from shapely.geometry.base import BaseGeometry

from playsite.terrain.grid import cell_size_m, checked_elevation
from playsite.terrain.levelling import Finish
from playsite.terrain.pad_pieces import Floats, Rectangle, heights_m, pad_polygon
from playsite.terrain.tie_in import RUN_PER_RISE, STEEPEST_RUN_PER_RISE


@dataclass(frozen=True)
class Section:
    """A section, one entry for each point along it.

    Attributes
    ----------
    distance_m
        Distance from the pad's centre of gravity, m; negative on the upper side.
    ground_m
        Height of the ground, m; NaN where not known.
    finish_m
        Height of the pad and, beyond it, of its banks, m; NaN where the ground stays as it is. A
        bank whose last height is not that of the ground ends at a wall.
    """

    distance_m: Floats
    ground_m: Floats
    finish_m: Floats


def section(  # noqa: PLR0913 - options by name
    elevation: ArrayLike,
    transform: Affine,
    pad: shapely.Polygon | Rectangle,
    finish: Finish,
    *,
    direction_deg: float | None = None,
    footprint: BaseGeometry | None = None,
    run_per_rise: float = RUN_PER_RISE,
    steepest_run_per_rise: float = STEEPEST_RUN_PER_RISE,
    beyond_m: float = 10.0,
) -> Section:
    """Section through a pad's centre of gravity.

    Parameters
    ----------
    elevation, transform, pad, finish
        As for :func:`playsite.terrain.tie_in.tie_in`.
    direction_deg
        Direction in which it is drawn, degrees clockwise from north; None for the finish's fall.
    footprint
        Pad and banks as the tie-in gives them: a bank that has not met the ground where they end
        ends there too, at a wall; None for no bound.
    run_per_rise, steepest_run_per_rise
        Banks, m along for each m up, and the bank to take where the flatter one has no room.
    beyond_m
        How far to draw on each side of the pad, m.
    """
    ground, outline = checked_elevation(elevation), pad_polygon(pad)
    turn = math.radians(finish.direction_deg if direction_deg is None else direction_deg)
    ahead = np.array([math.sin(turn), math.cos(turn)])
    centre = shapely.get_coordinates(outline.centroid)[0]
    far = outline.length * ahead
    crossing = shapely.intersection(outline, shapely.LineString([centre - far, centre + far]))
    from_centre_m = (shapely.get_coordinates(crossing) - centre) @ ahead
    first_m, last_m = from_centre_m.min(), from_centre_m.max()
    step_m = min(cell_size_m(transform) / 2, 0.25)
    beyond = step_m * np.arange(1.0, math.ceil(beyond_m / step_m) + 1)
    inside = np.linspace(first_m, last_m, math.ceil((last_m - first_m) / step_m) + 1)
    distance_m = np.concatenate([first_m - beyond[::-1], inside, last_m + beyond])
    points = centre + distance_m[:, None] * ahead
    ground_m = heights_m(ground, transform, *points.T)
    finish_m = finish.at_m(*points.T)
    room = np.ones(len(points), np.bool_)
    if footprint is not None:
        room = shapely.intersects(footprint.buffer(step_m), shapely.points(points))
    first, last = len(beyond), len(beyond) + len(inside) - 1
    for bank in (slice(first, None, -1), slice(last, None, 1)):
        edge_m, away_m = _edge(outline, finish, points[bank])
        rises = [away_m / run for run in (run_per_rise, steepest_run_per_rise)]
        finish_m[bank] = _bank(ground_m[bank], edge_m, rises, room[bank])
    return Section(distance_m, ground_m, finish_m)


def _edge(outline: shapely.Polygon, finish: Finish, points: Floats) -> tuple[Floats, Floats]:
    """Height of the pad's edge where it is nearest to each point, and how far off that is, m."""
    edge, at = outline.exterior, shapely.points(points)
    feet = shapely.get_coordinates(
        shapely.line_interpolate_point(edge, shapely.line_locate_point(edge, at))
    )
    return finish.at_m(*feet.T), shapely.distance(edge, at)


def _bank(
    ground_m: Floats, edge_m: Floats, rises_m: Sequence[Floats], room: NDArray[np.bool_]
) -> Floats:
    """Bank from a pad's edge outward until it meets the ground, or ends where there is no room."""
    up = 1.0 if edge_m[0] > ground_m[0] else -1.0
    for rise_m in rises_m:
        bank_m = edge_m - up * rise_m
        # unknown ground ends the bank too
        going = np.logical_and.accumulate(up * (bank_m - ground_m) > 0)
        has_room = bool(room[going].all())
        if has_room:
            break
    going &= np.logical_and.accumulate(room)
    bank_m[~going] = np.nan
    bank_m[0] = edge_m[0]
    met = int(going.sum())
    if has_room and 0 < met < len(bank_m):
        bank_m[met] = ground_m[met]
    return bank_m
