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

_COLUMNS = ("low_spot", "standing", "depth_m", "area_m2", "volume_m3", "probability")


def low_spot_table(site: Site) -> gpd.GeoDataFrame:
    """Low spots of the ground.

    Returns
    -------
    GeoDataFrame
        ``low_spot, standing, depth_m, area_m2, volume_m3, probability, geometry``. Inside windows
        that were looked at closer only what is likely is left, with its probability, 0 to 1:
        ``credible`` from 60 %, else for a ``field check``. Where hollows cannot be told from the
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
    return gpd.GeoDataFrame(whole, geometry="geometry", crs=site.layers.crs)


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
        "standing": spots.standing,
        "depth_m": spots.depth_m[:, 1],
        "area_m2": spots.area_m2,
        "volume_m3": spots.volume_m3[:, 1],
        "probability": spots.probability,
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
