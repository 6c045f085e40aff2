"""Grade: the slope of the ground under the pad, by a plane through it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from playsite.criteria._contract import Criterion, Measured, Screen, Source
from playsite.criteria._curve import Curve
from playsite.pads.pad_rectangles import rectangles_of_pads
from playsite.terrain.grade import pad_grade
from playsite.units import Unit

if TYPE_CHECKING:
    import geopandas as gpd

    from playsite.site import Site

__all__ = ["CRITERION"]

_SOIL_SURVEY = "soil survey's Playgrounds interpretation: classes < 2, 2 to 6, > 6 % (from memory)"


def plane_grade_pct(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Slope of the least-squares plane through the ground under the pad.

    Never a mean of cell slopes: noise of 5 cm on 1 m cells makes level ground read 2.7 %.
    The interval carries the elevation's own noise; the residual says how far from a plane
    the ground is (a crown or a dish has no slope and a large residual). Of a play area in
    several parts the steepest counts.
    """
    ground = site.ground
    if ground is None:
        return Measured(pd.Series(float("nan"), index=pads.index))
    rectangles = rectangles_of_pads(pads)
    found = np.full((4, len(rectangles.pad)), np.nan)
    for rows, length_m, width_m in rectangles.by_size():
        plane = pad_grade(
            ground.elevation,
            ground.transform,
            rectangles.places[rows],
            length_m=length_m,
            width_m=width_m,
            noise_m=ground.noise_m,
            noise_length_m=ground.noise_length_m,
        )
        found[:, rows] = plane.grade_pct, plane.low_pct, plane.high_pct, plane.residual_rms_m
    grade_pct, low_pct, high_pct, residual_m = found[:, rectangles.worst(found[0])]
    residual = pd.Series(residual_m, index=pads.index)
    note = residual.map(
        lambda m: (
            f"ground departs {100 * m:.0f} cm from a plane"
            if np.isfinite(m)
            else "too little elevation here"
        )
    )
    return Measured(
        value=pd.Series(grade_pct, index=pads.index),
        low=pd.Series(low_pct, index=pads.index),
        high=pd.Series(high_pct, index=pads.index),
        note=note,
        also={"residual_m": residual},
    )


CRITERION = Criterion(
    name="grade",
    question="Is the ground under the play area near level?",
    plain="slope of the ground under the play area",
    unit=Unit.PERCENT,
    needs=("elevation",),
    measure=plane_grade_pct,
    curve=Curve.falling(
        ideal=2.0, acceptable=4.5, poor=8.0, unit=Unit.PERCENT, source=_SOIL_SURVEY
    ),
    weight=6,
    plausible=(0, 200),
    group="Ground and water",
    cost="quick",
    screens=(
        Screen(
            rule="steeper than 15 %",
            limit=15.0,
            unit=Unit.PERCENT,
            out_when="above",
            source=Source("common practice, no source", "common practice"),
            short="too steep",
        ),
    ),
    sources=(Source(_SOIL_SURVEY),),
    field_task="Take level shots at nine points of the pad.",
)
