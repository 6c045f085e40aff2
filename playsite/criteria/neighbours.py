"""Neighbours: how far the pad lies from the nearest dwelling."""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd

from playsite.criteria._contract import Criterion, Measured, Source
from playsite.criteria._curve import Curve
from playsite.criteria._spoken import Spoken
from playsite.proximity.clearance import nearest
from playsite.units import Unit

if TYPE_CHECKING:
    from playsite.site import Site

__all__ = ["CRITERION"]

_SOURCE = Source(
    "England's play benchmarks: 20 m from dwellings for an equipped local area, 30 m for a "
    "neighborhood area",
    "from memory",
)


def dwelling_clearance_m(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Pad edge to the nearest wall of a dwelling, straight; not to the parcel line."""
    dwellings = site.dwellings
    if not len(dwellings):
        note = pd.Series("the buildings layer holds no dwelling near", index=pads.index)
        return Measured(pd.Series(np.inf, index=pads.index), note=note)
    found = nearest(pads.geometry, dwellings)
    lines = gpd.GeoDataFrame(
        {"pad_id": pads.index, "label": "nearest dwelling"},
        geometry=list(found["line"]),
        crs=pads.crs,
    )
    return Measured(found["distance_m"], evidence=lines)


CRITERION = Criterion(
    name="neighbours",
    question="Is the play area far enough from people's windows?",
    plain="distance to the nearest dwelling",
    unit=Unit.METRE,
    needs=("buildings",),
    measure=dwelling_clearance_m,
    curve=Curve.rising(
        poor=10.0, acceptable=20.0, ideal=30.0, unit=Unit.METRE, source=str(_SOURCE)
    ),
    weight=2,
    plausible=(0, 100_000),
    group="Eyes and neighbors",
    cost="quick",
    sources=(_SOURCE,),
    spoken=Spoken(beside="off"),
    field_task="Look for windows that face the pad; listen for five minutes.",
)
