"""Low spots to draw: with their probability where the ground was looked at closer, else a filter."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from playsite.criteria._soil_groups import soil_groups
from playsite.terrain.low_spots import low_spot_polygons
from playsite.terrain.pad_storm import soaked_away_h

if TYPE_CHECKING:
    from playsite.site import Examined, Site

__all__ = ["low_spot_table"]

_FIGURES = (
    "probability",
    "depth_low_m",
    "depth_high_m",
    "catchment_m2",
    "spill_easting",
    "spill_northing",
    "soaked_away_h",
)
"""Of spots that were looked at closer alone."""

_COLUMNS = ("low_spot", "standing", "depth_m", "area_m2", "volume_m3", *_FIGURES)


def low_spot_table(site: Site) -> gpd.GeoDataFrame:
    """Low spots of the ground.

    Returns
    -------
    GeoDataFrame
        ``low_spot, standing, depth_m, area_m2, volume_m3, probability, depth_low_m, depth_high_m,
        catchment_m2, spill_easting, spill_northing, soaked_away_h, geometry``. Inside windows
        that were looked at closer only what is likely is left, with its probability, 0 to 1:
        ``credible`` from 60 %, else for a ``field check``; with the range of its depth (5 to
        95 %), the land that drains to it, where it spills, and the hours in which it soaks away
        at half the least rate of its soil (missing where that isn't known). Where hollows cannot be told from the
        noise the whole window is one row, ``cannot be told``, without figures. Elsewhere what the
        first filter found is for a field check, without a probability.
    """
    first = _first_filter(site)
    if not site.examined or not len(first.columns):
        return first
    seen = shapely.union_all([each.outline for each in site.examined])
    rest = first[~first.geometry.intersects(seen)]
    told = [_closer(each, site) for each in site.examined if each.spots.resolvable]
    closer = [_once(pd.concat(told, ignore_index=True))] if told else []
    whole = pd.concat([rest, *closer, _not_told(site)], ignore_index=True)
    whole["low_spot"] = [str(number) for number in range(1, len(whole) + 1)]
    found = gpd.GeoDataFrame(whole, geometry="geometry", crs=site.layers.crs)
    found["soaked_away_h"] = _soaked_away_h(found, site)
    return found[[*_COLUMNS, "geometry"]]


def _soaked_away_h(spots: gpd.GeoDataFrame, site: Site) -> list[float]:
    """Hours in which each spot that was looked at closer soaks away; NaN where nobody knows."""
    groups = soil_groups(spots, site.layer("soils"))["group"]
    return [
        math.nan if math.isnan(likely) else soaked_away_h(1000 * deep_m, group)
        for deep_m, likely, group in zip(
            spots["depth_m"], spots["probability"], groups, strict=True
        )
    ]


def _first_filter(site: Site) -> gpd.GeoDataFrame:
    spots, ground = site.low_spots, site.ground
    if spots is None or ground is None:
        return gpd.GeoDataFrame(columns=list(_COLUMNS), geometry=[], crs=site.layers.crs)
    table = {
        "low_spot": [str(number) for number in spots.id],
        "standing": "field check",
        "depth_m": spots.depth_m,
        "area_m2": spots.area_m2,
        "volume_m3": spots.volume_m3,
        **dict.fromkeys(_FIGURES, np.nan),
    }
    shapes = low_spot_polygons(spots.labels, ground.transform)
    return gpd.GeoDataFrame(table, geometry=shapes, crs=site.layers.crs)


def _once(spots: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Windows overlap: a hollow that was found in two of them is drawn once, the likelier one."""
    ordered = spots.sort_values("probability", ascending=False, kind="stable")
    kept: list[int] = []
    shapes = ordered.geometry.to_numpy()
    for row in range(len(ordered)):
        if not shapely.intersects(shapes[kept], shapes[row]).any():
            kept.append(row)
    return ordered.iloc[kept]


def _closer(each: Examined, site: Site) -> gpd.GeoDataFrame:
    spots = each.spots
    table = {
        "low_spot": [str(number) for number in spots.id],
        "standing": spots.standing,
        "depth_m": spots.depth_m[:, 1],
        "area_m2": spots.area_m2,
        "volume_m3": spots.volume_m3[:, 1],
        "probability": spots.probability,
        "depth_low_m": spots.depth_m[:, 0],
        "depth_high_m": spots.depth_m[:, 2],
        "catchment_m2": spots.catchment_m2,
        "spill_easting": spots.spill_point[:, 0],
        "spill_northing": spots.spill_point[:, 1],
    }
    shapes = low_spot_polygons(spots.labels, each.transform)
    return gpd.GeoDataFrame(table, geometry=shapes, crs=site.layers.crs)


def _not_told(site: Site) -> gpd.GeoDataFrame:
    """Windows in which the noise hides hollows of the size that matters; missing figures."""
    outlines = [each.outline for each in site.examined if not each.spots.resolvable]
    shapes = [part for part in shapely.get_parts(shapely.union_all(outlines)) if not part.is_empty]
    table = dict.fromkeys(_COLUMNS, np.nan) | {"low_spot": "", "standing": "cannot be told"}
    return gpd.GeoDataFrame(
        [table] * len(shapes), geometry=shapes, columns=[*_COLUMNS, "geometry"], crs=site.layers.crs
    )
