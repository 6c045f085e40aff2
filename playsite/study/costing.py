"""From a run's tables to money: what each ranked site's ground, trees and conditions ask for."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from playsite._cost_settings import CostTable
from playsite.cost.charter import Limit
from playsite.cost.lines import Ground, SiteFacts
from playsite.cost.plan import plan_of
from playsite.cost.site_costs import costs_of
from playsite.problems import nearest_word
from playsite.units import in_unit

if TYPE_CHECKING:
    from collections.abc import Sequence

    import geopandas as gpd
    import pandas as pd

    from playsite.cost.prices import PriceBook
    from playsite.criteria._registry import Chosen
    from playsite.problems import Problems
    from playsite.result import Result
    from playsite.settings import Settings
    from playsite.study.found import Found

__all__ = ["check_charter", "with_money"]

_ROOT_DIAMETERS = 12.0
"""Radius of a tree's root zone in diameters of its stem: BS 5837."""


def check_charter(
    settings: Settings, chosen: Sequence[Chosen], problems: Problems
) -> tuple[Limit, ...]:
    """Must-haves of the charter as limits of criteria; wrong names and units go to the problems."""
    known = {each.name: each.criterion.unit for each in chosen}
    limits = []
    for number, wish in enumerate(settings.charter.must_haves if settings.charter else ()):
        at = settings.place("charter", "must_haves", str(number))
        if wish.criterion is None:
            limits.append(Limit(wish.text))
        elif wish.criterion not in known:
            what = f'criterion "{wish.criterion}" is not in use in this study.'
            problems.add(what, nearest_word(wish.criterion, known), **at)
        else:
            unit = known[wish.criterion]
            try:
                most, least = (
                    None if text is None else in_unit(text, unit)
                    for text in (wish.at_most, wish.at_least)
                )
            except ValueError as error:
                problems.add(f"{error}.", **at)
                continue
            limits.append(Limit(wish.text, wish.criterion, unit.value, most, least))
    return tuple(limits)


def with_money(
    result: Result,
    settings: Settings,
    found: Found,
    *,
    book: PriceBook,
    limits: Sequence[Limit],
    price: bool,
) -> Result:
    """Add costs and plan of the ranked sites to a result; scores and ranks stay as they are.

    Parameters
    ----------
    price
        Price the sites even where the study has no ``[cost]``.
    """
    asked = settings.charter or settings.funding or settings.schedule
    if not (price or settings.cost or asked):
        return result
    ranked = result.ranked
    facts = _facts(list(ranked["parcel_id"]), result, found)
    costs = None
    if price or settings.cost:
        costs = costs_of(
            settings.cost or CostTable(),
            book,
            found.pad,
            facts,
            dict(zip(ranked["parcel_id"], ranked["score"].astype(float), strict=True)),
            asked=settings.program.surfacing,
            beside=found.beside,
        )
        cited = sorted(
            {*result.run.get("cited", ()), *(price.source for price in book.prices.values())}
        )
        result = replace(result, run={**result.run, "cited": cited})
    if not asked:
        return replace(result, costs=costs)
    rows = [] if costs is None else costs.sites[["parcel_id", "p50", "p80"]].to_numpy().tolist()
    plan = plan_of(
        facts,
        {str(parcel): (float(p50), float(p80)) for parcel, p50, p80 in rows},
        charter=settings.charter,
        limits=limits,
        funds=settings.funding,
        schedule=settings.schedule,
        steps=book.steps,
    )
    return replace(result, costs=costs, plan=plan)


def _facts(parcels: list[str], result: Result, found: Found) -> list[SiteFacts]:
    pads = result.pads.set_index("parcel_id")
    dug = _dug(parcels, pads, found.earthwork)
    removed, protected = _trees(dug, found.base_map.get("trees"))
    streets = found.base_map.get("streets")
    needs = result.conditions.groupby("parcel_id")["needs"].agg(tuple).to_dict()
    measured: dict[str, dict[str, float]] = {parcel: {} for parcel in parcels}
    rows = result.measurements
    for parcel, name, value in zip(
        rows["parcel_id"], rows["criterion"], rows["value"], strict=True
    ):
        if parcel in measured:
            measured[parcel][str(name)] = float(value)
    for parcel, ramp_m in _ramps_m(found).items():
        if parcel in measured:
            measured[parcel]["ramp"] = ramp_m
    return [
        SiteFacts(
            parcel_id=parcel,
            pad_sides_m=(found.pad.length_m, found.pad.width_m),
            ground=_ground(found.earthwork, parcel),
            needs=needs.get(parcel, ()),
            trees_removed=removed[at],
            trees_protected=protected[at],
            street_m=_nearest_m(pads.geometry.loc[parcel], streets),
            measured=measured[parcel],
        )
        for at, parcel in enumerate(parcels)
    ]


def _ramps_m(found: Found) -> dict[str, float]:
    """Ramps of the step-free way to each best pad, with their landings."""
    got = found.measured.get("accessible_route")
    if got is None:
        return {}
    best = found.pads[found.pads["role"] == "best"]
    ramps = got.named("ramp_m").reindex(best.index).astype(float)
    return dict(zip(best["parcel_id"].astype(str), ramps, strict=True))


def _ground(earthwork: pd.DataFrame, parcel: str) -> Ground | None:
    """All parts of a pad together; None where one of them is not known."""
    rows = earthwork[earthwork["parcel_id"] == parcel] if len(earthwork) else earthwork
    if not len(rows) or rows["cut_m3"].isna().any():
        return None
    errors = rows["plus_minus_m3"].astype(float)
    return Ground(
        cut_m3=float(rows["cut_m3"].sum()),
        import_m3=float(rows["import_m3"].sum()),
        export_m3=float(rows["export_m3"].sum()),
        plus_minus_m3=float(np.sqrt((errors**2).sum())) if errors.notna().all() else math.nan,
        topsoil_m3=float(rows["topsoil_m3"].sum()),
        boxout_m3=float(rows["boxout_m3"].sum()),
        wall_m2=float((rows["wall_m"] * rows["wall_height_m"]).sum()),
        wall_needs_permit=any(flag is True for flag in rows["wall_needs_permit"]),
    )


def _dug(parcels: list[str], pads: gpd.GeoDataFrame, earthwork: gpd.GeoDataFrame) -> Any:
    """Outline of pad and banks, where the banks are known, else of the pad."""
    banks = {}
    if len(earthwork):
        known = earthwork[earthwork.geometry.notna()]
        banks = known.geometry.groupby(known["parcel_id"]).agg(lambda g: shapely.union_all(g.array))
    return np.array(
        [
            shapely.union(pads.geometry.loc[p], banks[p]) if p in banks else pads.geometry.loc[p]
            for p in parcels
        ],
        dtype=object,
    )


def _trees(dug: Any, trees: gpd.GeoDataFrame | None) -> tuple[list[Any], list[Any]]:
    """Trees whose stem stands in what is dug, and those whose roots reach it; None without trees."""
    if trees is None:
        return [None] * len(dug), [None] * len(dug)
    stems = shapely.centroid(trees.geometry.to_numpy())
    radii = trees["diameter_m"].astype(float) * _ROOT_DIAMETERS
    # without a diameter the crown stands in for the roots
    radii = radii.fillna(trees["crown_m"].astype(float)).fillna(0.0)
    stand = np.zeros(len(dug), dtype=int)
    reach = np.zeros(len(dug), dtype=int)
    within, _ = shapely.STRtree(stems).query(dug, predicate="intersects")
    np.add.at(stand, within, 1)
    touched, _ = shapely.STRtree(shapely.buffer(stems, radii)).query(dug, predicate="intersects")
    np.add.at(reach, touched, 1)
    return stand.tolist(), np.maximum(reach - stand, 0).tolist()


def _nearest_m(pad: shapely.Geometry, streets: gpd.GeoDataFrame | None) -> float | None:
    if streets is None or not len(streets):
        return None
    return float(shapely.distance(streets.geometry.to_numpy(), pad).min())
