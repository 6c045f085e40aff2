"""From a run's tables to money: what each ranked site's ground, trees and conditions ask for."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from playsite._cost_settings import CostTable
from playsite.cost.lines import Ground, SiteFacts
from playsite.cost.site_costs import costs_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    import geopandas as gpd
    import pandas as pd

    from playsite.cost.prices import PriceBook
    from playsite.cost.record import Costs
    from playsite.settings import Settings
    from playsite.study.found import Found

__all__ = ["study_costs"]

_ROOT_DIAMETERS = 12.0
"""Radius of a tree's root zone in diameters of its stem: BS 5837."""
_PRICED = ("ranked",)


def study_costs(
    settings: Settings, found: Found, tables: Mapping[str, Any], book: PriceBook
) -> Costs:
    """Price the ranked sites of a run; by defaults where the study says nothing of money.

    Parameters
    ----------
    tables
        As `answer_tables` gives them: sites in order, pads, conditions, measurements.
    """
    sites = tables["sites"]
    ranked = sites[sites["status"].isin(_PRICED)]
    pads = tables["pads"].set_index("parcel_id")
    facts = _facts(list(ranked["parcel_id"]), pads, found, tables)
    return costs_of(
        settings.cost or CostTable(),
        book,
        found.pad,
        facts,
        dict(zip(ranked["parcel_id"], ranked["score"].astype(float), strict=True)),
        asked=settings.program.surfacing,
        beside=found.beside,
    )


def _facts(
    parcels: list[str], pads: gpd.GeoDataFrame, found: Found, tables: Mapping[str, Any]
) -> list[SiteFacts]:
    dug = _dug(parcels, pads, found.earthwork)
    removed, protected = _trees(dug, found.base_map.get("trees"))
    streets = found.base_map.get("streets")
    needs = tables["conditions"].groupby("parcel_id")["needs"].agg(tuple).to_dict()
    measured = tables["measurements"].pivot_table(
        index="parcel_id", columns="criterion", values="value", dropna=False
    )
    return [
        SiteFacts(
            parcel_id=parcel,
            pad_sides_m=(found.pad.length_m, found.pad.width_m),
            ground=_ground(found.earthwork, parcel),
            needs=needs.get(parcel, ()),
            trees_removed=removed[at],
            trees_protected=protected[at],
            street_m=_nearest_m(pads.geometry.loc[parcel], streets),
            measured=measured.loc[parcel].to_dict() if parcel in measured.index else {},
        )
        for at, parcel in enumerate(parcels)
    ]


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
