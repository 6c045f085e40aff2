"""Banks from a levelled pad's edge to the ground around it, and walls where there is no room."""

import itertools
import math
from dataclasses import dataclass

import numpy as np
import shapely
from affine import Affine
from numba import njit
from numpy.typing import ArrayLike, NDArray
from shapely.geometry.base import BaseGeometry

from playsite.terrain.grid import cell_size_m, checked_elevation
from playsite.terrain.levelling import Finish
from playsite.terrain.outward import Rays, outward_rays, own_m, room_m
from playsite.terrain.pad_pieces import Floats, Rectangle, heights_m, pad_polygon

RUN_PER_RISE = 4.0
"""Banks that a mower can work on: 4 along to 1 up (common practice, no source)."""

STEEPEST_RUN_PER_RISE = 3.0
"""Steepest bank of grass: 3 along to 1 up (common practice, no source)."""

REACH_M = 30.0
LONGEST_STEP_M = 0.5

LEAST_WALL_M = 0.15
"""A lower step is a curb and no wall (common practice, no source)."""

PERMIT_M = 1.2
"""Walls higher than about 4 ft commonly need a permit (common practice, no source)."""

MEETS, NO_ROOM, UNKNOWN = 0.0, 1.0, 2.0


@dataclass(frozen=True)
class Wall:
    """A retaining wall: where a bank runs out of room.

    ``height_m`` is the greatest, ``face_m2`` the area to be built; ``kind`` says whether it
    holds a "fill" up or a "cut" back.
    """

    kind: str
    line: shapely.LineString
    length_m: float
    height_m: float
    face_m2: float

    @property
    def needs_permit(self) -> bool:
        """Whether it is so high that a permit is commonly asked for."""
        return self.height_m > PERMIT_M


@dataclass(frozen=True)
class TieIn:
    """Banks around a pad.

    Attributes
    ----------
    footprint
        Pad and banks together, for drawing; within a per cent or two of the areas.
    cut_shape, fill_shape
        Banks alone, those that are dug and those that are placed, for drawing too.
    area_m2
        Area of the banks alone, m2.
    cut_m3, fill_m3
        Earth of the banks, m3 in its bed and m3 compacted.
    longest_run_m
        Greatest width of a bank, m.
    steeper_m
        Length of the pad's edge along which the steepest bank had to be taken, m.
    walls
        Retaining walls.
    unknown_m
        Length of the pad's edge whose bank runs into unknown ground, m: all figures lack it.
    """

    footprint: BaseGeometry
    cut_shape: BaseGeometry
    fill_shape: BaseGeometry
    area_m2: float
    cut_m3: float
    fill_m3: float
    longest_run_m: float
    steeper_m: float
    walls: tuple[Wall, ...]
    unknown_m: float


def tie_in(  # noqa: PLR0913 - options by name
    elevation: ArrayLike,
    transform: Affine,
    pad: shapely.Polygon | Rectangle,
    finish: Finish,
    *,
    land: BaseGeometry | None = None,
    in_the_way: BaseGeometry | None = None,
    run_per_rise: float = RUN_PER_RISE,
    steepest_run_per_rise: float = STEEPEST_RUN_PER_RISE,
    reach_m: float = REACH_M,
) -> TieIn:
    """Banks from a pad's finished edge out to the ground, corners included.

    Parameters
    ----------
    elevation
        2-D array, m; NaN where missing.
    transform
        From column and row to easting and northing, m; north-up.
    pad
        Polygon or rectangle, as for :func:`playsite.terrain.levelling.level_pad`.
    finish
        The finished plane.
    land
        Land that may be dug; None for no bound.
    in_the_way
        Shapes that a bank must end at: trees to keep, pipes, buildings.
    run_per_rise
        Bank, m along for each m up.
    steepest_run_per_rise
        Bank to take where the flatter one has no room.
    reach_m
        A bank longer than this has no room either, m.

    Raises
    ------
    ValueError
        If the banks or the reach make no sense, or the raster is rotated.

    Notes
    -----
    From points along the edge, square to it, and in a fan about each corner, the bank is walked
    until it meets the ground. On level ground a height e asks for a run of 4 e; on a slope s for
    e / (1/4 - s), and e^2 / (2 (1/4 - s)) of earth a metre. About a corner the bank is a cone.
    In an inner corner each strip ends where the other side is nearer.
    """
    ground = checked_elevation(elevation)
    if not (0 < steepest_run_per_rise <= run_per_rise < math.inf and 0 < reach_m < math.inf):
        raise ValueError(
            "Banks must be above 0 m along for each m up, the steepest no flatter than the other, "
            f"and the reach above 0 m, but they are {run_per_rise}, {steepest_run_per_rise} and "
            f"{reach_m}."
        )
    outline = pad_polygon(pad)
    step_m = min(cell_size_m(transform) / 2, LONGEST_STEP_M)
    rays = outward_rays(outline, step_m)
    along = rays.at(step_m * np.arange(math.ceil(reach_m / step_m) + 1.0))
    heights = heights_m(ground, transform, along[..., 0], along[..., 1])
    edge = finish.at_m(rays.foot[:, 0], rays.foot[:, 1])
    room = np.minimum(room_m(rays, land, in_the_way, reach_m), reach_m)
    own = own_m(outline, along, step_m)
    walked = np.empty((len(edge), 5))
    bound = np.minimum(room, own)
    strips = np.stack([edge, bound, rays.width_m, rays.fan_rad], axis=1)
    _walk(heights, strips, step_m, 1 / run_per_rise, np.ones(len(edge), np.bool_), walked)
    steeper = (walked[:, 4] == NO_ROOM) & (own >= room)
    _walk(heights, strips, step_m, 1 / steepest_run_per_rise, steeper, walked)
    walled = (walked[:, 4] == NO_ROOM) & (own >= room) & (walked[:, 1] >= LEAST_WALL_M)
    return _result(outline, rays, walked, edge > heights[:, 0], steeper, walled)


def _result(
    outline: shapely.Polygon,
    rays: Rays,
    walked: Floats,
    fills: NDArray[np.bool_],
    steeper: NDArray[np.bool_],
    walled: NDArray[np.bool_],
) -> TieIn:
    run, _, volume, area, status = walked.T
    ends = shapely.make_valid(shapely.Polygon(rays.at(run[:, None])[:, 0]))
    return TieIn(
        footprint=shapely.union(outline, ends),
        cut_shape=_banks(rays, run, ~fills),
        fill_shape=_banks(rays, run, fills),
        area_m2=float(area.sum()),
        cut_m3=float(volume[~fills].sum()),
        fill_m3=float(volume[fills].sum()),
        longest_run_m=float(run.max()),
        steeper_m=float(rays.width_m[steeper].sum()),
        walls=_walls(rays, walked, fills, walled),
        unknown_m=float(rays.width_m[status == UNKNOWN].sum()),
    )


def _banks(rays: Rays, run: Floats, chosen: NDArray[np.bool_]) -> BaseGeometry:
    """Outline of the chosen rays' banks, neighbours joined."""
    chosen = chosen & (run > 0)
    # start at a change, so that a bank over the first ray is not cut in two
    order = np.roll(np.arange(len(run)), -int(np.argmax(chosen != np.roll(chosen, 1))))
    ends, shapes = rays.at(run[:, None])[:, 0], []
    for is_chosen, members in itertools.groupby(order, key=lambda ray: bool(chosen[ray])):
        at = np.array(list(members))
        if is_chosen and len(at) > 1:
            ring = np.concatenate([rays.foot[at], ends[at[::-1]]])
            shapes.append(shapely.make_valid(shapely.Polygon(ring)))
    return shapely.union_all(shapes)


def _walls(
    rays: Rays, walked: Floats, fills: NDArray[np.bool_], walled: NDArray[np.bool_]
) -> tuple[Wall, ...]:
    """Join neighbouring rays that end in a wall of one kind."""
    kinds = np.where(walled, np.where(fills, 1, 2), 0)
    # start at a change, so that a wall over the first ray is not cut in two
    first = int(np.argmax(kinds != np.roll(kinds, 1)))
    order = np.roll(np.arange(len(kinds)), -first)
    run, height = walked[:, 0], walked[:, 1]
    across = rays.width_m + rays.fan_rad * run
    beside = np.stack([-rays.ahead[:, 1], rays.ahead[:, 0]], axis=1) * across[:, None] / 2
    end = rays.foot + rays.ahead * run[:, None]
    walls = []
    for kind, members in itertools.groupby(order, key=lambda ray: int(kinds[ray])):
        at = np.array(list(members))
        if kind == 0:
            continue
        walls.append(
            Wall(
                kind="fill" if kind == 1 else "cut",
                line=shapely.LineString(
                    np.stack([end[at] - beside[at], end[at] + beside[at]], 1).reshape(-1, 2)
                ),
                length_m=float(across[at].sum()),
                height_m=float(height[at].max()),
                face_m2=float((across * height)[at].sum()),
            )
        )
    return tuple(walls)


@njit(cache=True, nogil=True)
def _walk(
    heights: Floats,
    strips: Floats,
    step: float,
    rise_per_run: float,
    chosen: NDArray[np.bool_],
    walked: Floats,
) -> None:
    """Walk the chosen rays: run, height left, volume, area and how it ended.

    A strip has the height of the pad's edge, its bound, its width and its fan.
    """
    for ray in range(len(strips)):
        if not chosen[ray]:
            continue
        edge, bound, width, fan = strips[ray]
        up = 1.0 if edge > heights[ray, 0] else -1.0
        t, gap = 0.0, up * (edge - heights[ray, 0])
        volume, status = 0.0, UNKNOWN if math.isnan(gap) else MEETS
        at = 0
        while gap > 0:
            if t >= bound or at == heights.shape[1] - 1:
                status = NO_ROOM
                break
            at += 1
            part = min((bound - t) / step, 1.0)
            height = heights[ray, at - 1] + part * (heights[ray, at] - heights[ray, at - 1])
            further = t + part * step
            left = up * (edge - height) - rise_per_run * further
            if math.isnan(left):
                status = UNKNOWN
                break
            if left < 0:
                further = t + (further - t) * gap / (gap - left)
                left = 0.0
            near, far = width + fan * t, width + fan * further
            # the product of two straight lines, summed exactly
            both = 2 * gap * near + 2 * left * far + gap * far + left * near
            volume += (further - t) * both / 6
            t, gap = further, left
        area = width * t + fan * t * t / 2
        walked[ray] = t, gap, volume, area, status
