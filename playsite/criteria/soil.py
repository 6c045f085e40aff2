"""Soil: whether the ground takes water, by the survey's units, their worst parts and what is unknown."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from playsite.criteria._contract import Criterion, Measured, Source
from playsite.criteria._curve import Curve
from playsite.criteria._overlay import drawn, pieces
from playsite.criteria._spoken import Spoken
from playsite.terrain.soil_rates import governing_group
from playsite.units import Unit

if TYPE_CHECKING:
    import geopandas as gpd

    from playsite.site import Site

__all__ = ["CRITERION", "ratings", "soil_of"]

_WORST_PCT = 15.0
"""A component of this share of its unit or more may be what lies under the pad."""

_LEAST_KNOWN = 0.5
_WET_M, _DRY_M = 0.45, 0.75  # 1.5 and 2.5 ft
_SHALLOW_ROCK_M, _STONY_PCT = 0.5, 25.0
_DRY_CLASSES = ("well drained", "somewhat excessively drained", "excessively drained")
_WET_CLASSES = ("poorly drained", "very poorly drained", "subaqueous")

_GUIDE = Source(
    "NRCS, Playgrounds interpretation: texture, water table, ponding, flooding, permeability, large "
    "stones and depth to bedrock matter; the breaks at 1.5 and 2.5 ft are from memory"
)
_DRAINAGE = Source(
    "Soil Survey Manual, ch. 3: free water in well drained soils is deep or very deep; in poorly "
    "drained ones shallow (read in excerpt; depths of the classes from memory)"
)
_GROUPS = Source(
    "USDA, National Engineering Handbook, part 630, ch. 7: dual groups are D unless drained",
    "from memory",
)
_PRACTICE = Source("scores and the 15 % of the worst component: common practice", "common practice")


def ratings(soils: pd.DataFrame) -> pd.DataFrame:
    """Least and best rating that each row of soils may have, 0 to 1: ``low``, ``high``, ``known``.

    A and B with water deeper than 75 cm: 1; C, or water at 45 to 75 cm: 0.5; D, water above 45 cm,
    frequent flooding or ponding: 0. A dual group is D. Without a depth to water the drainage class
    tells, else both ends stay open. Made and covered land is unknown: 0 to 1.
    """
    group = soils["group"].map(
        lambda text: governing_group(text if isinstance(text, str) else None)
    )
    by_group = {"A": 1.0, "B": 1.0, "C": 0.5, "D": 0.0}
    best = group.map(by_group).astype(float).fillna(1.0)
    least = group.map(by_group).astype(float).fillna(0.0)
    depth_m = soils["water_table_m"].astype(float)
    drainage = soils["drainage"].astype(object).fillna("").astype(str).str.strip().str.lower()
    dry = (depth_m > _DRY_M) | (depth_m.isna() & drainage.isin(_DRY_CLASSES))
    wet = (depth_m < _WET_M) | (depth_m.isna() & drainage.isin(_WET_CLASSES))
    between = depth_m.notna() & ~dry & ~wet
    # Without a depth A and B may have water at 60 to 75 cm: shallower it would make them D.
    unsaid = depth_m.isna() & ~dry & ~wet
    least = least.clip(upper=least.where(~(between | unsaid), 0.5))
    best = best.where(~between, best.clip(upper=0.5))
    often = soils["flooding"].isin(("frequent", "very frequent")) | (soils["ponding"] == "frequent")
    bad = wet | often
    ponded = soils["ponded_pct"].astype(float) >= _WORST_PCT
    made = soils["is_made"].astype(bool)
    return pd.DataFrame(
        {
            "low": least.where(~(bad | ponded | made), 0.0),
            "high": best.where(~bad, 0.0).where(~made, 1.0),
            "known": (group.notna() | bad | between) & ~made,
        }
    )


def soil_of(pads: gpd.GeoDataFrame, soils: gpd.GeoDataFrame) -> pd.DataFrame:
    """Rating of each pad's soil: mean by area over what is known, and the ends of what it may be.

    Returns
    -------
    DataFrame
        By pad: ``rating`` (NaN where less than half of its soil is known), ``low`` and ``high``
        (those of components of at least 15 % of their unit; 0 and 1 where a part is unknown),
        ``known`` (share, 0 to 1).
    """
    rated = ratings(soils)
    found = pieces(pads, soils.geometry)
    area = dict(zip(pads.index, pads.area, strict=True))
    found = found.join(
        rated.assign(part=soils["part"], share_pct=100 * soils["part"]), on="feature"
    )
    found["share"] = found["area_m2"] * found["part"] / found["pad_id"].map(area)
    known = found[found["known"]]
    middle = known["share"] * (known["low"] + known["high"]) / 2
    total = known["share"].groupby(known["pad_id"]).sum().reindex(pads.index).fillna(0.0)
    rating = middle.groupby(known["pad_id"]).sum().reindex(pads.index) / total.where(total > 0)
    all_of_it = found["share"].groupby(found["pad_id"]).sum().reindex(pads.index).fillna(0.0)
    # Where two surveys overlap, shares of a pad add up to more than it has.
    share = (total / all_of_it.clip(lower=1)).clip(upper=1)
    large = known[known["share_pct"] >= _WORST_PCT - 1e-9].groupby("pad_id")
    low = large["low"].min().reindex(pads.index).fillna(rating)
    high = large["high"].max().reindex(pads.index).fillna(rating)
    whole, enough = share >= 1 - _WORST_PCT / 100, share >= _LEAST_KNOWN
    return pd.DataFrame(
        {
            "rating": rating.where(enough),
            "low": np.minimum(low.where(whole, 0.0), rating),
            "high": np.maximum(high.where(whole, 1.0), rating),
            "known": share,
        }
    )


def soil_rating(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Rating of the soil by hydrologic group, depth to water, flooding and ponding, by area.

    Unknown where the survey says nothing of more than half of the pad: outside its units, on made
    or covered land. The interval runs from the worst to the best component of at least 15 % of
    their units: nobody knows which of them lies under the pad.
    """
    soils = site.layer("soils")
    if not len(soils):
        value = pd.Series(np.nan, index=pads.index)
        return Measured(value, note=value.map(lambda _: "unknown: the soil survey holds none near"))
    found = soil_of(pads, soils)
    on = pieces(pads, soils.geometry)
    known = found["rating"].notna()
    return Measured(
        found["rating"],
        low=found["low"].where(known),
        high=found["high"].where(known),
        note=_notes(pads, soils, on, found["known"]),
        evidence=drawn(on.drop_duplicates(["pad_id", "geometry"]), _units(soils).to_dict()),
    )


def _units(soils: gpd.GeoDataFrame) -> pd.Series[str]:
    """Name of each row's unit, else its symbol."""
    text = {name: soils[name].astype(object).fillna("").astype(str) for name in ("unit", "name")}
    said: pd.Series[str] = text["name"].where(text["name"] != "", "soil unit " + text["unit"])
    return said.str.strip()


def _notes(
    pads: gpd.GeoDataFrame, soils: gpd.GeoDataFrame, on: gpd.GeoDataFrame, known: pd.Series[float]
) -> pd.Series[str]:
    facts = [_facts(row) for row in soils.to_dict("records")]
    part = soils["component"].astype(object)
    names = _units(soils) + (": " + part.astype(str)).where(part.notna(), "")
    said = pd.Series([f"{a} ({b})" for a, b in zip(names, facts, strict=True)], index=soils.index)
    area = dict(zip(pads.index, pads.area, strict=True))
    share = 100 * on["area_m2"] * on["feature"].map(soils["part"]) / on["pad_id"].map(area)
    big = on.assign(share=share)[share >= _WORST_PCT].sort_values(
        "share", ascending=False, kind="stable"
    )
    texts: dict[object, list[str]] = {}
    for pad_id, feature, own in zip(big["pad_id"], big["feature"], big["share"], strict=True):
        texts.setdefault(pad_id, []).append(f"{own:.0f} % {said[feature]}")
    notes = []
    for pad_id, whole in known.items():
        told = texts.get(pad_id, ["the survey doesn't reach here"])
        told += (
            [f"of {100 - 100 * whole:.0f} % of it the soil is not known"] if whole < 0.99 else []
        )
        notes.append("; ".join([*told, "units are larger than a play area"]))
    return pd.Series(notes, index=pads.index, dtype=str)


def _facts(row: dict[str, object]) -> str:
    """Say what the survey gives of one soil, and what is against it."""
    if row["is_made"]:
        return "made or covered land: nothing is known of it"
    said = [f"group {row['group']}" if isinstance(row["group"], str) else "group not given"]
    if isinstance(row["group"], str) and "/" in row["group"]:
        said[0] += ", taken as D: nobody says that it is drained"
    depth_m, rock_m = float(str(row["water_table_m"])), float(str(row["rock_m"]))
    said.append("no depth to water" if np.isnan(depth_m) else f"water at {100 * depth_m:.0f} cm")
    if np.isnan(depth_m) and isinstance(row["drainage"], str):
        said[-1] = row["drainage"].lower()
    floods = [(row[name], name) for name in ("flooding", "ponding")]
    said += [f"{how} {name}" for how, name in floods if isinstance(how, str) and how != "none"]
    if float(str(row["ponded_pct"])) >= _WORST_PCT:
        said.append(f"water stands on {row['ponded_pct']:.0f} % of the unit")
    if rock_m < _SHALLOW_ROCK_M:
        said.append(f"rock at {100 * rock_m:.0f} cm")
    if float(str(row["stones_pct"])) > _STONY_PCT:
        said.append(f"{row['stones_pct']:.0f} % stones")
    return ", ".join(said)


CRITERION = Criterion(
    name="soil",
    question="Does the soil take water?",
    plain="rating of the soil by drainage group, depth to water, flooding and ponding",
    unit=Unit.RATING,
    needs=("soils",),
    measure=soil_rating,
    curve=Curve.rising(
        poor=0.0, acceptable=0.5, ideal=1.0, unit=Unit.RATING, source=str(_PRACTICE)
    ),
    weight=4,
    plausible=(0, 1),
    group="Ground and water",
    sources=(_GUIDE, _DRAINAGE, _GROUPS, _PRACTICE),
    spoken=Spoken(steps=((0.0, "poor"), (0.5, "fair"), (0.75, "good"))),
    field_task=(
        "Two auger holes to 0.9 m after the utilities are marked: texture, gray mottles, fill, "
        "refusal; a test of how fast water soaks in."
    ),
)
