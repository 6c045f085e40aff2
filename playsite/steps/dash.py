"""Dash: the shortest way that a running child could take, round what stands between."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import shapely

from playsite.proximity.dash import dash_m
from playsite.steps._contract import Input, Output, Parameter, Step
from playsite.units import Unit

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["STEP"]


def run(inputs: Mapping[str, Any], values: Mapping[str, float]) -> dict[str, Any]:
    """Search the shortest way in continuous space; beyond the reach there is none."""
    pads, barriers = inputs["pads"], inputs["barriers"]
    fences = barriers.geometry if barriers is not None else gpd.GeoSeries([], crs=pads.crs)
    found = dash_m(pads.geometry, inputs["hazards"].geometry, fences, reach_m=values["reach"])
    reached = np.isfinite(found["dash_m"].to_numpy(float))
    ways = [
        path if ok else shapely.LineString()
        for path, ok in zip(found["path"], reached, strict=True)
    ]
    lines = pads.drop(columns=pads.geometry.name).assign(dash_m=found["dash_m"].to_numpy())
    return {
        "out": pads.assign(dash_m=found["dash_m"].to_numpy()),
        "ways": gpd.GeoDataFrame(lines, geometry=ways, crs=pads.crs)[reached],
    }


STEP = Step(
    name="dash",
    question="How far would a child run to a hazard, round fences, walls and houses?",
    inputs=(
        Input("pads", "vector", "pads", ("polygon",)),
        Input("hazards", "vector", "pavement, water or any other hazard"),
        Input("barriers", "vector", "fences, walls and buildings that stop a child", needed=False),
    ),
    parameters=(
        Parameter(
            "reach", Unit.METRE, 120.0, (1, 1000), "ways longer than this are not looked for"
        ),
    ),
    outputs=(
        Output("out", "vector", "the pads", {"dash_m": "shortest way; inf: none within the reach"}),
        Output("ways", "vector", "the ways as lines", {"dash_m": "length"}),
    ),
    run=run,
    sources=("visibility search among obstacles, exact in the plane",),
)
