"""Sight: how much of the pad is seen from streets, paths and the dwellings that face it."""

from __future__ import annotations

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

_FAR_M = 100.0
_TARGETS_M, _WAY_M, _WALL_M = 4.0, 10.0, 4.0
_OFF_WALL_M = 0.3
_WIDEST_M = 20.0


def seen_pct(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Share of the pad that somebody sees from a street, a path or a dwelling within 100 m.

    Eyes at 1.6 m each 10 m along streets and paths and each 4 m along walls, a child of 0.6 m each
    4 m on the pad, straight lines over ground, buildings and crowns in leaf. Trees that would have
    to go hide nothing. Fences and hedges are not looked at.
    """

    def of_one(row: int) -> tuple[float, float, float]:
        pad = pads.geometry.iloc[row]
        here = _Around(pad, site)
        way, targets = here.in_the_way(), here.targets()
        streets = sees(here.on_ways(), targets, way).any(axis=0)
        homes = sees(here.at_walls(), targets, way).any(axis=0)
        whole, by_streets, by_homes = (100 * x.mean() for x in (streets | homes, streets, homes))
        return float(whole), float(by_streets), float(by_homes)

    found = list(in_threads(of_one, list(range(len(pads)))))
    unsure = "" if site.has("trees") else "; what trees hide is not known"
    unsure += "" if site.has("elevation") else "; as if all ground were level"
    notes = [
        f"from streets and paths {streets:.0f} %, from dwellings {homes:.0f} %{unsure}"
        for _, streets, homes in found
    ]
    return Measured(
        pd.Series([whole for whole, _, _ in found], index=pads.index, dtype=float),
        note=pd.Series(notes, index=pads.index, dtype=object),
    )


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

    def on_ways(self) -> Points:
        """Eyes along streets and paths."""
        around = self.pad.buffer(_FAR_M)
        found = [np.empty((0, 2))]
        for kind in ("streets", "paths"):
            lines = self.site.layer(kind).geometry
            near = lines.iloc[lines.sindex.query(around, predicate="intersects")].to_numpy()
            parts = shapely.get_parts(shapely.intersection(near, around))
            parts = parts[shapely.length(parts) > 0]
            found.append(shapely.get_coordinates(shapely.segmentize(parts, _WAY_M)))
        return self._standing(np.concatenate(found), EYE_M)

    def at_walls(self) -> Points:
        """Eyes just outside the walls of dwellings: a wall that turns away hides its own."""
        homes = self.site.dwellings
        near = homes.iloc[homes.sindex.query(self.pad, predicate="dwithin", distance=_FAR_M)]
        walls = shapely.boundary(shapely.buffer(near.to_numpy(), _OFF_WALL_M, join_style="mitre"))
        xy = shapely.get_coordinates(shapely.segmentize(walls, _WALL_M))
        return self._standing(xy, EYE_M)

    def _standing(self, xy: Points, height_m: float) -> Points:
        return np.column_stack([xy, self._or_level(self.site.elevation_at(xy)) + height_m])

    def _or_level(self, elevation_m: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        return np.where(np.isnan(elevation_m), self.level_m, elevation_m)


CRITERION = Criterion(
    name="sight",
    question="Do people who pass or live there see the play area?",
    plain="share of the play area seen from streets, paths and dwellings",
    unit=Unit.PERCENT,
    needs=("streets", "buildings"),
    measure=seen_pct,
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
        Source("shares and heights of eyes", "common practice"),
    ),
    field_task="Sit where caregivers would, then look from the street and at a child's height: what hides the area?",
)
