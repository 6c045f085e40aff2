"""Low spots: closed hollows that are deeper than the elevation's noise."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
from rasterio.features import geometry_mask

from playsite.steps._contract import Input, Output, Parameter, Raster, Step
from playsite.terrain.low_spots import low_spot_polygons, low_spots
from playsite.units import Unit

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["STEP"]


def run(inputs: Mapping[str, Any], values: Mapping[str, float]) -> dict[str, Any]:
    """Fill the ground, with water taken out, and keep hollows that are deep and wide enough."""
    ground: Raster = inputs["elevation"]
    elevation = ground.array
    water = inputs["water"]
    if water is not None and len(water):
        wet = geometry_mask(
            water.geometry, elevation.shape, ground.transform, all_touched=True, invert=True
        )
        elevation = np.where(wet, np.float32(np.nan), elevation)
    spots = low_spots(
        elevation,
        ground.transform,
        noise_m=values["noise"],
        noise_length_m=values["noise-length"],
        least_depth_m=values["depth"],
    )
    table = {"depth_m": spots.depth_m, "area_m2": spots.area_m2, "volume_m3": spots.volume_m3}
    shapes = low_spot_polygons(spots.labels, ground.transform)
    return {"out": gpd.GeoDataFrame(table, geometry=shapes, crs=ground.crs)}


STEP = Step(
    name="low-spots",
    question="Where would water stand?",
    inputs=(
        Input("elevation", "raster", "height of the ground in metres"),
        Input("water", "vector", "ponds and streams, to be taken out", ("polygon",), needed=False),
    ),
    parameters=(
        Parameter(
            "noise", Unit.METRE, 0.05, (0, 1), "standard deviation of the heights' random error"
        ),
        Parameter(
            "noise-length", Unit.METRE, 0.0, (0, 50), "length over which that error is alike"
        ),
        Parameter("depth", Unit.METRE, 0.10, (0.01, 5), "least depth that matters"),
    ),
    outputs=(
        Output(
            "out",
            "vector",
            "closed hollows",
            {"depth_m": "greatest depth", "area_m2": "area", "volume_m3": "water they hold"},
        ),
    ),
    run=run,
    sources=("Barnes, Lehman, Mulla 2014, Computers & Geosciences 62:117-127 (from memory)",),
)
