"""Traffic: how far the pad lies from the pavement of the street that governs."""

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

__all__ = ["CRITERION", "REQUIRED_M"]

REQUIRED_M = {"local": 10.0, "collector": 20.0, "arterial": 40.0, "highway": 40.0}
"""Distance that a pad should keep from the pavement of each class (common practice built on
municipal open-space guidance: under 20 m from a busy street needs a barrier; no national figure)."""

_NEAR_ARTERIAL_M = 6.0
_SOURCE = Source(
    "no national standard gives a distance; Camden (Australia), open-space design manual, 2023: "
    "under 20 m from a busy street needs a barrier; Pub. 325, 2.1: contain nearby traffic by hedge or fence"
)


def pavement_clearance_m(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Pad edge to pavement edge, straight, of the street that governs by distance over that required.

    The curve reads the distance divided by what the street's class requires, so that 12 m from
    a local street is better than 20 m from an arterial.
    """
    pavement = site.pavement
    if not len(pavement):
        return _no_street(pads)
    tables = []
    for name, streets in pavement.groupby("class", sort=True):
        found = nearest(pads.geometry, streets.geometry)
        found["class"] = name
        found["ratio"] = found["distance_m"] / REQUIRED_M[str(name)]
        tables.append(found)
    every = pd.concat(tables)
    every["pad_id"] = every.index
    governing = every.sort_values(["ratio", "class"], kind="stable").drop_duplicates("pad_id")
    governing = governing.set_index("pad_id").loc[pads.index]
    return Measured(
        value=governing["distance_m"],
        reads=governing["ratio"],
        note=_note(governing, pavement),
        evidence=_evidence(governing, pads, pavement),
        also={
            "required_share": governing["ratio"],
            "open_arterial_m": _open_arterial(pads, site, tables),
        },
    )


def _open_arterial(
    pads: gpd.GeoDataFrame, site: Site, tables: list[pd.DataFrame]
) -> pd.Series[float]:
    """Way that a child could run to an arterial, round what is between; only where one is near."""
    open_m = pd.Series(np.inf, index=pads.index)
    busy = [table for table in tables if table["class"].iloc[0] in {"arterial", "highway"}]
    for table in busy:
        close = table.index[table["distance_m"] < _NEAR_ARTERIAL_M]
        if len(close):
            streets = site.pavement.geometry[site.pavement["class"] == table["class"].iloc[0]]
            way = dash_m(
                pads.geometry.loc[close], streets, site.barriers, reach_m=2 * _NEAR_ARTERIAL_M
            )
            open_m.loc[close] = np.minimum(open_m.loc[close], way["dash_m"])
    return open_m


def _no_street(pads: gpd.GeoDataFrame) -> Measured:
    far = pd.Series(np.inf, index=pads.index)
    note = pd.Series("the streets layer holds no street near", index=pads.index)
    return Measured(far, reads=far, note=note, also={"required_share": far, "open_arterial_m": far})


def _note(governing: pd.DataFrame, pavement: gpd.GeoDataFrame) -> pd.Series[str]:
    names = governing["feature"].map(pavement["name"]).fillna("a street without a name")
    required = governing["class"].map(REQUIRED_M)
    text = names.astype(str) + ", " + governing["class"].astype(str)
    return text + required.map(lambda m: f": {m:.0f} m are due from its pavement")


def _evidence(
    governing: pd.DataFrame, pads: gpd.GeoDataFrame, pavement: gpd.GeoDataFrame
) -> gpd.GeoDataFrame:
    names = governing["feature"].map(pavement["name"]).fillna("nearest street that governs")
    return gpd.GeoDataFrame(
        {"pad_id": pads.index, "label": names.to_numpy()},
        geometry=list(governing["line"]),
        crs=pads.crs,
    )


CRITERION = Criterion(
    name="traffic",
    question="Can a child run into traffic?",
    plain="distance to the pavement of the street that governs",
    unit=Unit.METRE,
    needs=("streets",),
    measure=pavement_clearance_m,
    curve=Curve.rising(
        poor=0.4,
        acceptable=1.0,
        ideal=1.5,
        unit=Unit.RATIO,
        source="common practice, no source",
        reads="distance over the distance that the street's class requires",
    ),
    weight=8,
    plausible=(0, 100_000),
    group="Hazards",
    cost="quick",
    screens=(
        Screen(
            rule="within 6 m of an arterial with nothing between",
            limit=_NEAR_ARTERIAL_M,
            unit=Unit.METRE,
            out_when="below",
            source=Source("common practice, no source", "common practice"),
            reads="open_arterial_m",
            short="near arterial",
        ),
        Screen(
            rule="in the street's land",
            limit=0.0,
            unit=Unit.METRE,
            out_when="at or below",
            source=Source("a street is no site", "common practice"),
            short="in a street",
        ),
    ),
    conditions=(
        Condition(
            rule="nearer to a street than its class requires",
            limit=1.0,
            unit=Unit.RATIO,
            needs="a barrier between the play area and the street",
            source=_SOURCE,
            reads="required_share",
        ),
    ),
    sources=(_SOURCE,),
    field_task="Measure from the pad to the edge of the pavement; note speed and parked cars.",
)
