"""Clearance: the straight distance from each shape to the nearest feature, edge to edge."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from playsite.proximity.clearance import nearest
from playsite.steps._contract import Input, Output, Step

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["STEP"]


def run(inputs: Mapping[str, Any], values: Mapping[str, float]) -> dict[str, Any]:  # noqa: ARG001
    """Measure edge to edge; one row a shape, whatever ties there are."""
    shapes = inputs["shapes"]
    found = nearest(shapes.geometry, inputs["features"].geometry)
    return {"out": shapes.assign(distance_m=found["distance_m"].to_numpy())}


STEP = Step(
    name="clearance",
    question="How far is each shape from the nearest feature, in a straight line?",
    inputs=(
        Input("shapes", "vector", "pads or parcels"),
        Input("features", "vector", "what may be near: water, buildings, pavement"),
    ),
    parameters=(),
    outputs=(
        Output(
            "out", "vector", "the shapes", {"distance_m": "straight distance, 0 where they touch"}
        ),
    ),
    run=run,
    sources=("plane geometry",),
)
