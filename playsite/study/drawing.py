"""What map and memo draw under the pads: simplified layers."""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import shapely

from playsite.proximity.thinned import thinned

if TYPE_CHECKING:
    from playsite.site import Site

__all__ = ["base_map"]

_MARGIN_M = 250.0
_TOLERANCE_M = 0.25
_KINDS = (
    "paths",
    "water",
    "buildings",
    "trees",
    "lots",
    "restrooms",
    "parking",
    "picnic",
    "fences",
    "easements",
    "districts",
    "playgrounds",
    "districts",
)
_COLUMNS = ("name", "class", "kind", "crown_m", "diameter_m", "height_m", "is_public")


def base_map(site: Site) -> dict[str, gpd.GeoDataFrame]:
    """Layers near the parcels, simplified for drawing; kinds that the study lacks are left out."""
    area = shapely.box(*site.layers.parcels.total_bounds).buffer(_MARGIN_M, join_style="mitre")
    drawn = {kind: site.layer(kind) for kind in _KINDS if site.has(kind)}
    if site.has("streets"):
        drawn["streets"], drawn["street_lines"] = site.pavement, site.layer("streets")
    simple = {kind: _simplified(frame, area) for kind, frame in drawn.items()}
    return simple if site.ways is None else simple | {"walks": thinned(site.ways)}


def _simplified(frame: gpd.GeoDataFrame, area: shapely.Polygon) -> gpd.GeoDataFrame:
    near = frame.iloc[np.sort(frame.sindex.query(area, predicate="intersects"))]
    columns = [name for name in _COLUMNS if name in near.columns]
    shapes = near.geometry.simplify(_TOLERANCE_M)
    table = near[columns].reset_index(drop=True)
    return gpd.GeoDataFrame(table, geometry=shapes.to_numpy(), crs=frame.crs)
