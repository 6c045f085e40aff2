"""Other hazards: rail, pipelines, fuel, industry, listed contamination, balls, dogs, drives."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd

from playsite.criteria._contract import Condition, Criterion, Measured, Screen, Source
from playsite.criteria._curve import Curve
from playsite.criteria._dashed import dashed, far, way_texts, ways_of, with_gaps_closed
from playsite.proximity.clearance import nearest
from playsite.units import LENGTHS_M, Unit

if TYPE_CHECKING:
    from playsite.site import Site

__all__ = ["CRITERION", "RULES", "Rule", "impact_radius_m"]

_FT = LENGTHS_M["ft"]
_STUDY_M = 1500 * _FT
_REACH_M = 120.0
_PRACTICE = Source("common practice, no source", "common practice")
_PIPELINE = Source(
    "Cal. Code Regs. tit. 5 sec. 14010(h), for school sites only: a risk study within 1,500 ft of a "
    "pipeline's easement; a published precedent, no rule for parks"
)
_RAIL = Source(
    "Cal. Code Regs. tit. 5 sec. 14010(d), for school sites only: a safety study within 1,500 ft",
    "from memory",
)
_BESIDE = Source(
    "Camden (Australia), open-space design manual, 2023: under 20 m from a car park or a shared path "
    "needs a barrier; taken over to balls, dogs and drives by common practice"
)
_INCOMPATIBLE = Source(
    "UFC 3-210-04 and UFC 4-740-14 name industry, fuel storage, service stations, substations and rail "
    "as neighbours to avoid; the distance is common practice"
)


@dataclass(frozen=True)
class Rule:
    """What is due from one kind of hazard.

    Parameters
    ----------
    keep_m
        Distance to keep where the layer gives none; NaN: none is known.
    needs
        Remedy that is asked for where it is nearer than that; empty: it is told alone.
    flag_m
        Within it the hazard is told at all.
    runs
        Whether what matters is how far a child would run; else the straight distance.
    owns
        Whether a pad on its land is out.
    """

    keep_m: float
    source: Source
    needs: str = ""
    flag_m: float = 0.0
    runs: bool = False
    owns: bool = True


RULES: dict[str, Rule] = {
    "rail": Rule(60.0, _RAIL, "a fence between the play area and the rail", _STUDY_M, runs=True),
    "pipeline": Rule(_STUDY_M, _PIPELINE),
    "fuel": Rule(300.0, _INCOMPATIBLE),
    "industry": Rule(300.0, _INCOMPATIBLE),
    "contamination": Rule(
        150.0, _PRACTICE, "a review of the environmental records and soil tests", 300.0
    ),
    "ball field": Rule(
        20.0, _BESIDE, "a barrier between the play area and balls", runs=True, owns=False
    ),
    "dog area": Rule(
        20.0, _BESIDE, "a barrier between the play area and dogs", runs=True, owns=False
    ),
    "drive": Rule(20.0, _BESIDE, "a barrier between the play area and the drive", runs=True),
    "other": Rule(20.0, _PRACTICE, "a look at the hazard, and a barrier if it asks for one"),
}
"""By the word of the layer; ``keep`` in the layer counts before all of them."""


def impact_radius_m(pressure_psi: float, diameter_in: float) -> float:
    """Reach of a gas pipeline's fire, m: 0.69 sqrt(p d^2) ft (49 CFR 192.903, from memory).

    For whoever fills ``keep`` of a pipeline whose pressure and diameter are known.

    Examples
    --------
    >>> round(impact_radius_m(1000, 30) / 0.3048, 1)
    654.6
    """
    return 0.69 * float(np.sqrt(pressure_psi * diameter_in**2)) * _FT


def governing_hazard_m(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Distance to the hazard that governs by its distance over the one to keep from it.

    Dash to what a child runs into (rail, balls, dogs, drives), straight to what reaches out
    (pipelines, fuel, industry, contamination). Screens and conditions read straight distances.
    """
    hazards = site.layer("hazards")
    also = ["on_it_m", *(f"{kind} share" for kind in RULES)]
    if not len(hazards):
        return far(pads, "the layer of hazards holds none near", *also)
    shares = {name: pd.Series(np.inf, index=pads.index) for name in also}
    keep_m = hazards["keep_m"].fillna(hazards["kind"].map(lambda kind: RULES[kind].keep_m))
    missing = [kind for kind in RULES if kind not in set(hazards["kind"]) and kind != "other"]
    unmapped = f"; not in the layer, so not known: {', '.join(missing)}" if missing else ""
    parts: list[pd.DataFrame] = []
    left: list[gpd.GeoDataFrame] = []  # ways that closed gaps would leave
    flags: pd.Series[str] = pd.Series("", index=pads.index)
    for (kind, due_m), own in hazards.groupby([hazards["kind"], keep_m]):
        rule = RULES[str(kind)]
        found, lines = _found(pads, own, site, rule, float(due_m))
        found = found.assign(kind=kind, due_m=due_m)
        left.append(lines.assign(kind=kind))
        found["ratio"] = found["at_least_m"] / due_m
        name = f"{kind} share"
        straight_m = found["straight_m"]
        shares[name] = shares[name].clip(upper=straight_m / due_m)
        if rule.owns:
            shares["on_it_m"] = shares["on_it_m"].clip(upper=straight_m)
        close = straight_m < max(rule.flag_m, due_m)
        told = straight_m.map(lambda m, kind=kind: f"; {kind} {m:.1f} m off")
        flags = flags + told.where(close, "")
        parts.append(found)
    every = pd.concat(parts)
    order = every.assign(pad_id=every.index).sort_values(["ratio", "kind"], kind="stable")
    least = order.drop_duplicates("pad_id").set_index("pad_id").loc[pads.index]
    names = least["feature"].map(hazards["name"])
    names = names.astype(object).where(names.notna(), least["kind"]).astype(str)
    due = least["due_m"].map(lambda m: f" ({m:.0f} m to keep): ")
    lines = gpd.GeoDataFrame(pd.concat(left, ignore_index=True), crs=pads.crs)
    governs = lines["kind"] == lines["pad_id"].map(least["kind"])
    return Measured(
        least["at_least_m"],
        reads=least["ratio"],
        note=names + due + least["said"] + flags + unmapped,
        evidence=ways_of(least, names, site, lines.loc[governs, ["pad_id", "label", "geometry"]]),
        also=shares | {"straight_m": least["straight_m"]},
    )


def _found(
    pads: gpd.GeoDataFrame, own: gpd.GeoDataFrame, site: Site, rule: Rule, due_m: float
) -> tuple[pd.DataFrame, gpd.GeoDataFrame]:
    """Way to the nearest of one kind, as a child runs or straight; ways that closed gaps leave."""
    if rule.runs:
        found = dashed(pads, own.geometry, site, reach_m=_REACH_M)
        closed = with_gaps_closed(pads, own.geometry, site, found, below_m=due_m)
        return found.assign(said=way_texts(found, site) + closed.said), closed.lines
    straight = nearest(pads.geometry, own.geometry).rename(columns={"line": "path"})
    straight["at_least_m"] = straight["straight_m"] = straight["distance_m"]
    said = "in a straight line, whatever is between"
    none = gpd.GeoDataFrame({"pad_id": [], "label": []}, geometry=[], crs=pads.crs)
    return straight.assign(said=said, dash_m=np.nan), none


def _conditions() -> tuple[Condition, ...]:
    return tuple(
        Condition(
            rule=f"nearer to a hazard ({kind}) than the distance to keep",
            limit=1.0,
            unit=Unit.RATIO,
            needs=rule.needs,
            source=rule.source,
            reads=f"{kind} share",
        )
        for kind, rule in RULES.items()
        if rule.needs
    )


CRITERION = Criterion(
    name="other_hazards",
    question="What else near the play area can hurt a child?",
    plain="distance to the hazard that governs: rail, pipelines, fuel, industry, balls, dogs",
    unit=Unit.METRE,
    needs=("hazards",),
    measure=governing_hazard_m,
    curve=Curve.rising(
        poor=0.4,
        acceptable=1.0,
        ideal=1.5,
        unit=Unit.RATIO,
        source=str(_PRACTICE),
        form="{} the distance due",
        reads="distance over the one to keep from such a hazard",
    ),
    weight=0,
    plausible=(0, 100_000),
    group="Hazards",
    cost="quick",
    screens=(
        Screen(
            rule="on the land of a hazard",
            limit=0.0,
            unit=Unit.METRE,
            out_when="at or below",
            source=Source(
                "a pad can't lie on rail, over a pipeline or on listed land", "common practice"
            ),
            reads="on_it_m",
            short="on a hazard",
        ),
    ),
    conditions=_conditions(),
    sources=(_RAIL, _PIPELINE, _INCOMPATIBLE, _BESIDE, _PRACTICE),
    field_task="Ask the fire marshal and the state's lists; look for markers of pipelines, tanks, tracks.",
)
