"""Low spots to draw: with their probability where the ground was looked at closer, else a filter."""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from playsite.terrain.low_spots import low_spot_polygons

if TYPE_CHECKING:
    from playsite.site import Examined, Site

__all__ = ["low_spot_table"]

_COLUMNS = ("low_spot", "depth_m", "area_m2", "volume_m3", "probability")


def low_spot_table(site: Site) -> gpd.GeoDataFrame:
    """Low spots of the ground.

    Returns
    -------
    GeoDataFrame
        ``low_spot, depth_m, area_m2, volume_m3, probability, geometry``. Inside windows that were
        looked at closer only what is likely is left, with its probability, 0 to 1; elsewhere the
        probability is missing.
    """
    first = _first_filter(site)
    if not site.examined or not len(first.columns):
        return first
    seen = shapely.union_all([each.outline for each in site.examined])
    rest = first[~first.geometry.intersects(seen)]
    closer = pd.concat([_closer(each, site) for each in site.examined], ignore_index=True)
    whole = pd.concat([rest, _once(closer)], ignore_index=True)
    whole["low_spot"] = [str(number) for number in range(1, len(whole) + 1)]
    return gpd.GeoDataFrame(whole, geometry="geometry", crs=site.layers.crs)


def _first_filter(site: Site) -> gpd.GeoDataFrame:
    spots, ground = site.low_spots, site.ground
    if spots is None or ground is None:
        return gpd.GeoDataFrame(columns=list(_COLUMNS), geometry=[], crs=site.layers.crs)
    table = {
        "low_spot": [str(number) for number in spots.id],
        "depth_m": spots.depth_m,
        "area_m2": spots.area_m2,
        "volume_m3": spots.volume_m3,
        "probability": np.nan,
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
        "depth_m": spots.depth_m[:, 1],
        "area_m2": spots.area_m2,
        "volume_m3": spots.volume_m3[:, 1],
        "probability": spots.probability,
    }
    shapes = low_spot_polygons(spots.labels, each.transform)
    return gpd.GeoDataFrame(table, geometry=shapes, crs=site.layers.crs)
