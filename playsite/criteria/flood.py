"""Flood: how much of the pad lies in a mapped flood zone, and in which."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from playsite.criteria._contract import Condition, Criterion, Measured, Screen, Source
from playsite.criteria._curve import Curve
from playsite.criteria._overlay import drawn, extent_of, pieces, reach_m, share_pct
from playsite.units import Unit

if TYPE_CHECKING:
    import geopandas as gpd

    from playsite.site import Site

__all__ = ["CRITERION"]

_WORST = ("floodway", "1 percent", "0.2 percent")
_SAYS_DRY = ("outside", "beyond 1 percent")
_PRACTICE = Source("common practice, no source", "common practice")
_ZONES = Source(
    "flood zones A, AE, AH, AO: a chance of one percent or more in any year (Pima County code "
    "16.08.650); shaded X: between 1 and 0.2 percent (Newport Beach, page on the federal maps)"
)
_CODES = Source(
    "municipal park-land codes refuse floodplain, or count it at a half or a third (Mansfield and "
    "Denton, Texas); the floodway by common practice"
)
_ABSENT = "streams that drain less than about a square mile mostly have no zone"


def in_flood_zone_pct(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Share of the pad in a mapped flood zone of 0.2 percent a year or worse, by area.

    Unknown where the map says nothing of more than 1 % of the pad: outside its extent, not studied,
    or an X that doesn't tell whether the 0.2 percent zone reaches there.
    """
    zones = site.layer("flood_zones")
    if not len(zones):
        nobody = pd.Series(float("nan"), index=pads.index)
        return Measured(nobody, note=nobody.map(lambda _: "unknown: the flood map holds none near"))
    kind = zones["class"]
    found = pieces(pads, zones.geometry)
    of = found["feature"].map(kind)
    up_to = {
        name: share_pct(pads, found[of.isin(_WORST[: place + 1])])
        for place, name in enumerate(_WORST)
    }
    zoned = up_to["0.2 percent"]
    known = _known_pct(pads, zones, found)
    low, high = zoned, (zoned + (100 - known)).clip(upper=100)
    sure = high - low <= 1
    return Measured(
        low.where(sure),
        low=low.where(sure),
        high=high.where(sure),
        note=_notes(up_to, known),
        evidence=drawn(found[of.isin(_WORST)], ("flood zone: " + kind).to_dict()),
        also={
            "floodway_pct": up_to["floodway"],
            "one_pct": up_to["1 percent"],
            "clear_pct": 100 - up_to["1 percent"],
        },
    )


def _known_pct(
    pads: gpd.GeoDataFrame, zones: gpd.GeoDataFrame, found: gpd.GeoDataFrame
) -> pd.Series[float]:
    """Share of each pad of which the map says in which zone it lies, or that it lies in none."""
    of = found["feature"].map(zones["class"])
    told = share_pct(pads, found[of.isin((*_WORST, "outside"))])
    draws_dry_land = zones["class"].isin(_SAYS_DRY).any()
    if draws_dry_land:  # then what it leaves blank it doesn't know
        return told
    blank = share_pct(pads, found[of == "not studied"])
    held = reach_m(pads, extent_of(zones[zones["class"] != "not studied"])).notna()
    return (100 - blank).where(held, told).clip(lower=told)


def _notes(up_to: dict[str, pd.Series[float]], known: pd.Series[float]) -> pd.Series[str]:
    texts = []
    for known_pct, *shares in zip(known, *up_to.values(), strict=True):
        said = []
        for name, own in zip(up_to, np.diff([0.0, *shares]), strict=True):
            if own > 0:
                much = f"{own:.0f} %" if own >= 1 else "less than 1 %"
                said.append(f"{much} in the {name}{'' if name == 'floodway' else ' zone'}")
        if known_pct < 99:
            said.append(f"{100 - known_pct:.0f} % of it the flood map doesn't tell")
        texts.append(", ".join(said) or f"in no mapped zone; {_ABSENT}")
    return pd.Series(texts, index=known.index, dtype=str)


CRITERION = Criterion(
    name="flood",
    question="Does the ground lie in a mapped flood zone?",
    plain="share of the play area in a mapped flood zone",
    unit=Unit.PERCENT,
    needs=("flood_zones",),
    measure=in_flood_zone_pct,
    curve=Curve.falling(
        ideal=0.0, acceptable=50.0, poor=100.0, unit=Unit.PERCENT, source=str(_PRACTICE)
    ),
    weight=1,
    plausible=(0, 100),
    group="Ground and water",
    cost="quick",
    screens=(
        Screen(
            rule="more than 0 % of it in the 1 percent flood zone",
            limit=0.0,
            unit=Unit.PERCENT,
            out_when="above",
            source=_CODES,
            reads="one_pct",
            short="flood zone",
        ),
        Screen(
            rule="in the floodway",
            limit=0.0,
            unit=Unit.PERCENT,
            out_when="above",
            source=_CODES,
            reads="floodway_pct",
            short="floodway",
        ),
    ),
    conditions=(
        Condition(
            rule="in the 1 percent flood zone, which this study allows",
            limit=100.0,
            unit=Unit.PERCENT,
            needs="a floodplain permit and an engineer's review",
            source=_PRACTICE,
            reads="clear_pct",
        ),
    ),
    sources=(_ZONES, _CODES, _PRACTICE),
    field_task="Ask the floodplain administrator for zones and past floods; look for drift lines.",
)
