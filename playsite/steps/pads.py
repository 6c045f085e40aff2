"""Pads: whether the play area fits on each piece of land, how large it could be, and where."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import geopandas as gpd

from playsite.pads.search import find_place, largest_scale
from playsite.pads.shape import pad_polygon
from playsite.steps._contract import Input, Output, Parameter, Step
from playsite.units import Unit

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["STEP"]


def run(inputs: Mapping[str, Any], values: Mapping[str, float]) -> dict[str, Any]:
    """Search every position and rotation by proven bounds."""
    land = inputs["land"]
    length_m, width_m = (
        max(values["length"], values["width"]),
        min(values["length"], values["width"]),
    )
    sides = {"length_m": length_m, "width_m": width_m}
    rows, shapes, scales = [], [], []
    for row, shape in enumerate(land.geometry):
        largest = largest_scale(shape, **sides)
        scales.append(largest.scale)
        place = find_place(shape, **sides)
        if place is not None:
            rows.append((row, *place))
            shapes.append(pad_polygon(*place, **sides))
    facts = land.drop(columns=land.geometry.name).iloc[[row[0] for row in rows]]
    columns = ("easting", "northing", "rotation_deg")
    facts = facts.assign(**{name: [row[1 + i] for row in rows] for i, name in enumerate(columns)})
    return {
        "out": gpd.GeoDataFrame(facts, geometry=shapes, crs=land.crs),
        "scales": land.assign(largest_scale=scales),
    }


STEP = Step(
    name="pads",
    question="Does the play area fit on this land, and where?",
    inputs=(Input("land", "vector", "land that may be built on", ("polygon",)),),
    parameters=(
        Parameter("length", Unit.METRE, 31.7, (2, 500), "long side of the pad"),
        Parameter("width", Unit.METRE, 22.7, (2, 500), "short side of the pad"),
    ),
    outputs=(
        Output(
            "out",
            "vector",
            "one pad a piece of land on which it fits",
            {"easting": "of its centre", "northing": "of its centre", "rotation_deg": "from east"},
        ),
        Output("scales", "vector", "the land", {"largest_scale": "greatest scale that fits"}),
    ),
    run=run,
    sources=("subdivision of position and rotation with proven bounds",),
)
