"""Sight: how much of the pad lies under the eyes of streets, paths and dwellings that face it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import shapely

from playsite.criteria._contract import Criterion, Measured, Source
from playsite.criteria._curve import Curve
from playsite.engine import in_threads
from playsite.sun.casters import CROWN_FROM, some, without
from playsite.sun.pad_shade import EXCAVATION_M
from playsite.terrain.sight import in_the_way, sees
from playsite.units import Unit

if TYPE_CHECKING:
    import geopandas as gpd
    import numpy.typing as npt
    from shapely.geometry.base import BaseGeometry

    from playsite.site import Site
    from playsite.terrain.sight import InTheWay

    Points = npt.NDArray[np.float64]

__all__ = ["CRITERION"]

EYE_M, CHILD_M = 1.6, 0.6
"""Eyes of a grown person, and a child's middle: common practice, no source."""

_NEAR_M, _FAR_M = 25.0, 100.0
"""Faces are told up to the first, people at all up to the second (Gehl, *Life Between Buildings*)."""

FULL_WAY_M, FULL_HOMES = 200.0, 5.0
"""Street or path from which a place is seen, and dwellings that see it, for it to count in full: a
walker has it in sight for two and a half minutes; five households look out on it."""

_TARGETS_M, _WAY_M, _WALL_M = 4.0, 10.0, 4.0
_OFF_WALL_M = 0.3
_WIDEST_M = 20.0
_SEAT_EYE_M, _SEATS_M, _SEAT_SEES_M = 1.2, 4.0, 25.0


@dataclass(frozen=True)
class _Seen:
    """What was found at one pad: shares in percent, and how many dwellings see some of it."""

    watched_pct: float
    any_pct: float
    ways_pct: float
    homes: int
    areas_pct: tuple[float, ...]


def watched_pct(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Share of the pad under the eyes of streets, paths and dwellings within 100 m.

    One half is passers-by: a place on the pad counts in full where a child of 0.6 m is seen along
    200 m of streets and paths. The other half is those who live there: in full where five dwellings
    see it. Less counts in part; eyes farther than 25 m count less and less, none beyond 100 m. More
    eyes never lower it. Eyes at 1.6 m each 10 m along streets and paths and each
    4 m along walls, straight lines over ground, buildings and crowns in leaf. Trees that would have
    to go hide nothing. Fences and hedges are not looked at.
    """

    def of_one(row: int) -> _Seen:
        return _seen(_Around(pads.geometry.iloc[row], site))

    found: list[_Seen] = list(in_threads(of_one, list(range(len(pads)))))
    unsure = "" if site.has("trees") else "; what trees hide is not known"
    unsure += "" if site.has("elevation") else "; as if all ground were level"
    return Measured(
        pd.Series([each.watched_pct for each in found], index=pads.index, dtype=float),
        note=pd.Series([_told(each) + unsure for each in found], index=pads.index, dtype=object),
    )


def _told(seen: _Seen) -> str:
    said = (
        f"somebody sees {seen.any_pct:.0f} % of it; from streets and paths {seen.ways_pct:.0f} %, "
        f"dwellings that see some of it: {seen.homes}"
    )
    if len(seen.areas_pct) > 1:
        shares = " and ".join(f"{share:.0f} %" for share in seen.areas_pct)
        said += f"; from the best seat on its edge {shares} of its areas within 25 m"
    return said


def _seen(here: _Around) -> _Seen:
    way, targets = here.in_the_way(), here.targets()
    if not len(targets):
        return _Seen(np.nan, np.nan, np.nan, 0, ())
    eyes, metres = here.on_ways()
    walls, owner = here.at_walls()
    by_way, by_wall = (sees(each, targets, way, within_m=_FAR_M) for each in (eyes, walls))
    homes = np.zeros((int(owner.max(initial=-1)) + 1, len(targets)))
    # Of a dwelling the wall that sees a place best.
    np.maximum.at(homes, owner, by_wall * _sharpness(walls, targets))
    passing = metres @ (by_way * _sharpness(eyes, targets)) / FULL_WAY_M
    living = homes.sum(axis=0) / FULL_HOMES
    watched = (np.minimum(passing, 1.0) + np.minimum(living, 1.0)) / 2
    by_ways, by_homes = by_way.any(axis=0), by_wall.any(axis=0)
    return _Seen(
        watched_pct=100 * float(watched.mean()),
        any_pct=100 * float((by_ways | by_homes).mean()),
        ways_pct=100 * float(by_ways.mean()),
        homes=int((homes > 0).any(axis=1).sum()),
        areas_pct=here.from_best_seat_pct(way, targets),
    )


def _sharpness(eyes: Points, targets: Points) -> npt.NDArray[np.float64]:
    """How much a look counts by its length: 1 where faces are told, 0 where people no longer are."""
    off = eyes[:, None, :2] - targets[None, :, :2]
    share = (_FAR_M - np.hypot(off[..., 0], off[..., 1])) / (_FAR_M - _NEAR_M)
    return np.asarray(np.clip(share, 0.0, 1.0))


class _Around:
    """A pad once it is built, those who look at it, and what stands in their way.

    What has no known ground stands level with the pad.
    """

    def __init__(self, pad: BaseGeometry, site: Site) -> None:
        self.pad, self.site = pad, site
        self.level_m = np.nan_to_num(site.level_of(pad))

    def in_the_way(self) -> InTheWay:
        """Ground, buildings and crowns, without trees that would have to go."""
        near, walls = self.site.bodies.near(self.pad.buffer(_FAR_M + _WIDEST_M))
        dug = self.pad.buffer(EXCAVATION_M)
        goes = np.asarray(shapely.contains_xy(dug, near.xy), dtype=bool)
        crowns, walls = some(near, near.is_sized & ~goes), without(walls, dug)
        foot_m, wall_foot_m = self._or_level(crowns.ground_m), self._or_level(walls.ground_m)
        middle_m = foot_m + crowns.height_m * (1 + CROWN_FROM) / 2
        half_m = crowns.height_m * (1 - CROWN_FROM) / 2
        ground = self.site.ground
        return in_the_way(
            np.column_stack([crowns.xy, middle_m, crowns.radius_m, half_m]),
            walls.outline,
            wall_foot_m + walls.bottom_m,
            wall_foot_m + walls.height_m,
            ground=None if ground is None else ground.elevation,
            transform=None if ground is None else ground.transform,
        )

    def targets(self) -> Points:
        """Children all over the pad."""
        west, south, east, north = self.pad.bounds
        half = _TARGETS_M / 2
        x, y = np.meshgrid(
            np.arange(west + half, east, _TARGETS_M), np.arange(south + half, north, _TARGETS_M)
        )
        xy = np.column_stack([x.ravel(), y.ravel()])
        return self._standing(xy[shapely.contains_xy(self.pad, xy)], CHILD_M)

    def on_ways(self) -> tuple[Points, npt.NDArray[np.float64]]:
        """Eyes along streets and paths, and the metres that each stands for."""
        around = self.pad.buffer(_FAR_M)
        found = [np.empty(0, dtype=object)]
        for kind in ("streets", "paths"):
            lines = self.site.layer(kind).geometry
            near = lines.iloc[lines.sindex.query(around, predicate="intersects")].to_numpy()
            # a way drawn as an area is walked along its edge
            is_area = shapely.get_dimensions(near) == 2
            near = np.where(is_area, shapely.boundary(near), near)
            found.append(shapely.get_parts(shapely.intersection(near, around)))
        parts = np.concatenate(found)
        parts = parts[shapely.get_dimensions(parts) == 1]
        long_m = shapely.length(parts)
        counts = np.ceil(long_m / _WAY_M).astype(int)
        step_m = np.repeat(long_m / np.maximum(counts, 1), counts)
        number = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)
        points = shapely.line_interpolate_point(np.repeat(parts, counts), (number + 0.5) * step_m)
        return self._standing(shapely.get_coordinates(points), EYE_M), step_m

    def at_walls(self) -> tuple[Points, npt.NDArray[np.intp]]:
        """Eyes just outside the walls of dwellings, and whose: a wall that turns away hides its own."""
        homes = self.site.dwellings
        near = homes.iloc[homes.sindex.query(self.pad, predicate="dwithin", distance=_FAR_M)]
        walls = shapely.boundary(shapely.buffer(near.to_numpy(), _OFF_WALL_M, join_style="mitre"))
        xy, owner = shapely.get_coordinates(shapely.segmentize(walls, _WALL_M), return_index=True)
        return self._standing(xy, EYE_M), owner

    def from_best_seat_pct(self, way: InTheWay, targets: Points) -> tuple[float, ...]:
        """Share of each of several areas that is seen from the seat which sees the worst one best."""
        areas = shapely.get_parts(self.pad)
        if len(areas) == 1:
            return ()
        edge = shapely.segmentize(shapely.boundary(areas), _SEATS_M)
        seats = self._standing(shapely.get_coordinates(edge), _SEAT_EYE_M)
        seen = sees(seats, targets, way, within_m=_SEAT_SEES_M)
        inside = [shapely.contains_xy(area, targets[:, :2]) for area in areas]
        shares = np.array(
            [seen[:, own].mean(axis=1) if own.any() else 0 * seen[:, 0] for own in inside]
        )
        return tuple((100 * shares[:, shares.min(axis=0).argmax()]).tolist())

    def _standing(self, xy: Points, height_m: float) -> Points:
        return np.column_stack([xy, self._or_level(self.site.elevation_at(xy)) + height_m])

    def _or_level(self, elevation_m: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        return np.where(np.isnan(elevation_m), self.level_m, elevation_m)


CRITERION = Criterion(
    name="sight",
    question="Do people who pass or live there see the play area?",
    plain="share of the play area under the eyes of streets, paths and dwellings",
    unit=Unit.PERCENT,
    needs=("streets", "buildings"),
    measure=watched_pct,
    curve=Curve.rising(
        poor=20.0,
        acceptable=50.0,
        ideal=80.0,
        unit=Unit.PERCENT,
        source="common practice, no source",
    ),
    weight=4,
    plausible=(0, 100),
    group="Eyes and neighbors",
    # Planting and fences change who sees in; the ground stays.
    cost="best",
    sources=(
        Source("UFC 3-210-04: easy observation; UFC 4-740-14: high natural surveillance"),
        Source("Gehl, Life Between Buildings: faces to 25 m, people to 100 m", "from memory"),
        Source(
            "halves, 200 m of way, five dwellings, shares and heights of eyes", "common practice"
        ),
    ),
    field_task="Sit where caregivers would, then look from the street and at a child's height: what hides the area?",
)
