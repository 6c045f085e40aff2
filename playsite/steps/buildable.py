"""Buildable land: each parcel less its setbacks and what stands or is reserved on it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import geopandas as gpd
import shapely

from playsite.pads.buildable import Removal, buildable_land, setback_land
from playsite.steps._contract import Input, Output, Parameter, Step
from playsite.units import Unit

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["STEP"]


def run(inputs: Mapping[str, Any], values: Mapping[str, float]) -> dict[str, Any]:
    """Take the strip along the parcel line and what is to be kept clear out of each parcel."""
    parcels, taken = inputs["parcels"], inputs["taken"]
    around_m = values["around"]
    shapes, gross, net = [], [], []
    for parcel in parcels.geometry:
        removals = []
        if values["setback"] > 0:
            removals.append(
                Removal("setback", setback_land(parcel, all_m=values["setback"]), "given")
            )
        if taken is not None:
            rows = taken.sindex.query(parcel, predicate="dwithin", distance=around_m + 1e-6)
            if len(rows):
                near = shapely.buffer(taken.geometry.to_numpy()[sorted(rows)], max(around_m, 1e-9))
                removals.append(Removal("taken", shapely.union_all(near), "given"))
        land = buildable_land(parcel, removals).land
        shapes.append(land)
        gross.append(parcel.area)
        net.append(land.area)
    frame = parcels.drop(columns=parcels.geometry.name).assign(gross_m2=gross, buildable_m2=net)
    return {"out": gpd.GeoDataFrame(frame, geometry=shapes, crs=parcels.crs)}


STEP = Step(
    name="buildable",
    question="What land of each parcel is left to build on?",
    inputs=(
        Input("parcels", "vector", "parcels", ("polygon",)),
        Input("taken", "vector", "what must stay clear: houses, water, easements", needed=False),
    ),
    parameters=(
        Parameter("setback", Unit.METRE, 0.0, (0, 100), "strip along the parcel line"),
        Parameter("around", Unit.METRE, 0.0, (0, 200), "strip around what must stay clear"),
    ),
    outputs=(
        Output(
            "out",
            "vector",
            "the land that is left",
            {"gross_m2": "area of the parcel", "buildable_m2": "area that is left"},
        ),
    ),
    run=run,
    sources=("plane geometry",),
)
