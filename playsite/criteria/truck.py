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
from playsite.criteria._spoken import Spoken
from playsite.criteria._standing import priced, standing_before_trucks
from playsite.criteria._truck_words import WHEELBASE_M, TruckWords
from playsite.engine import in_threads
from playsite.routes.truck_turn import turns_in
from playsite.routes.truck_way import CORRIDOR_M, WIDE_M, clear_ways, truck_way
from playsite.terrain.along import steep_ground, window_of
from playsite.units import LENGTHS_M, Unit

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from playsite.routes.truck_way import TruckWay
    from playsite.site import Site

__all__ = ["CRITERION", "TRUCK"]

_FT = LENGTHS_M["ft"]
TRUCK = Demand(weight_t=14.97, height_m=14 * _FT, width_m=CORRIDOR_M, grade_pct=15.0)
"""What a delivery truck needs of a street: 33,000 lb, 14 ft, one lane, 15 %."""

_REACH_M = 200.0
_SHORT_GRADE_PCT = 15.0
_APRON_M = 3.0
_TILE_M, _OVERLAP_M = 200.0, 15.0
_ONLY_CROSSED = ("root zone", "steep ground", "other people's land")
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
    scene = _Scene(pads, streets, site)
    known = clear_ways(pads.geometry, streets.geometry, scene.every, reach_m=_REACH_M)

    def of_one(row: int) -> tuple[TruckWay, str]:
        way = known[row]
        if way is None:
            return scene.searched(pads.geometry.iloc[row])
        return way, "forwards" if way.path is not None else ""

    found: list[tuple[TruckWay, str]] = list(in_threads(of_one, list(range(len(pads)))))
    ways, turns = [way for way, _ in found], [turn for _, turn in found]
    value = pd.Series([way.length_m for way in ways], index=pads.index)
    untouched_m = pd.Series([way.untouched_m for way in ways], index=pads.index)
    words = TruckWords(streets, site)
    own = _own_parcels(pads, site)
    notes = [words.note(*each) for each in zip(ways, turns, pads.geometry, own, strict=True)]
    return Measured(
        value,
        low=value,
        high=untouched_m.clip(lower=value),
        note=pd.Series(notes, index=pads.index, dtype=str),
        evidence=_drawn(pads, ways, words),
        also={
            "corridor_m": pd.Series([way.widest_m for way in ways], index=pads.index),
            "turns": pd.Series([float(bool(turn)) for turn in turns], index=pads.index).where(
                np.isfinite(value)
            ),
        },
    )


class _Scene:
    """What stands in the way of trucks round some pads, and the streets they come from."""

    def __init__(self, pads: gpd.GeoDataFrame, streets: gpd.GeoDataFrame, site: Site) -> None:
        self.streets, self.crs = streets, site.layers.crs
        self.standing = standing_before_trucks(site)
        roads = shapely.STRtree(streets.geometry.to_numpy())
        near, _ = roads.query(pads.geometry.to_numpy(), predicate="dwithin", distance=_REACH_M)
        self.steep = _steep(pads.iloc[np.unique(near)], site)
        self.every = np.concatenate([self.standing.geometry.to_numpy(), self.steep])
        self._trees = [
            shapely.STRtree(self.standing.geometry.to_numpy()),
            shapely.STRtree(self.steep),
            roads,
        ]

    def searched(self, pad: Any) -> tuple[TruckWay, str]:
        """Search the way to a pad, and say how the design truck turns in."""
        reach_m = _REACH_M + CORRIDOR_M
        near, steep, roads = (
            np.sort(tree.query(pad, predicate="dwithin", distance=reach_m)) for tree in self._trees
        )
        graded = self._without_aprons(self.steep[steep], roads)
        there = pd.concat(
            [self.standing.iloc[near], priced(gpd.GeoSeries(graded), "steep ground", self.crs)],
            ignore_index=True,
        )
        way = truck_way(pad, self.streets.geometry, there, reach_m=_REACH_M)
        return way, self._turning(way, pad, there)

    def _without_aprons(
        self, steep: NDArray[np.object_], roads: NDArray[np.intp]
    ) -> NDArray[np.object_]:
        """Leave out what lies beside the pavement, where an apron is built."""
        if not len(steep):
            return steep
        own = self.streets.geometry.to_numpy()[roads]
        aprons = shapely.union_all(shapely.buffer(own, _APRON_M, quad_segs=1))
        left = shapely.get_parts(shapely.difference(shapely.union_all(steep), aprons))
        return np.asarray(left, dtype=object)

    def _turning(self, way: TruckWay, pad: Any, standing: gpd.GeoDataFrame) -> str:
        """Say how the design truck turns in; a way so wide everywhere needs no look."""
        if way.path is None or not way.path.length:
            return ""
        if way.widest_m >= WIDE_M and not len(way.opened):
            return "forwards"
        stays = standing.drop(index=way.opened.index)
        stays = stays.geometry[~stays["kind"].isin(_ONLY_CROSSED)]
        return turns_in(way.path, self.streets["line"][way.street], pad, stays)


def _steep(pads: gpd.GeoDataFrame, site: Site) -> NDArray[np.object_]:
    """Ground near pads too steep for a truck, in squares that no shape reaches over."""
    ground = site.ground
    if ground is None or not len(pads):
        return np.empty(0, dtype=object)
    reach = shapely.envelope(shapely.buffer(pads.geometry.to_numpy(), _REACH_M, quad_segs=1))
    # On round coordinates: other pads beside these change nothing.
    west, south, east, north = np.floor(shapely.total_bounds(reach) / _TILE_M) * _TILE_M
    x, y = np.meshgrid(np.arange(west, east + 1, _TILE_M), np.arange(south, north + 1, _TILE_M))
    tiles = shapely.box(x.ravel(), y.ravel(), x.ravel() + _TILE_M, y.ravel() + _TILE_M)
    tiles = tiles[np.unique(shapely.STRtree(tiles).query(reach, predicate="intersects")[1])]

    def of_one(tile: Any) -> NDArray[np.object_]:
        bounds = tile.buffer(_OVERLAP_M).bounds
        part, at = window_of(ground.elevation, ground.transform, bounds)
        found = steep_ground(part, at, limit_pct=_SHORT_GRADE_PCT, over_m=WHEELBASE_M)
        cut = shapely.clip_by_rect(found, *tile.bounds)
        return np.asarray(cut[~shapely.is_empty(cut)], dtype=object)

    return np.concatenate([np.empty(0, dtype=object), *in_threads(of_one, list(tiles))])


def _own_parcels(pads: gpd.GeoDataFrame, site: Site) -> list[Any]:
    parcels = site.layers.parcels
    known = pads["parcel_id"].isin(parcels.index)
    return [
        parcels.geometry[name] if has else None
        for name, has in zip(pads["parcel_id"], known, strict=True)
    ]


def _drawn(pads: gpd.GeoDataFrame, ways: list[TruckWay], words: TruckWords) -> gpd.GeoDataFrame:
    rows = [
        {"pad_id": pad_id, "label": f"truck, {words.label(way.path)}", "geometry": way.path}
        for pad_id, way in zip(pads.index, ways, strict=True)
        if way.path is not None and way.path.length > 0
    ]
    return gpd.GeoDataFrame(rows, columns=["pad_id", "label", "geometry"], crs=pads.crs)


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
            rule="no way 3.7 m wide for a truck as things stand",
            limit=CORRIDOR_M,
            unit=Unit.METRE,
            needs="a way opened for trucks, or small machines and a crane",
            source=_PRACTICE,
            reads="corridor_m",
        ),
        Condition(
            rule="a 9.1 m truck is not seen to turn in",
            limit=1.0,
            unit=Unit.RATIO,
            needs="a wider way in, or smaller trucks",
            source=_DESIGN_TRUCK,
            reads="turns",
        ),
    ),
    sources=(_DESIGN_TRUCK, _WEIGHT, _ROOTS, _PRACTICE),
    spoken=Spoken(beside="off road"),
    field_task=(
        "Drive the way: gates, least width and height, branches, soft ground, steepest piece, "
        "posted bridges; call 811 before anything is laid or dug."
    ),
)
