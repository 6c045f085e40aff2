"""What criteria of mapped land share: shares of a pad by area, and how far a layer's extent reaches."""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["drawn", "extent_of", "pieces", "reach_m", "share_pct"]


def pieces(pads: gpd.GeoDataFrame, shapes: gpd.GeoSeries) -> gpd.GeoDataFrame:
    """Parts of pads that lie on each shape.

    Returns
    -------
    GeoDataFrame
        One row a pad and a shape that meet in an area: ``pad_id``, ``feature`` (label of the shape),
        ``area_m2`` and the part itself.
    """
    own, land = pads.geometry.to_numpy(), shapes.to_numpy()
    i, j = shapely.STRtree(own).query(land, predicate="intersects")[::-1]
    shapely.prepare(land)
    parts = own[i]
    cut = ~shapely.covers(land[j], parts)
    parts[cut] = shapely.intersection(parts[cut], land[j][cut])
    found = gpd.GeoDataFrame(
        {"pad_id": pads.index[i], "feature": shapes.index[j], "area_m2": shapely.area(parts)},
        geometry=parts,
        crs=pads.crs,
    )
    return found[found["area_m2"] > 0].sort_values(["pad_id", "feature"], ignore_index=True)


def share_pct(pads: gpd.GeoDataFrame, found: gpd.GeoDataFrame) -> pd.Series[float]:
    """Percent of each pad that its pieces cover; land that two of them cover counts once."""
    area_m2 = found.groupby("pad_id")["area_m2"].sum()
    for pad_id, several in found[found["pad_id"].duplicated(keep=False)].groupby("pad_id"):
        area_m2[pad_id] = several.geometry.union_all().area
    pct: pd.Series[float] = 100 * area_m2.reindex(pads.index).fillna(0.0) / pads.area
    return pct.clip(upper=100).round(6)


def extent_of(frame: gpd.GeoDataFrame, searched: pd.Series[bool] | None = None) -> gpd.GeoSeries:
    """Land that a layer speaks for: what was searched, else the box round its features; none: none."""
    if searched is not None and searched.any():
        return frame.geometry[searched]
    if not len(frame):
        return frame.geometry
    return gpd.GeoSeries([shapely.box(*frame.total_bounds)], crs=frame.crs)


def reach_m(pads: gpd.GeoDataFrame, extent: gpd.GeoSeries) -> pd.Series[float]:
    """How far a layer's extent goes on beyond each pad's edge; NaN where it doesn't hold the pad."""
    if not len(extent):
        return pd.Series(np.nan, index=pads.index)
    land = extent.union_all()
    shapely.prepare(land)
    held = shapely.covers(land, pads.geometry.to_numpy())
    beyond_m = shapely.distance(land.boundary, pads.geometry.to_numpy())
    return pd.Series(np.where(held, beyond_m, np.nan), index=pads.index)


def drawn(found: gpd.GeoDataFrame, labels: Mapping[object, str]) -> gpd.GeoDataFrame:
    """Give parts of pads as evidence, each with its feature's label."""
    label = found["feature"].map(labels).astype(object).to_numpy()
    return gpd.GeoDataFrame(
        {"pad_id": found["pad_id"], "label": label}, geometry=found.geometry, crs=found.crs
    )
