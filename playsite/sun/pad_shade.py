"""The shade of one pad through the warm months, without the trees that building it would take."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from playsite.sun.casters import Crowns, some, without
from playsite.sun.seasons import HOURS, hour_weights
from playsite.sun.shade import LOWEST_DEG, shaded_pct, shadows_on
from playsite.sun.surface_shade import cleared, share_pct

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from playsite.sun.casters import Bodies, Walls
    from playsite.sun.position import Suns
    from playsite.sun.surface_shade import Tops

__all__ = [
    "EXCAVATION_M",
    "FAR_M",
    "SEATS_M",
    "PadShade",
    "Scene",
    "pad_shade",
    "scene_of",
    "side_strips",
]

EXCAVATION_M = 3.0
"""Ground beside the pad that is dug or filled too: 10 ft, common practice, no source."""

SEATS_M = 3.0
"""Depth of the strip along a side where seats may stand: 8 to 10 ft, common practice."""

FAR_M = 120.0
"""How far round a pad a surface model is looked at: trees of 40 m at the lowest sun of these hours."""

_HIGHER_GROUND_M = 15.0
_WIDEST_M = 15.0


@dataclass(frozen=True)
class Scene:
    """A pad and what may cast shade on it, once it is built.

    Parameters
    ----------
    pad
        Its outline.
    level_m
        Elevation of the finished pad, taken as level at the mean of its ground; NaN unknown.
    crowns, walls
        What stays.
    taken
        Trees that stand on the pad or its excavation.
    tops, tops_before
        Surface model round it once it is built and as it is now; None: crowns and walls count.
    """

    pad: BaseGeometry
    level_m: float
    crowns: Crowns
    walls: Walls
    taken: Crowns
    tops: Tops | None = None
    tops_before: Tops | None = None


@dataclass(frozen=True)
class PadShade:
    """Shade of a pad in the warm months, 10 to 16 o'clock by the sun.

    Parameters
    ----------
    mean_pct
        Mean share of the pad in shade; NaN where the sun is always too low to tell.
    low_pct, high_pct
        The same with estimated heights lower and taller, and trees of unknown size as usual ones.
    by_sun_pct
        (6, 7): month by hour.
    sides_pct
        (4,) mean share of the strips for seats, one along each side of the box round the pad.
    sides_at
        (4,) direction of each from the pad's middle, degrees clockwise from the grid's north.
    with_taken_pct
        Mean share with the trees that would go.
    """

    mean_pct: float
    low_pct: float
    high_pct: float
    by_sun_pct: NDArray[np.float64]
    sides_pct: NDArray[np.float64]
    sides_at: NDArray[np.float64]
    with_taken_pct: float


def scene_of(
    pad: BaseGeometry,
    bodies: Bodies,
    suns: Suns,
    *,
    level_m: float,
    around_m: float = 0.0,
    tops: Tops | None = None,
) -> Scene:
    """What may cast shade on a pad, or so far around it, under some suns.

    Trees that stand on the pad or its excavation are taken out. A surface model, where there is
    one, counts in place of all crowns and walls: nothing casts its shade twice.
    """
    lowest = suns.altitude_deg[suns.altitude_deg >= LOWEST_DEG].min(initial=90.0)
    # Heights that are guessed may be half as tall again.
    reach_m = (1.5 * bodies.tallest_m + _HIGHER_GROUND_M) / np.tan(np.radians(lowest)) + _WIDEST_M
    near, stays = bodies.near(pad.buffer(reach_m + around_m))
    dug = pad.buffer(EXCAVATION_M)
    goes = np.asarray(shapely.contains_xy(dug, near.xy), dtype=bool)
    taken = some(near, goes)
    after = None if tops is None else cleared(tops, dug, taken)
    return Scene(pad, level_m, some(near, ~goes), without(stays, dug), taken, after, tops)


def pad_shade(scene: Scene, suns: Suns) -> PadShade:
    """Shade of a pad under the suns of `playsite.sun.seasons.season_suns`."""
    if scene.tops is not None:
        return _from_tops(scene, suns)
    sized = some(scene.crowns, scene.crowns.is_sized)
    strips, sides_at = side_strips(scene.pad)
    shares = _shares(scene, [scene.pad, *strips], sized, scene.walls, suns)
    mean = _mean(shares)
    low = high = with_taken = float(mean[0])
    is_sure = not (sized.off.any() or scene.walls.off.any() or len(sized.xy) < len(scene.crowns.xy))
    if not is_sure:
        lower, taller = _off(sized, scene.walls, -1), _off(scene.crowns, scene.walls, 1)
        ends = [_mean(_shares(scene, [scene.pad], *each, suns))[0] for each in (lower, taller)]
        low, high = min(low, *ends), max(high, *ends)
    if len(scene.taken.xy):
        both = _together(sized, some(scene.taken, scene.taken.is_sized))
        with_taken = float(_mean(_shares(scene, [scene.pad], both, scene.walls, suns))[0])
    by_sun = shares[:, 0].reshape(-1, len(HOURS))
    return PadShade(float(mean[0]), low, high, by_sun, mean[1:], sides_at, with_taken)


def _from_tops(scene: Scene, suns: Suns) -> PadShade:
    """The same from a surface model: nothing in it is estimated."""
    strips, sides_at = side_strips(scene.pad)
    after, before = (
        share_pct([scene.pad, *strips], tops, suns, level_m=scene.level_m)
        for tops in (scene.tops, scene.tops_before)
        if tops is not None
    )
    mean = _mean(after)
    whole, by_sun = float(mean[0]), after[:, 0].reshape(-1, len(HOURS))
    return PadShade(whole, whole, whole, by_sun, mean[1:], sides_at, float(_mean(before)[0]))


def _shares(
    scene: Scene, parts: list[BaseGeometry], crowns: Crowns, walls: Walls, suns: Suns
) -> NDArray[np.float64]:
    return shaded_pct(parts, shadows_on(scene.pad, crowns, walls, suns, level_m=scene.level_m))


def _mean(shares: NDArray[np.float64]) -> NDArray[np.float64]:
    """Mean over the suns that are high enough; (m, k) to (k,)."""
    weights = np.where(np.isnan(shares[:, 0]), 0.0, hour_weights())
    if not weights.any():
        return np.full(shares.shape[1], np.nan)
    mean: NDArray[np.float64] = weights @ np.nan_to_num(shares) / weights.sum()
    return mean


def _off(crowns: Crowns, walls: Walls, way: int) -> tuple[Crowns, Walls]:
    """The same bodies with every estimated height off as far as it may be, lower or taller."""
    crown_m, wall_m = (each.height_m * (1 + way * each.off) for each in (crowns, walls))
    return replace(crowns, height_m=crown_m), replace(walls, height_m=wall_m)


def _together(first: Crowns, second: Crowns) -> Crowns:
    columns = [
        np.concatenate([getattr(first, name), getattr(second, name)])
        for name in Crowns.__dataclass_fields__
    ]
    return Crowns(*columns)


def side_strips(pad: BaseGeometry) -> tuple[NDArray[np.object_], NDArray[np.float64]]:
    """Strips inside the pad along the four sides of the box round it, and where they lie."""
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(pad))
    sides = shapely.linestrings(np.stack([corners[:-1], corners[1:]], axis=1))
    strips = shapely.intersection(shapely.buffer(sides, SEATS_M, cap_style="flat"), pad)
    away = shapely.get_coordinates(shapely.centroid(sides)) - corners[:-1].mean(axis=0)
    return strips, np.degrees(np.arctan2(away[:, 0], away[:, 1])) % 360
