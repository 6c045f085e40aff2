"""Open water: how far the pad lies from the nearest pond, stream or basin."""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd

from playsite.criteria._contract import Condition, Criterion, Measured, Screen, Source
from playsite.criteria._curve import Curve
from playsite.proximity.clearance import nearest
from playsite.proximity.dash import dash_m
from playsite.units import Unit

if TYPE_CHECKING:
    from playsite.site import Site

__all__ = ["CRITERION"]

_TOO_NEAR_M = 6.0
_SOURCE = Source(
    "Caring for Our Children, standards 6.1.0.6 and 6.1.0.8: no unfenced ponds, ditches, basins "
    "beside a play area; the distances are common practice"
)


def water_clearance_m(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Pad edge to the nearest edge of a pond, stream or basin, straight."""
    water = site.layer("water")
    if not len(water):
        far = pd.Series(np.inf, index=pads.index)
        note = pd.Series("the water layer holds none near", index=pads.index)
        return Measured(far, note=note, also={"open_m": far})
    found = nearest(pads.geometry, water.geometry)
    open_m = pd.Series(np.inf, index=pads.index)
    close = found.index[found["distance_m"] <= _TOO_NEAR_M]
    if len(close):
        # round the end of a fence is a way too
        open_m.loc[close] = dash_m(
            pads.geometry.loc[close], water.geometry, site.barriers, reach_m=2 * _TOO_NEAR_M
        )["dash_m"]
    names = found["feature"].map(water["name"])
    lines = gpd.GeoDataFrame(
        {"pad_id": pads.index, "label": names.fillna("nearest open water").to_numpy()},
        geometry=list(found["line"]),
        crs=pads.crs,
    )
    return Measured(
        found["distance_m"],
        note=names.fillna("water without a name").astype(str),
        evidence=lines,
        also={"open_m": open_m},
    )


CRITERION = Criterion(
    name="open_water",
    question="Can a child reach open water?",
    plain="distance to the nearest open water",
    unit=Unit.METRE,
    needs=("water",),
    measure=water_clearance_m,
    curve=Curve.rising(
        poor=10.0, acceptable=30.0, ideal=60.0, unit=Unit.METRE, source="common practice, no source"
    ),
    weight=6,
    plausible=(0, 100_000),
    group="Hazards",
    cost="quick",
    screens=(
        Screen(
            rule="6 m or less from open water with nothing between",
            limit=_TOO_NEAR_M,
            unit=Unit.METRE,
            out_when="at or below",
            source=_SOURCE,
            reads="open_m",
            short="near water",
        ),
    ),
    conditions=(
        Condition(
            rule="nearer to open water than 30 m",
            limit=30.0,
            unit=Unit.METRE,
            needs="a barrier between the play area and the water",
            source=_SOURCE,
        ),
    ),
    sources=(_SOURCE,),
    field_task="Look for water that is on no map: ditches, basins that fill after rain; measure to its bank.",
)
