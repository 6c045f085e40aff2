"""Grade of pads: the slope of a plane through the ground under each."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import pandas as pd
import shapely

from playsite.steps._contract import Input, Output, Parameter, Raster, Step
from playsite.terrain.grade import pad_grade
from playsite.units import Unit

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["STEP"]


def run(inputs: Mapping[str, Any], values: Mapping[str, float]) -> dict[str, Any]:
    """Fit a plane under each pad, which averages the noise away that cells show as slope."""
    pads, ground = inputs["pads"], inputs["elevation"]
    return {"out": pd.concat([pads, _planes(pads, ground, values["noise"])], axis=1)}


def _planes(pads: Any, ground: Raster, noise_m: float) -> pd.DataFrame:
    tables = []
    for index, pad in pads.geometry.items():
        corners = shapely.get_coordinates(pad.minimum_rotated_rectangle)[:3]
        one, other = corners[1] - corners[0], corners[2] - corners[1]
        (dx, dy), short = (one, other) if (one @ one) >= (other @ other) else (other, one)
        centre = pad.centroid
        place = [[centre.x, centre.y, math.degrees(math.atan2(dy, dx)) % 180]]
        plane = pad_grade(
            ground.array,
            ground.transform,
            place,
            length_m=float((dx**2 + dy**2) ** 0.5),
            width_m=float((short @ short) ** 0.5),
            noise_m=noise_m,
        )
        facts = {
            "grade_pct": plane.grade_pct,
            "low_pct": plane.low_pct,
            "high_pct": plane.high_pct,
            "residual_m": plane.residual_rms_m,
        }
        tables.append(pd.DataFrame(facts, index=[index]))
    columns = ["grade_pct", "low_pct", "high_pct", "residual_m"]
    return pd.concat(tables) if tables else pd.DataFrame(columns=columns)


STEP = Step(
    name="pad-grade",
    question="How steep is the ground under each pad?",
    inputs=(
        Input("pads", "vector", "pads, rectangles", ("polygon",)),
        Input("elevation", "raster", "height of the ground in metres"),
    ),
    parameters=(
        Parameter(
            "noise", Unit.METRE, 0.05, (0, 1), "standard deviation of the heights' random error"
        ),
    ),
    outputs=(
        Output(
            "out",
            "vector",
            "the pads",
            {
                "grade_pct": "slope of the plane",
                "low_pct": "low end of its interval",
                "high_pct": "high end of its interval",
                "residual_m": "departure of the ground from the plane",
            },
        ),
    ),
    run=run,
    sources=("plane of least squares",),
)
