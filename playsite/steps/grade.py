"""Grade of each cell: the slope of the raw elevation, noise and all."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from playsite.steps._contract import Input, Output, Raster, Step
from playsite.terrain.grade import cell_grade_pct

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["STEP"]


def run(inputs: Mapping[str, Any], values: Mapping[str, float]) -> dict[str, Any]:  # noqa: ARG001
    """Horn's grade of each cell; at the edge and beside missing cells it is not known."""
    ground: Raster = inputs["elevation"]
    grade = cell_grade_pct(ground.array, cell_m=ground.transform.a)
    return {"out": Raster(grade, ground.transform, ground.crs)}


STEP = Step(
    name="grade",
    question="How steep is each cell, as it lies in the elevation?",
    inputs=(Input("elevation", "raster", "height of the ground in metres"),),
    parameters=(),
    outputs=(
        Output("out", "raster", "grade of each cell; noise of 5 cm at 1 m reads 2.7 %", unit="%"),
    ),
    run=run,
    overlap=1,
    sources=("B. K. P. Horn 1981, Proc. IEEE 69:14-47 (from memory)",),
)
