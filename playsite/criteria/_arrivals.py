"""Where people arrive on foot or on wheels, and which pads free ground joins to there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from playsite.criteria._standing import blocks_of_walks, blocks_that_stay
from playsite.layers.streets import SIDEWALK
from playsite.routes.accessible_way import CLEAR_M
from playsite.routes.closed_off import free_ground
from playsite.terrain.cliffs import cliffs

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from playsite.site import Site

__all__ = ["REACH_M", "WALL_M", "WORDS", "Arrivals", "arrivals", "joined"]

REACH_M = 200.0
"""Longest new way that is looked for: common practice, no source."""

WALL_M = 3.0
"""Step in the ground that no way is built over: twice a retaining wall of 5 ft, common practice."""

_WALK_HALF_M = 0.75

WORDS = {
    "path": "a path",
    "sidewalk": "a sidewalk",
    "parking": "the car park",
    "stop": "a stop",
}


@dataclass(frozen=True)
class Arrivals:
    """Where people arrive, by its word, and what isn't known of it."""

    shapes: dict[str, gpd.GeoSeries]
    remark: str

    @property
    def every(self) -> gpd.GeoSeries:
        """All together."""
        parts = [own for own in self.shapes.values() if len(own)]
        return gpd.GeoSeries(pd.concat(parts, ignore_index=True) if parts else [])


def arrivals(site: Site) -> Arrivals:
    """Public walks without steps, sidewalks, parking with accessible spaces, and stops.

    A street that is known to have no sidewalk is none; one of which nobody says is taken as one
    where no path is mapped at all, and that is told.
    """
    paths, streets = site.layer("paths"), site.layer("streets")
    walks, remark = paths.geometry, ""
    if len(paths):
        walks = paths.geometry[paths["is_public"] & paths["is_step_free"]]
        is_line = walks.geom_type.str.contains("Line")
        walks = walks.where(~is_line, walks.buffer(_WALK_HALF_M, cap_style="flat"))
    curbs = streets.geometry
    if len(streets):
        told = streets["sidewalk"].isin(SIDEWALK) & streets["is_walked"]
        silent = streets["sidewalk"].isna() & streets["is_walked"] & (len(paths) == 0)
        curbs = gpd.GeoSeries(streets["pavement"], crs=streets.crs)[told | silent]
        if silent.any():
            remark = "nobody says whether the streets have sidewalks"
    lots = site.layer("parking")
    if len(lots):
        lots = lots[lots["is_public"] & ~(lots["accessible_spaces"] == 0)]
    stops = site.layer("transit_stops")
    if len(stops):
        stops = stops[~stops["wheelchair"].eq("no").fillna(value=False)]
    shapes = {"path": walks, "sidewalk": curbs, "parking": lots.geometry, "stop": stops.geometry}
    return Arrivals({word: own[~own.is_empty] for word, own in shapes.items()}, remark)


def joined(pads: gpd.GeoDataFrame, ends: gpd.GeoSeries, site: Site) -> pd.DataFrame:
    """Tell what free ground, 36 in wide, leads from each pad to an arrival within 200 m.

    Returns
    -------
    DataFrame
        By pad: ``is_mapped`` (an arrival is in reach at all), ``is_open`` (ground leads to one as
        things stand), ``may_open`` (it does once fences are opened and trees taken out),
        ``is_shut``: buildings, water, wetlands, and cliffs or walls over 3 m close the pad off all
        round. Where neither is so the ground goes on beyond the reach, and nothing is shown.
    """
    columns = ["is_mapped", "is_open", "may_open", "is_shut"]
    told = pd.DataFrame(data=False, index=pads.index, columns=columns)
    standing, stays = blocks_of_walks(site).to_numpy(), blocks_that_stay(site).to_numpy()
    if site.ground is not None:
        ground = site.ground
        walls = cliffs(ground.elevation, ground.transform, higher_than_m=WALL_M)
        standing, stays = (np.concatenate([each, walls]) for each in (standing, stays))
    trees = [shapely.STRtree(each) for each in (ends.to_numpy(), standing, stays)]
    for _, own in pads.groupby("parcel_id"):
        around = shapely.buffer(shapely.box(*own.total_bounds), REACH_M, quad_segs=1)
        near, stand, stay = (_in(tree, around) for tree in trees)
        if len(near):
            told.loc[own.index] = np.column_stack(
                list(_of_parcel(own.geometry.to_numpy(), near, stand, stay))
            )
    return told


def _in(tree: shapely.STRtree, around: shapely.Geometry) -> NDArray[np.object_]:
    found: NDArray[np.object_] = tree.geometries[np.sort(tree.query(around, "intersects"))]
    return found


def _of_parcel(
    pads: NDArray[np.object_],
    ends: NDArray[np.object_],
    standing: NDArray[np.object_],
    stays: NDArray[np.object_],
) -> Iterator[NDArray[np.bool_]]:
    """Columns of `joined`; what can be moved is only thought away where it is in the way."""
    is_open, _ = free_ground(pads, ends, standing, clear_m=CLEAR_M, reach_m=REACH_M)
    may_open, goes_on = is_open.copy(), is_open.copy()
    closed = np.flatnonzero(~is_open)
    if len(closed):
        may_open[closed], goes_on[closed] = free_ground(
            pads[closed], ends, stays, clear_m=CLEAR_M, reach_m=REACH_M
        )
    yield from (np.ones(len(pads), dtype=bool), is_open, may_open, ~(may_open | goes_on))
