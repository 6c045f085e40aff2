"""Walk: the way along streets and paths to the nearest place of a kind."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import pandas as pd

from playsite.proximity.walking import walk_m, walk_network
from playsite.steps._contract import Input, Output, Parameter, Step
from playsite.units import Unit

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["STEP"]


def run(inputs: Mapping[str, Any], values: Mapping[str, float]) -> dict[str, Any]:
    """Walk from each origin to the place that is nearest on foot; links cross nothing blocked."""
    origins, blocked = inputs["origins"], inputs["blocked"]
    parts = [inputs[name] for name in ("streets", "paths") if inputs[name] is not None]
    roads = np.concatenate(
        [
            np.full(len(inputs[name]), name == "streets")
            for name in ("streets", "paths")
            if inputs[name] is not None
        ]
        or [np.empty(0, dtype=bool)]
    )
    lines = (
        pd.concat([part.geometry for part in parts], ignore_index=True)
        if parts
        else gpd.GeoSeries([], crs=origins.crs)
    )
    network = walk_network(lines, roads=roads)
    shut = None if blocked is None else blocked.geometry
    found = walk_m(
        origins.geometry, inputs["places"].geometry, network, blocked=shut, link_m=values["link"]
    )
    facts = {"walk_m": found["walk_m"].to_numpy(), "straight_m": found["straight_m"].to_numpy()}
    reached = np.isfinite(facts["walk_m"])
    lines_of = origins.drop(columns=origins.geometry.name).assign(**facts)[reached]
    return {
        "out": origins.assign(**facts, note=found["note"].to_numpy()),
        "ways": gpd.GeoDataFrame(
            lines_of, geometry=list(found.loc[reached, "path"]), crs=origins.crs
        ),
    }


STEP = Step(
    name="walk",
    question="How far is the walk to the nearest place, along streets and paths?",
    inputs=(
        Input("origins", "vector", "pads, homes or any other start"),
        Input("places", "vector", "restrooms, parking or any other goal"),
        Input("streets", "vector", "centre lines that people walk along", ("line",), needed=False),
        Input("paths", "vector", "sidewalks and paths", ("line",), needed=False),
        Input(
            "blocked",
            "vector",
            "water and buildings that no link crosses",
            ("polygon",),
            needed=False,
        ),
    ),
    parameters=(
        Parameter(
            "link", Unit.METRE, 150.0, (0, 1000), "longest straight link to a street or path"
        ),
    ),
    outputs=(
        Output(
            "out",
            "vector",
            "the origins",
            {"walk_m": "walk; inf: no way; empty: no network", "straight_m": "straight distance"},
        ),
        Output("ways", "vector", "the walks as lines", {"walk_m": "length"}),
    ),
    run=run,
    sources=("E. W. Dijkstra 1959, A note on two problems in connexion with graphs",),
)
