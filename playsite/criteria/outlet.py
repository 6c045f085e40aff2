"""Outlet: the shortest pipe that drains the pad by gravity, to daylight or an inlet."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from playsite.criteria._contract import Criterion, Measured, Source
from playsite.criteria._curve import Curve
from playsite.criteria._soil_groups import soil_groups
from playsite.criteria._spoken import Spoken
from playsite.engine import in_threads
from playsite.proximity.dash_gaps import bearing_word
from playsite.site import COARSE_M
from playsite.terrain.along import window_of
from playsite.terrain.grid import cells_within
from playsite.terrain.levelling import level_pad
from playsite.terrain.outlet import FALL_PCT, FREEBOARD_M, find_outlet
from playsite.terrain.pad_pieces import heights_m
from playsite.terrain.underdrain import pipe_advice
from playsite.units import Unit

if TYPE_CHECKING:
    from affine import Affine
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from playsite.site import Ground, Site
    from playsite.terrain.outlet import Outlet

__all__ = ["CRITERION", "DEPTH_M"]

DEPTH_M = 0.5
"""Invert below the finish: surfacing, stone and pipe, 0.45 to 0.6 m (common practice, no source)."""

_LEAST_FALL_PCT = 0.5
_COVER_M = 0.3  # the least over a pipe in a lawn: common practice, no source
_DEEPEST_M = 1.5  # 5 ft: deeper trenches need shoring, 29 CFR 1926.652 (from memory)
_SHALLOW_M = 0.05
_DIRECTIONS_DEG = tuple(float(turn) for turn in range(0, 360, 15))
_REACH_M = 120.0
_DRAINS = "drain|storm|sewer|water"
_NONE = (
    f"no pipe within {_REACH_M:.0f} m reaches {{ends}} on this parcel by gravity: raise the play "
    "area, pump, or ask for an easement. {advice}"
)


@dataclass(frozen=True)
class _Land:
    """Ground that a pipe may be laid in, near one pad: heights, where it may run, inlets."""

    elevation: NDArray[np.float64]
    transform: Affine
    is_free: NDArray[np.bool_]
    inlets: list[tuple[float, float, float]]
    has_inlets: bool


@dataclass(frozen=True)
class _Drain:
    """A pad's drain: inf where there is none, NaN where that can't be told."""

    length_m: float
    note: str
    pipe: Outlet | None = None


def drain_pipe_m(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Shortest pipe on the parcel that drains the pad's low edge by gravity.

    The pad is levelled first. The pipe starts below surfacing and stone, falls by 1 %, or by 0.5 %
    where nothing else reaches, keeps its cover, and ends in daylight or at an inlet, on the
    parcel or a drainage easement and off buildings. Of a play area in several parts the worst
    speaks.
    """
    ground = site.ground
    nothing = pd.Series(np.nan, index=pads.index)
    if ground is None or min(ground.elevation.shape) < 2 or ground.cell_m >= COARSE_M:
        coarse = ground is not None and ground.cell_m >= COARSE_M
        why = (
            f"not assessed: cells of {ground.cell_m:g} m are too coarse"
            if coarse and ground
            else ""
        )
        return Measured(nothing, note=pd.Series(why, index=pads.index))
    parcels, easements = site.layers.parcels.geometry, _drainage_easements(site)
    groups = soil_groups(pads, site.layer("soils"))["group"]

    def drained(row: tuple[str, BaseGeometry, str | None]) -> _Drain:
        parcel_id, pad, group = row
        land = shapely.union(parcels.get(parcel_id, pad), easements)
        each = [_drain(part, land, ground, site, group) for part in _parts(pad)]
        return max(each, key=lambda one: math.inf if math.isnan(one.length_m) else one.length_m)

    items = list(zip(pads["parcel_id"], pads.geometry, groups, strict=True))
    found: list[_Drain] = list(in_threads(drained, items))
    length_m = pd.Series([each.length_m for each in found], index=pads.index, dtype=float)
    # An inlet that no layer shows may lie at the pad's very edge: then it isn't known.
    is_open = np.isposinf(length_m) & (not site.has("inlets"))
    known_m = length_m.mask(is_open)
    return Measured(
        known_m,
        low=known_m,
        high=known_m,
        note=pd.Series([each.note for each in found], index=pads.index, dtype=str),
        evidence=_drawn(found, pads),
    )


def _parts(pad: BaseGeometry) -> list[shapely.Polygon]:
    return list(shapely.get_parts(pad))


def _drainage_easements(site: Site) -> BaseGeometry:
    """Easements whose kind says that water runs there."""
    frame = site.layer("easements")
    if not len(frame):
        return shapely.Polygon()
    is_drain = frame["kind"].astype(str).str.contains(_DRAINS, case=False)
    return shapely.union_all(frame.geometry[is_drain].to_numpy())


def _drain(
    pad: shapely.Polygon, land: BaseGeometry, ground: Ground, site: Site, group: str | None
) -> _Drain:
    level = level_pad(ground.elevation, ground.transform, pad, directions_deg=_DIRECTIONS_DEG)
    near = None if level is None else _land_near(pad, land, ground, site)
    if level is None or near is None:
        return _Drain(math.nan, "too little elevation here")
    starts, edge_m = _low_edge(pad, level.finish.at_m)
    for fall_pct in (FALL_PCT, _LEAST_FALL_PCT):
        pipes = [_pipe(near, start, edge_m - DEPTH_M, fall_pct) for start in starts]
        best = min((pipe for pipe in pipes if pipe), key=lambda one: one.length_m, default=None)
        if best is not None:
            return _Drain(best.length_m, _said(best, fall_pct, group), best)
    ends = "daylight or an inlet" if near.has_inlets else "daylight (inlets are not mapped)"
    (advice, *_) = pipe_advice(group, has_outlet=False)
    return _Drain(math.inf, _NONE.format(ends=ends, advice=advice))


def _low_edge(pad: shapely.Polygon, at_m: Any) -> tuple[list[shapely.Point], float]:
    """Ends and middle of the pad's lowest side, just inside it, and its least finished height, m."""
    corners = shapely.get_coordinates(pad.exterior)[:-1]
    height_m = np.round(at_m(corners[:, 0], corners[:, 1]), 6)
    lowest = int(np.argmin(height_m))
    beside = [lowest - 1, (lowest + 1) % len(corners)]
    other = beside[int(np.argmin(height_m[beside]))]
    one, two = corners[lowest], corners[other]
    return [shapely.Point(each) for each in (one, (one + two) / 2, two)], float(height_m[lowest])


def _land_near(
    pad: shapely.Polygon, land: BaseGeometry, ground: Ground, site: Site
) -> _Land | None:
    """Cells that a pipe of up to 120 m may use; None without elevation."""
    around = pad.buffer(_REACH_M)
    region = shapely.intersection(shapely.union(land, pad.buffer(ground.cell_m)), around)
    cut, transform = window_of(ground.elevation, ground.transform, region.bounds)
    if min(cut.shape) < 2:
        return None
    elevation = cut.astype(float)
    region = _without_buildings(region, site)
    is_free = cells_within(region, elevation.shape, transform)
    inlets = site.layer("inlets")
    own = inlets[inlets.intersects(region)] if len(inlets) else inlets
    return _Land(elevation, transform, is_free, _inverts(own, ground), site.has("inlets"))


def _without_buildings(region: BaseGeometry, site: Site) -> BaseGeometry:
    houses = site.layer("buildings").geometry
    near = houses.sindex.query(region, predicate="intersects") if len(houses) else []
    if not len(near):
        return region
    return shapely.difference(region, shapely.union_all(houses.to_numpy()[near]))


def _inverts(inlets: gpd.GeoDataFrame, ground: Ground) -> list[tuple[float, float, float]]:
    """Easting, northing and height of the lowest pipe of inlets on known ground."""
    if not len(inlets):
        return []
    points = inlets.geometry.representative_point()
    x, y = points.x.to_numpy(), points.y.to_numpy()
    lid_m = heights_m(ground.elevation, ground.transform, x, y)
    invert_m = inlets["invert_m"].fillna(pd.Series(lid_m, inlets.index) - inlets["depth_m"])
    known = invert_m.notna().to_numpy()
    return list(zip(x[known], y[known], invert_m.to_numpy(float)[known], strict=True))


def _pipe(land: _Land, start: shapely.Point, invert_m: float, fall_pct: float) -> Outlet | None:
    """Shortest pipe from one place; searched only where its end could lie low enough."""
    rows, columns = land.elevation.shape
    column, row = (math.floor(each) for each in ~land.transform @ (start.x, start.y))
    if not (0 <= row < rows and 0 <= column < columns):
        return None
    if not land.is_free[row, column] or np.isnan(land.elevation[row, column]):
        return None
    cell_m = abs(land.transform.a)
    down, across = np.ogrid[:rows, :columns]
    straight_m = np.hypot(down - row, across - column) * cell_m
    reached_m = invert_m - fall_pct / 100 * straight_m + 1e-6
    low = land.is_free & (straight_m <= _REACH_M) & (land.elevation + FREEBOARD_M <= reached_m)
    if not low.any() and not any(height_m <= invert_m for _, _, height_m in land.inlets):
        return None
    found = find_outlet(
        land.elevation,
        land.transform,
        land.is_free,
        (row, column),
        invert_m,
        fall_pct=fall_pct,
        cover_m=_COVER_M,
        deepest_m=_DEEPEST_M,
        inlets=land.inlets,
    )
    return found if found and found.length_m <= _REACH_M else None


def _said(pipe: Outlet, fall_pct: float, group: str | None) -> str:
    """Where a pipe ends, how deep it lies, and what else it asks for."""
    first, *_, last = shapely.points(shapely.get_coordinates(pipe.line))
    where = f"to the {bearing_word(first, last)}" if pipe.length_m > 0 else "at the low edge itself"
    ends = "an inlet" if pipe.ends == "inlet" else "daylight"
    weak = " at a fall of 0.5 % only, the least;" if fall_pct < FALL_PCT else ""
    deep = f"in a trench up to {pipe.deepest_trench_m:.1f} m deep"
    if pipe.deepest_trench_m < _SHALLOW_M:
        deep = "in the fill that the low side asks for"
    (advice, *_) = pipe_advice(group, has_outlet=True)
    return f"{ends} {where};{weak} {deep}, from {DEPTH_M:g} m below the finish. {advice}"


def _drawn(found: list[_Drain], pads: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    rows = [
        (pad_id, f"drain to {each.pipe.ends}, {each.length_m:.0f} m", each.pipe.line)
        for pad_id, each in zip(pads.index, found, strict=True)
        if each.pipe is not None and each.length_m > 0
    ]
    columns = ["pad_id", "label", "geometry"]
    return gpd.GeoDataFrame(rows, columns=columns, geometry="geometry", crs=pads.crs)


CRITERION = Criterion(
    name="outlet",
    question="Can a drain under the play area run out by gravity?",
    plain="shortest pipe from the play area's low edge to daylight or an inlet",
    unit=Unit.METRE,
    needs=("elevation",),
    measure=drain_pipe_m,
    curve=Curve.falling(
        ideal=20.0,
        acceptable=60.0,
        poor=_REACH_M,
        unit=Unit.METRE,
        source="common practice, no source",
    ),
    weight=3,
    plausible=(0, 1_000),
    group="Ground and water",
    sources=(Source("common practice, no source", "common practice"),),
    spoken=Spoken(beside="of pipe"),
    field_task=(
        "Find inlets and low ground to drain to; open lids and measure their inverts; ask whose "
        "land the water would run on to."
    ),
)
