"""Heavy traffic: how far the pad lies from a road whose air and noise reach it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from playsite.criteria._contract import Criterion, Measured, Source
from playsite.criteria._curve import Curve
from playsite.criteria._dashed import far, lines_of, named
from playsite.criteria._spoken import Spoken
from playsite.proximity.clearance import nearest
from playsite.units import Unit

if TYPE_CHECKING:
    import geopandas as gpd

    from playsite.site import Site

__all__ = ["CRITERION", "HEAVY_A_DAY"]

HEAVY_A_DAY = 30_000
"""Vehicles a day, both ways, from which a road's air reaches far (common practice, no source)."""

_IDEAL_M = 300.0
_MAY_BE_HEAVY = ("arterial", "highway")
_AIR = Source(
    "U.S. EPA, school siting: pollution is highest within about 500 ft of a heavy road and near "
    "background by about 2,000 ft; California's concern for schools: 500 ft"
)
_NOISE = Source("23 CFR 772, table 1: 67 dBA Leq(h) outside at playgrounds and parks")
_CLASSES = Source(
    "FHWA, Highway Functional Classification, 2013, tables 3-5 and 3-6: local streets and collectors "
    "carry at most some 6,300 vehicles a day",
    "from memory",
)


def heavy_road_clearance_m(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Pad edge to the pavement of the nearest road of 30,000 vehicles a day or more, straight.

    Counted volumes alone make a road heavy. An arterial that nobody counted, nearer than 300 m and
    than any heavy road, leaves the value unknown; a local street or collector can't be heavy.
    """
    streets = site.pavement
    if not len(streets):
        return far(pads, "the streets layer holds no street near")
    volume = streets["volume"]
    heavy = streets[volume >= HEAVY_A_DAY]
    uncounted = streets[volume.isna() & streets["class"].isin(_MAY_BE_HEAVY)]
    found = nearest(pads.geometry, heavy.geometry)
    maybe = nearest(pads.geometry, uncounted.geometry)
    value = found["distance_m"].fillna(np.inf)
    hides = (maybe["distance_m"] < _IDEAL_M) & (maybe["distance_m"] < value)
    name = named(found["feature"].map(heavy["name"]), otherwise="a road without a name")
    count = found["feature"].map(heavy["volume"]).astype(float)
    note = pd.Series("no road of 30,000 vehicles a day is mapped", index=pads.index)
    told = name + count.map(lambda n: f", {n:,.0f} vehicles a day")
    note = note.where(np.isposinf(value), told)
    other = named(maybe["feature"].map(uncounted["name"]), otherwise="an arterial without a name")
    away = maybe["distance_m"].map(lambda m: f", {m:.0f} m off, has no count: ask for it")
    lines = found.rename(columns={"line": "path"})
    known = np.isfinite(value) & ~hides
    return Measured(
        value.mask(hides),
        note=note.mask(hides, other + away),
        evidence=lines_of(lines[known], name[known], pads.crs),
    )


CRITERION = Criterion(
    name="heavy_traffic",
    question="Does a heavy road's air and noise reach the play area?",
    plain="distance to the nearest road of 30,000 vehicles a day",
    unit=Unit.METRE,
    needs=("streets",),
    measure=heavy_road_clearance_m,
    curve=Curve.rising(
        poor=50.0,
        acceptable=150.0,
        ideal=_IDEAL_M,
        unit=Unit.METRE,
        source="common practice between EPA's 500 and 2,000 ft",
    ),
    weight=3,
    plausible=(0, 100_000),
    group="Hazards",
    sources=(_AIR, _NOISE, _CLASSES),
    spoken=Spoken(beside="off"),
    field_task="Ask for the counted volume and the share of trucks; listen at the busiest hour.",
)
