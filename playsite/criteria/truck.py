"""Truck: the way from the street to the pad for trucks and machines, and what it takes to open it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from playsite.criteria._contract import Condition, Criterion, Measured, Source
from playsite.criteria._curve import Curve
from playsite.criteria._dashed import far
from playsite.criteria._service_streets import Demand, service_streets
from playsite.criteria._standing import priced, standing_before_trucks
from playsite.routes.truck_turn import turns_in
from playsite.routes.truck_way import CORRIDOR_M, WIDE_M, truck_way
from playsite.terrain.along import heights_at, steep_ground, window_of
from playsite.units import LENGTHS_M, Unit

if TYPE_CHECKING:
    from playsite.routes.truck_way import TruckWay
    from playsite.site import Site

__all__ = ["CRITERION", "TRUCK"]

_FT = LENGTHS_M["ft"]
TRUCK = Demand(weight_t=14.97, height_m=14 * _FT, width_m=CORRIDOR_M, grade_pct=15.0)
"""What a delivery truck needs of a street: 33,000 lb, 14 ft, one lane, 15 %."""

_REACH_M = 200.0
_WHEELBASE_M = 20 * _FT
_SHORT_GRADE_PCT, _GRADE_PCT = 15.0, 12.0
_APRON_M = 3.0
_NO_WIDTH_M = 0.05
_HIGH_M = 14 * _FT
_OWN_LAND_M = 10.0  # verge between a lot line and the pavement
_DESIGN_TRUCK = Source(
    "AASHTO, A Policy on Geometric Design of Highways and Streets, design vehicle SU: 9.2 m long, "
    "2.4 m wide, wheelbase 6.1 m"
)
_WEIGHT = Source("U.S. truck class 7: gross weight up to 33,000 lb", "from memory")
_ROOTS = Source("BS 5837:2012: root zone of 12 stem diameters, 15 m at most", "from memory")
_PRACTICE = Source(
    "12 ft wide, 14 ft high, 12 % of grade (15 % on a short piece): common practice",
    "common practice",
)


def truck_way_m(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Length off the pavement of the way for a truck, from a street it may use to the pad's edge.

    A corridor 12 ft wide, round buildings, water, trees with their roots, fences but for gates, and
    ground over 15 %; each that it opens or crosses is worth a detour, and is told. The interval's
    high end opens nothing. Height under crowns and wires is told, not known.
    """
    streets = service_streets(site, pads.geometry, TRUCK)
    if not len(streets):
        return far(pads, "no street near that a truck may use", "corridor_m", "turns")
    standing = standing_before_trucks(site)
    tree = shapely.STRtree(standing.geometry.to_numpy())
    ways: list[TruckWay] = []
    turns: list[str] = []
    for pad in pads.geometry:
        near = np.sort(tree.query(pad, predicate="dwithin", distance=_REACH_M + CORRIDOR_M))
        steep = _steep(pad, streets, site)
        there = pd.concat([standing.iloc[near], steep], ignore_index=True)
        ways.append(truck_way(pad, streets.geometry, there, reach_m=_REACH_M))
        turns.append(_turning(ways[-1], pad, streets, there))
    value = pd.Series([way.length_m for way in ways], index=pads.index)
    untouched_m = pd.Series([way.untouched_m for way in ways], index=pads.index)
    notes = [
        _note(way, turn, pad, streets, site, own)
        for way, turn, pad, own in zip(
            ways, turns, pads.geometry, _own_parcels(pads, site), strict=True
        )
    ]
    return Measured(
        value,
        low=value,
        high=untouched_m.clip(lower=value),
        note=pd.Series(notes, index=pads.index, dtype=str),
        evidence=_drawn(pads, ways, site),
        also={
            "corridor_m": pd.Series([way.widest_m for way in ways], index=pads.index),
            "turns": pd.Series([float(bool(turn)) for turn in turns], index=pads.index).where(
                np.isfinite(value)
            ),
        },
    )


def _turning(way: TruckWay, pad: Any, streets: gpd.GeoDataFrame, standing: gpd.GeoDataFrame) -> str:
    """Say how the design truck turns in; a way so wide everywhere needs no look."""
    if way.path is None or not way.path.length:
        return ""
    if way.widest_m >= WIDE_M and not len(way.opened):
        return "forwards"
    stays = standing.drop(index=way.opened.index)
    stays = stays.geometry[~stays["kind"].isin(_ONLY_CROSSED)]
    return turns_in(way.path, streets["line"][way.street], pad, stays)


def _steep(pad: Any, streets: gpd.GeoDataFrame, site: Site) -> gpd.GeoDataFrame:
    """Ground near a pad too steep for a truck; beside the pavement an apron is built."""
    ground = site.ground
    shapes = np.empty(0, dtype=object)
    if ground is not None:
        bounds = shapely.buffer(pad, _REACH_M).bounds
        part, at = window_of(ground.elevation, ground.transform, bounds)
        shapes = steep_ground(part, at, limit_pct=_SHORT_GRADE_PCT, over_m=_WHEELBASE_M)
    if len(shapes):
        roads = streets.geometry.to_numpy()[streets.dwithin(pad, _REACH_M).to_numpy()]
        aprons = shapely.union_all(shapely.buffer(roads, _APRON_M, quad_segs=1))
        shapes = shapely.get_parts(shapely.difference(shapely.union_all(shapes), aprons))
    return priced(gpd.GeoSeries(shapes), "steep ground", site.layers.crs)


def _own_parcels(pads: gpd.GeoDataFrame, site: Site) -> list[Any]:
    parcels = site.layers.parcels
    known = pads["parcel_id"].isin(parcels.index)
    return [
        parcels.geometry[name] if has else None
        for name, has in zip(pads["parcel_id"], known, strict=True)
    ]


def _note(
    way: TruckWay, turn: str, pad: Any, streets: gpd.GeoDataFrame, site: Site, parcel: Any
) -> str:
    if way.path is None and not streets.dwithin(pad, _REACH_M).any():
        return f"no street that a truck may use within {_REACH_M:.0f} m"
    if way.path is None:
        return (
            f"no corridor of {CORRIDOR_M:g} m within {_REACH_M:.0f} m, even if fences and trees "
            "are opened: small machines or a crane"
        )
    name = streets["name"][way.street]
    said = [f"from {name}" if isinstance(name, str) else "from a street without a name"]
    if streets["bridge"][way.street]:
        said.append("over a bridge whose limit is not posted here")
    wide = "or wider" if way.widest_m >= WIDE_M else "at its narrowest"
    said.append(
        f"with nothing opened {way.widest_m:.1f} m {wide}"
        if way.widest_m > _NO_WIDTH_M
        else "none with nothing opened"
    )
    said += [_TURNING[turn], _grade_told(way.path, site)]
    said += _opened_told(way)
    said += _overhead_told(way.path, site)
    if parcel is not None and not site.has("lots"):
        beyond_m = shapely.length(shapely.difference(way.path, parcel))
        if beyond_m > _OWN_LAND_M:
            said.append(f"{beyond_m:.0f} m outside the parcel: whose land that is isn't known")
    missing = [kind for kind in ("fences", "trees", "buildings") if not site.has(kind)]
    if missing:
        said.append(f"no layer of {' and '.join(missing)}: what stands there isn't known")
    return "; ".join(said)


def _grade_told(path: Any, site: Site) -> str:
    """Steepest grade over a wheelbase along the way."""
    steepest_pct, long_pct, part_known = _grades_pct(path, site)
    if np.isnan(steepest_pct):
        return "its grade is not known"
    told = f"steepest {steepest_pct:.0f} %" + (" where it is known" if part_known else "")
    return told + (" and for long over 12 %" if long_pct > _GRADE_PCT else "")


def _grades_pct(path: Any, site: Site) -> tuple[float, float, bool]:
    """Steepest grade along a way over one wheelbase and over three, %, and if a part isn't known."""
    ground = site.ground
    if ground is None:
        return np.nan, np.nan, True
    at_m = np.linspace(0, path.length, max(2, int(path.length) + 1))
    xy = shapely.get_coordinates(shapely.line_interpolate_point(path, at_m))
    height_m = heights_at(ground.elevation, ground.transform, xy)
    step_m = at_m[1] - at_m[0] if len(at_m) > 1 else 1.0
    found = []
    for base_m in (_WHEELBASE_M, 3 * _WHEELBASE_M):
        count = min(len(height_m) - 1, max(1, round(base_m / max(step_m, 1e-6))))
        rise = np.abs(height_m[count:] - height_m[:-count]) / max(count * step_m, 1.0)
        found.append(100 * float(np.nanmax(rise)) if np.isfinite(rise).any() else np.nan)
    return found[0], found[1], bool(np.isnan(height_m).any())


_ONLY_CROSSED = ("root zone", "steep ground", "other people's land")
_TURNING = {
    "forwards": "a 30 ft truck turns in forwards",
    "backwards": "a 30 ft truck has to back in",
    "": "a 30 ft truck is not seen to turn in: widen the way or take a smaller one",
}
_OPENED = {
    "root zone": "{m:.0f} m over roots of {n} trees: lay ground protection",
    "steep ground": "{m:.0f} m of ground over 15 % to be graded",
    "other people's land": "{m:.0f} m over other people's land: ask for leave",
    "fence": "{n} fences to be opened",
    "tree": "{n} trees to be taken out",
}


def _opened_told(way: TruckWay) -> list[str]:
    """Say what is opened or crossed, as quantities."""
    own = way.opened.groupby("kind")["metres"].agg(["sum", "size"])
    return [
        text.format(m=own["sum"][kind], n=own["size"][kind])
        for kind, text in _OPENED.items()
        if kind in own.index
    ]


def _overhead_told(path: Any, site: Site) -> list[str]:
    """Say what hangs over the way; its height is hardly ever mapped."""
    corridor = path.buffer(CORRIDOR_M / 2, cap_style="flat")
    trees, wires = site.layer("trees"), site.layer("overhead_lines")
    said = []
    if len(trees):
        crowns = trees.geometry.centroid.distance(corridor) < trees["crown_m"].astype(float)
        if crowns.any():
            said.append(f"under {crowns.sum()} crowns: prune to {_HIGH_M:.1f} m")
    if len(wires) and wires.intersects(corridor).any():
        said.append(f"under an overhead line: {_HIGH_M:.1f} m and the line's own distance, measure")
    walks = site.layer("paths")
    crossed = int(walks.intersects(corridor).sum()) if len(walks) else 0
    return [*said, f"over {crossed} walks: lay plates"] if crossed else said


def _drawn(pads: gpd.GeoDataFrame, ways: list[TruckWay], site: Site) -> gpd.GeoDataFrame:
    rows = [
        {"pad_id": pad_id, "label": f"truck, {_label(way, site)}", "geometry": way.path}
        for pad_id, way in zip(pads.index, ways, strict=True)
        if way.path is not None and way.path.length > 0
    ]
    return gpd.GeoDataFrame(rows, columns=["pad_id", "label", "geometry"], crs=pads.crs)


def _label(way: TruckWay, site: Site) -> str:
    steepest_pct, _, _ = _grades_pct(way.path, site)
    return "grade not known" if np.isnan(steepest_pct) else f"up to {steepest_pct:.0f} %"


CRITERION = Criterion(
    name="truck",
    question="Can trucks and machines reach the place?",
    plain="way off the pavement for a truck",
    unit=Unit.METRE,
    needs=("streets", "elevation"),
    measure=truck_way_m,
    curve=Curve.falling(
        ideal=30.0,
        acceptable=100.0,
        poor=200.0,
        unit=Unit.METRE,
        source="common practice, no source",
    ),
    weight=4,
    plausible=(0, 100_000),
    group="Getting there and comfort",
    cost="best",
    conditions=(
        Condition(
            rule="no way 12 ft wide for a truck as things stand",
            limit=CORRIDOR_M,
            unit=Unit.METRE,
            needs="a way opened for trucks, or small machines and a crane",
            source=_PRACTICE,
            reads="corridor_m",
        ),
        Condition(
            rule="a 30 ft truck is not seen to turn in",
            limit=1.0,
            unit=Unit.RATIO,
            needs="a wider way in, or smaller trucks",
            source=_DESIGN_TRUCK,
            reads="turns",
        ),
    ),
    sources=(_DESIGN_TRUCK, _WEIGHT, _ROOTS, _PRACTICE),
    field_task=(
        "Drive the way: gates, least width and height, branches, soft ground, steepest piece, "
        "posted bridges; call 811 before anything is laid or dug."
    ),
)
