"""Traffic: how far a child would run to the pavement of the street that governs."""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd

from playsite.criteria._contract import Condition, Criterion, Measured, Screen, Source
from playsite.criteria._curve import Curve
from playsite.criteria._dashed import (
    Closed,
    dashed,
    far,
    named,
    way_texts,
    ways_of,
    with_gaps_closed,
)
from playsite.criteria._spoken import Spoken
from playsite.proximity.clearance import clearance_m
from playsite.units import Unit

if TYPE_CHECKING:
    from playsite.site import Site

__all__ = ["CRITERION", "REQUIRED_M", "due_m"]

REQUIRED_M = {"local": 10.0, "collector": 20.0, "arterial": 40.0, "highway": 40.0}
"""Distance that a pad should keep from the pavement of each class (common practice built on
municipal open-space guidance: under 20 m from a busy street needs a barrier; no national figure)."""

REQUIRED_FROM_MPH = {30.0: 20.0, 40.0: 40.0}
"""As much is due from a street of this speed or more, whatever its class (common practice)."""

_NEAR_ARTERIAL_M = 6.0
_FAR_RATIO = 3.0  # ways beyond so many times what is due are not looked for: twice the ideal
_SOURCE = Source(
    "no national standard gives a distance; Camden (Australia), open-space design manual, 2023: "
    "under 20 m from a busy street needs a barrier; Pub. 325, 2.1: contain nearby traffic by hedge or fence"
)


def due_m(pavement: gpd.GeoDataFrame) -> pd.Series[float]:
    """Distance that a pad should keep from each street: by class, and more where it is fast."""
    due: pd.Series[float] = pavement["class"].map(REQUIRED_M).astype(float)
    for mph, least_m in REQUIRED_FROM_MPH.items():
        due = due.mask((pavement["speed_mph"] >= mph) & (due < least_m), least_m)
    return due


def pavement_dash_m(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Shortest way of a running child from pad edge to pavement edge, of the street that governs.

    That street has the least way over the distance due from it, and the curve reads this ratio: 12 m
    from a local street are better than 20 m from an arterial. Fences, walls and buildings stop a
    child, open gates and gaps don't. The condition reads the straight distance.
    """
    pavement = site.pavement
    if not len(pavement):
        note = "the streets layer holds no street near"
        return far(pads, note, "required_share", "open_arterial_m", "straight_m")
    due = due_m(pavement)
    straight = pd.DataFrame(
        {
            each: clearance_m(pads.geometry, pavement.geometry[due == each]) / each
            for each in sorted(due.unique())
        }
    )
    governing = _governing(pads, site, due, straight)
    names = named(governing["feature"].map(pavement["name"]), otherwise="a street without a name")
    kinds = names + ", " + governing["feature"].map(pavement["class"]).astype(str)
    said = governing["due_m"].map(lambda m: f" ({m:.0f} m are due from its pavement): ")
    closed = _closed(pads, site, due, governing)
    return Measured(
        value=governing["at_least_m"],
        reads=governing["ratio"],
        note=kinds + said + way_texts(governing, site) + closed.said,
        evidence=ways_of(governing, names, site, closed.lines),
        also={
            "required_share": straight.min(axis=1),
            "open_arterial_m": _open_arterial(pads, site),
            "straight_m": governing["straight_m"],
        },
    )


def _governing(
    pads: gpd.GeoDataFrame, site: Site, due: pd.Series[float], straight: pd.DataFrame
) -> pd.DataFrame:
    """Way to the street of the least ratio; a street is looked at only where it can be that."""
    best = pd.Series(np.inf, index=pads.index)
    parts: list[pd.DataFrame] = []
    for each in straight.columns.astype(float):
        # Of what is farther than the best so far even straight, no way can be shorter.
        look = pads.index[(straight[each] < best) | ~np.isfinite(best)]
        if not len(look):
            continue
        reach_m = each * np.minimum(best[look], _FAR_RATIO).to_numpy()
        streets = site.pavement.geometry[due == each]
        found = dashed(pads.loc[look], streets, site, reach_m=reach_m)
        found = found.assign(due_m=each, ratio=found["at_least_m"] / each)
        better = (found["ratio"] < best[look]) | ~np.isfinite(best[look])
        best[look] = np.minimum(best[look], found["ratio"])
        parts.append(found[better])
    every = pd.concat(parts)
    order = every.assign(pad_id=every.index).sort_values(["ratio", "due_m"], kind="stable")
    least: pd.DataFrame = order.drop_duplicates("pad_id").set_index("pad_id").loc[pads.index]
    return least


def _open_arterial(pads: gpd.GeoDataFrame, site: Site) -> pd.Series[float]:
    """Way that a child could run to an arterial, round what is between; only where one is near."""
    open_m = pd.Series(np.inf, index=pads.index)
    streets = site.pavement.geometry[site.pavement["class"].isin(["arterial", "highway"])]
    close = pads.index[clearance_m(pads.geometry, streets) < _NEAR_ARTERIAL_M]
    if len(close):
        reach_m = 2 * _NEAR_ARTERIAL_M
        open_m[close] = dashed(pads.loc[close], streets, site, reach_m=reach_m)["dash_m"]
    return open_m


def _closed(
    pads: gpd.GeoDataFrame, site: Site, due: pd.Series[float], governing: pd.DataFrame
) -> Closed:
    """Say what closing each gap would do, where the way is shorter than is due."""
    texts = pd.Series("", index=pads.index)
    lines = []
    for each in governing["due_m"].unique():
        found = governing[governing["due_m"] == each]
        own = pads.loc[found.index]
        streets = site.pavement.geometry[due == each]
        closed = with_gaps_closed(own, streets, site, found, below_m=float(each))
        texts[own.index] = closed.said
        lines.append(closed.lines)
    return Closed(texts, gpd.GeoDataFrame(pd.concat(lines, ignore_index=True), crs=pads.crs))


CRITERION = Criterion(
    name="traffic",
    question="Can a child run into traffic?",
    plain="way of a running child to the pavement of the street that governs",
    unit=Unit.METRE,
    needs=("streets",),
    measure=pavement_dash_m,
    curve=Curve.rising(
        poor=0.4,
        acceptable=1.0,
        ideal=1.5,
        unit=Unit.RATIO,
        source="common practice, no source",
        form="{} the distance due",
        reads="way over the distance that the street's class and speed require",
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
            takes_worse=True,
        ),
    ),
    sources=(_SOURCE,),
    spoken=Spoken(beside="to run"),
    field_task="Measure from the pad to the edge of the pavement; note speed and parked cars.",
)
