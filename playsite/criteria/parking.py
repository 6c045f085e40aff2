"""Parking: the walk from the pad to the nearest public parking, its spaces, and when it is full."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import shapely

from playsite.criteria._contract import Criterion, Measured, Source
from playsite.criteria._curve import Curve
from playsite.criteria._nearest_public import in_use, walk_rules, walk_to_usable
from playsite.criteria._spoken import Spoken
from playsite.proximity.accessible_spaces import accessible_spaces_due
from playsite.proximity.walking import walk_m
from playsite.units import Unit

if TYPE_CHECKING:
    import geopandas as gpd

    from playsite.site import Site

__all__ = ["CRITERION", "NEAR_M"]

NEAR_M = 120.0
"""Spaces within this walk of the pad are counted; common practice, no source."""


def walk_to_parking_m(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Walk from the pad along streets and paths to the nearest public parking open in play hours.

    The note counts the spaces within 120 m, lot by lot, and the accessible ones that the ADA
    standards (208.2) ask of each lot.
    """
    got = walk_to_usable(pads, site, "parking", "car park")
    if got.note is None or site.ways is None:
        return got
    return replace(got, note=got.note + _spaces(pads, site))


def _spaces(pads: gpd.GeoDataFrame, site: Site) -> pd.Series[str]:
    """Say how many spaces lie within the walk; a lot of unknown size is told as such."""
    lots = site.layer("parking")
    texts = pd.Series("", index=pads.index, dtype=object)
    if not len(lots):
        return texts
    lots = lots[in_use(lots, site.play)[0]]
    near: dict[object, list[object]] = {pad: [] for pad in pads.index}
    tree = shapely.STRtree(pads.geometry.to_numpy())
    ways = site.ways
    for lot in lots.index:
        shape = lots.geometry[lot]
        rows = np.sort(tree.query(shape, predicate="dwithin", distance=NEAR_M))
        if not len(rows) or ways is None:
            continue
        walks = walk_m(
            pads.geometry.iloc[rows],
            lots.geometry.loc[[lot]],
            ways,
            reach_m=NEAR_M,
            paths=False,
            **walk_rules(pads.iloc[rows], lots.loc[[lot]], site),
        )
        for pad in walks.index[np.isfinite(walks["walk_m"])]:
            near[pad].append(lot)
    return pd.Series([_told(lots.loc[near[pad]]) for pad in pads.index], index=pads.index)


def _told(lots: gpd.GeoDataFrame) -> str:
    if not len(lots):
        return ""
    known = lots["capacity"].dropna()
    if not len(known):
        return f"; spaces within {NEAR_M:.0f} m: not known"
    more = f" and {len(lots) - len(known)} lots of unknown size" if len(known) < len(lots) else ""
    due = sum(accessible_spaces_due(int(spaces)) for spaces in known)
    mapped = lots["accessible_spaces"]
    has = (
        f"{mapped.sum():.0f} mapped" if mapped.notna().all() else "how many there are is not known"
    )
    full = "".join(f"; full: {when}" for when in dict.fromkeys(lots["full_when"].dropna()))
    return (
        f"; {known.sum():.0f} spaces within {NEAR_M:.0f} m{more}; accessible: {due} due by "
        f"ADA 208.2, {has}{full}"
    )


CRITERION = Criterion(
    name="parking",
    question="Can families park within a short walk?",
    plain="walk to the nearest public parking",
    unit=Unit.METRE,
    needs=("parking",),
    measure=walk_to_parking_m,
    curve=Curve.falling(
        ideal=60.0,
        acceptable=120.0,
        poor=200.0,
        unit=Unit.METRE,
        source="common practice, no source",
    ),
    weight=3,
    plausible=(0, 100_000),
    group="Getting there and comfort",
    sources=(
        Source("distances of a short walk with a small child", "common practice"),
        Source("2010 ADA Standards for Accessible Design, 208.2, table of accessible spaces"),
    ),
    spoken=Spoken(beside="to walk"),
    field_task="Count free spaces at the busiest hour, and accessible ones.",
)
