"""Walk: the way along streets and paths to the nearest place of a kind."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np

from playsite.layers import KINDS
from playsite.layers.own_columns import own_columns
from playsite.proximity.town_ways import town_network, town_ways
from playsite.proximity.walking import walk_m
from playsite.site import standing_fences
from playsite.steps._contract import Input, Output, Parameter, Step
from playsite.units import Unit

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["STEP"]


def run(inputs: Mapping[str, Any], values: Mapping[str, float]) -> dict[str, Any]:
    """Walk to the place that is nearest on foot, by the network and rules that a study uses."""
    origins, none = inputs["origins"], gpd.GeoDataFrame(geometry=[], crs=inputs["origins"].crs)
    streets, paths, crossings = (
        own_columns(none if inputs[kind] is None else inputs[kind], KINDS[kind])
        for kind in ("streets", "paths", "crossings")
    )
    blocked, rails, fences = (
        none.geometry if inputs[name] is None else inputs[name].geometry
        for name in ("blocked", "rails", "fences")
    )
    ways = town_ways(
        town_network(streets, paths, blocked=blocked),
        streets,
        paths,
        crossings=crossings.geometry[crossings["is_crossing"]],
        rails=rails,
        unmarked_m=values["crossing-penalty"],
        step_free=bool(values["step-free"]),
    )
    found = walk_m(
        origins.geometry,
        inputs["places"].geometry,
        ways,
        blocked=standing_fences(fences),
        link_m=values["link"],
        reach_m=values["reach"],
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
        Input(
            "streets",
            "vector",
            "streets, with class, bridge, sidewalk and foot where known, in the study's words",
            ("line", "polygon"),
            needed=False,
        ),
        Input(
            "paths",
            "vector",
            "sidewalks and paths, with kind, bridge, access and wheelchair where known",
            ("line", "polygon"),
            needed=False,
        ),
        Input(
            "crossings",
            "vector",
            "places to cross busy streets, with control where known",
            ("point", "line"),
            needed=False,
        ),
        Input("rails", "vector", "rails, crossed only by a street or path", needed=False),
        Input("fences", "vector", "fences, cut where gates are", ("line",), needed=False),
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
        Parameter("reach", Unit.METRE, 2000.0, (0, 100_000), "longest walk that is looked for"),
        Parameter(
            "crossing-penalty",
            Unit.METRE,
            0.0,
            (0, 1000),
            "what crossing a busy street counts for where no crossing is mapped",
        ),
        Parameter("step-free", Unit.COUNT, 0.0, (0, 1), "1: every walk is one without steps"),
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
