"""Grade: the slope of the ground under the pad, by a plane through it."""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from playsite.criteria._contract import Criterion, Measured, Screen, Source
from playsite.criteria._curve import Curve
from playsite.pads.pad_rectangles import Rectangles, rectangles_of_pads
from playsite.terrain.grade import PadGrade, pad_grade
from playsite.terrain.pad_form import CROWN, DISH, EVEN, NO_FORM, TERRACE, pad_form
from playsite.units import Unit

if TYPE_CHECKING:
    import geopandas as gpd

    from playsite.site import Ground, Site
    from playsite.terrain.pad_form import PadForm

__all__ = ["CRITERION"]

_SOIL_SURVEY = "soil survey's Playgrounds interpretation: classes < 2, 2 to 6, > 6 % (from memory)"

_FORMS = {
    EVEN: "an even slope",
    TERRACE: "two levels, {:.0f} cm apart",
    CROWN: "a crown, its middle {:.0f} cm above its ends",
    DISH: "a dish, its middle {:.0f} cm below its ends",
    NO_FORM: "no clear form",
}


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
    found = _steepest(pads, ground)[1]
    note = [_departure(m) for m in found.residual_rms_m]
    return _measured(found, pd.Series(note, index=pads.index, dtype=str))


def told_in_full_pct(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Slope of the same plane, with how even the ground is, its form, and the cells' raw slope."""
    ground = site.ground
    if ground is None:
        return Measured(pd.Series(float("nan"), index=pads.index))
    rectangles, found = _steepest(pads, ground, with_percentile=True, with_cells=True)
    forms = [
        pad_form(
            ground.elevation,
            ground.transform,
            place,
            length_m=length_m,
            width_m=width_m,
            noise_m=ground.noise_m,
            noise_length_m=ground.noise_length_m,
        )
        for place, (length_m, width_m) in zip(rectangles.places, rectangles.sides_m, strict=True)
    ]
    figures = zip(
        found.residual_rms_m,
        found.residual_p95_m,
        found.cell_mean_pct,
        found.cell_p95_pct,
        forms,
        strict=True,
    )
    note = [_in_full(*each) for each in figures]
    return _measured(found, pd.Series(note, index=pads.index, dtype=str))


def _steepest(pads: gpd.GeoDataFrame, ground: Ground, **asked: bool) -> tuple[Rectangles, PadGrade]:
    """Steepest rectangle of each pad, and its grade."""
    rectangles = rectangles_of_pads(pads)
    names = [field.name for field in fields(PadGrade)]
    table = pd.DataFrame(np.nan, index=range(len(rectangles.pad)), columns=names)
    for rows, length_m, width_m in rectangles.by_size():
        plane = pad_grade(
            ground.elevation,
            ground.transform,
            rectangles.places[rows],
            length_m=length_m,
            width_m=width_m,
            noise_m=ground.noise_m,
            noise_length_m=ground.noise_length_m,
            **asked,
        )
        table.iloc[rows] = np.column_stack([getattr(plane, name) for name in names])
    worst = rectangles.worst(table["grade_pct"])
    own = Rectangles(rectangles.pad[worst], rectangles.places[worst], rectangles.sides_m[worst])
    return own, PadGrade(**{name: table[name].to_numpy()[worst] for name in names})


def _measured(found: PadGrade, note: pd.Series[str]) -> Measured:
    columns = (found.grade_pct, found.low_pct, found.high_pct, found.residual_rms_m)
    value, low, high, residual = (pd.Series(column, index=note.index) for column in columns)
    return Measured(value, low=low, high=high, note=note, also={"residual_m": residual})


def _departure(residual_m: float) -> str:
    if not np.isfinite(residual_m):
        return "too little elevation here"
    return f"ground departs {100 * residual_m:.0f} cm from a plane"


def _in_full(
    residual_m: float,
    residual_p95_m: float,
    raw_pct: float,
    raw_p95_pct: float,
    form: PadForm | None,
) -> str:
    """Form, evenness, and beside them what the single cells read."""
    if form is None:
        return _departure(residual_m)
    said = [
        _FORMS[form.kind].format(100 * form.height_m),
        f"{_departure(residual_m)}, 95 % of it by {100 * residual_p95_m:.0f} cm at most",
    ]
    if np.isfinite(raw_pct):
        said.append(
            f"raw slope of single cells, noise and all, {raw_pct:.1f} %, 95 % of them below "
            f"{raw_p95_pct:.1f} %"
        )
    return "; ".join(said)


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
    refine=told_in_full_pct,
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
