"""Obstacles found in the field: the pads they touch are looked for again, and nothing else is."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import pandas as pd
import pyproj
import shapely

from playsite.engine import quietly
from playsite.result import IN_THE_WAY
from playsite.site import Site
from playsite.study.assembling import natural_order
from playsite.study.choosing import Placed, joined
from playsite.study.found import Part, recall, remember
from playsite.study.one_part import part_of_town
from playsite.study.taking import Taker
from playsite.units import Unit
from playsite.visits import quantity, standing_of
from playsite.visits.rules import obstacle_place

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from playsite.engine import Watch
    from playsite.layers import Layers
    from playsite.problems import Problems
    from playsite.settings import Settings
    from playsite.study.found import Found
    from playsite.study.one_part import Asked
    from playsite.visits import Visit

__all__ = [
    "FAR_M",
    "Obstacle",
    "check_obstacles",
    "drawn_obstacles",
    "kept_clear",
    "obstacles_of",
]

FAR_M = 50.0
"""An obstacle farther from its parcel is taken for a slip of the pen."""

_RULE = "obstacles found on a visit"


@dataclass(frozen=True)
class Obstacle:
    """A disc of ground that is not free: its parcel, its shape in the study's system, its words."""

    parcel_id: str
    shape: Any
    words: str


def obstacles_of(log: Sequence[Visit], parcels: gpd.GeoSeries) -> list[Obstacle]:
    """Obstacles that count; those of parcels that are no candidates any more are passed over."""
    counting = [each.visit for each in standing_of(log) if not each.why_not]
    own = [visit for visit in counting if visit.is_obstacle and visit.parcel_id in parcels.index]
    return [made for visit in own if (made := _obstacle(visit, parcels)) is not None]


def _obstacle(visit: Visit, parcels: gpd.GeoSeries) -> Obstacle | None:
    told = obstacle_place(visit.note)
    if told is None:
        return None
    spot = _spot(told[0], told[1], parcels, visit.parcel_id)
    radius_m = quantity(visit.value, visit.unit, Unit.METRE)
    return None if spot is None else Obstacle(visit.parcel_id, spot.buffer(radius_m), told[2])


def _spot(first: float, second: float, parcels: gpd.GeoSeries, parcel_id: str) -> Any:
    """Place in the study's system, of easting and northing or of latitude and longitude."""
    shape = parcels.loc[parcel_id]
    spots = [shapely.Point(first, second)]
    if abs(first) <= 90 and abs(second) <= 180:
        over = pyproj.Transformer.from_crs("EPSG:4326", parcels.crs, always_xy=True)
        spots.append(shapely.Point(*over.transform(second, first)))
    near = [spot for spot in spots if np.isfinite(spot.x) and spot.distance(shape) <= FAR_M]
    return near[0] if near else None


def check_obstacles(
    rows: Sequence[Visit], parcels: gpd.GeoSeries, file: str, problems: Problems
) -> None:
    """Tell each obstacle that lies nowhere near its parcel."""
    for row in rows:
        told = obstacle_place(row.note) if row.is_obstacle and not row.is_withdrawal else None
        if told is None or row.parcel_id not in parcels.index:
            continue
        if _spot(told[0], told[1], parcels, row.parcel_id) is None:
            swapped = _spot(told[1], told[0], parcels, row.parcel_id) is not None
            remedy = (
                "Its two numbers are swapped: easting, northing, or latitude, longitude."
                if swapped
                else f"Give easting, northing in {parcels.crs.to_string()}, or latitude, longitude."
            )
            what = f"the obstacle lies more than {FAR_M:g} m from parcel {row.parcel_id}."
            problems.add(what, remedy, file=file, line=row.line)


def kept_clear(
    found: Found,
    obstacles: Sequence[Obstacle],
    asked: Asked,
    layers: Callable[[], Layers],
    key: str,
    watch: Watch = quietly,
) -> Found:
    """Look for new pads where an obstacle touches one; all other pads stay where they are.

    Parameters
    ----------
    found
        From the map alone.
    layers
        Reads the layers: asked only where something must be measured again.
    key
        Of the run, under which what is found again is remembered.
    """
    if not obstacles:
        return found
    discs = shapely.union_all([each.shape for each in obstacles])
    hit = found.pads.intersects(discs)
    best = found.pads["role"] == "best"
    ids = set(found.pads.loc[hit & best, "parcel_id"])
    free = replace(
        found, pads=found.pads[~hit | best]
    )  # others that are hit are no choice any more
    if not ids:
        return free
    told = [(each.parcel_id, each.shape.wkb_hex) for each in obstacles]
    own_key = hashlib.sha256(repr((key, told)).encode()).hexdigest()
    part = recall(own_key, Part) if key else None
    if part is None:
        shapes = gpd.GeoSeries([each.shape for each in obstacles], crs=found.parcels.crs)
        takers = (Taker(_RULE, shapes, 0.0, "visits"),)
        part = part_of_town(
            replace(asked, obstacles=takers), _site_of(ids, layers(), asked.settings), watch
        )
        if key:
            remember(own_key, part)
    return _merged(free, part, ids)


def drawn_obstacles(obstacles: Sequence[Obstacle], crs: Any) -> gpd.GeoDataFrame:
    """Obstacles as evidence of the fit: they stand on the plan and on the map."""
    rows = [
        (each.parcel_id, "fit", ": ".join(filter(None, [IN_THE_WAY, each.words])), each.shape)
        for each in obstacles
    ]
    columns = ["parcel_id", "criterion", "label", "geometry"]
    return gpd.GeoDataFrame(rows, columns=columns, geometry="geometry", crs=crs)


def _site_of(ids: set[str], layers: Layers, settings: Settings) -> Site:
    """Site of some parcels: the ground as the whole run has it, windowed where that is."""
    parcels = layers.parcels.loc[layers.parcels.index.isin(ids)]
    windowed = layers.elevation is not None and not layers.elevation.is_whole
    if windowed:
        return Site(layers, settings).part(parcels)
    return Site(replace(layers, parcels=parcels), settings)


def _merged(found: Found, part: Part, ids: set[str]) -> Found:
    """What was found, with some parcels' part in place of theirs, in every table that has parcels."""

    def swapped(before: Any, after: Any) -> Any:
        kept = [table for table in (before[~before["parcel_id"].isin(ids)], after) if len(table)]
        return pd.concat(kept, ignore_index=True) if kept else before.iloc[:0]

    def swapped_rows(before: Any, after: Any) -> Any:
        return pd.concat([before[~before.index.isin(ids)], after]).loc[before.index]

    others = found.pads[~found.pads["parcel_id"].isin(ids)]
    placed = Placed(others, found.measured)
    if len(part.placed.pads):
        placed = joined(placed, part.placed) if len(others) else part.placed
    tables = {
        each.name: swapped(before, getattr(part, each.name))
        for each in fields(part)
        if "parcel_id" in getattr(before := getattr(found, each.name, None), "columns", ())
    }
    ledger = tables["ledger"]
    place = {name: number for number, name in enumerate(natural_order(set(ledger["parcel_id"])))}
    order = ledger["parcel_id"].map(place).argsort(kind="stable")
    return replace(
        found,
        pads=placed.pads,
        measured=placed.measured,
        largest=swapped_rows(found.largest, part.largest),
        fits_beside=swapped_rows(found.fits_beside, part.fits_beside),
        **{**tables, "ledger": ledger.iloc[order].reset_index(drop=True)},
    )
