"""Accessible route: the new step-free way from where people arrive to the play area."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from scipy.ndimage import distance_transform_edt

from playsite.criteria._contract import Criterion, Measured, Screen, Source
from playsite.criteria._curve import Curve
from playsite.criteria._standing import blocks_of_walks
from playsite.layers.streets import SIDEWALK
from playsite.routes.accessible_way import (
    CLEAR_M,
    CROSS_SLOPE,
    NO_WAY,
    RAMPED_SLOPE,
    WALK_SLOPE,
    accessible_way,
    ramp_length_m,
)
from playsite.terrain.along import padded_window_of
from playsite.units import Unit

if TYPE_CHECKING:
    from playsite.routes.accessible_way import AccessibleWay
    from playsite.site import Ground, Site

__all__ = ["CRITERION", "arrivals", "reached"]

_REACH_M = 200.0
_ONE_RUN_M, _MORE_RUNS_M = 100.0, 25.0
_WALK_HALF_M = 0.75
_NEAR_M = 20.0
_UNKNOWN_GROUND = (
    "unknown: the elevation doesn't hold the ground between here and the nearest arrival"
)
_NONE_NEAR = (
    f"unknown: no walk, sidewalk, accessible parking or stop is mapped within {_REACH_M:.0f} m; see "
    "whether an accessible space could be made at the street"
)
_ADA = Source(
    "2010 ADA Standards for Accessible Design: 403.3 (running slope 1:20, cross slope 1:48), 405.2 "
    "(ramps 1:12), 405.6 (30 in of rise a run), 1008.2.4.1 (60 in clear on the way to play)"
)
_ARRIVALS = Source(
    "2010 ADA Standards, 206.2.1 (a route from accessible parking, streets and sidewalks, and stops), "
    "405.7 (landings of 60 in), 403.5.1 (36 in clear everywhere)",
    "from memory",
)
_PRACTICE = Source(
    "30, 100 and 150 m of new way; a ramp counts as 100 m, each further run 25 m more: common practice",
    "common practice",
)


_WORDS = {
    "path": "a path",
    "sidewalk": "a sidewalk",
    "parking": "the car park",
    "stop": "a stop",
}


@dataclass(frozen=True)
class Arrivals:
    """Where people arrive, by its word, and what isn't known of it."""

    shapes: dict[str, gpd.GeoSeries]
    remark: str

    @property
    def every(self) -> gpd.GeoSeries:
        """All together."""
        parts = [own for own in self.shapes.values() if len(own)]
        return gpd.GeoSeries(pd.concat(parts, ignore_index=True) if parts else [])


def arrivals(site: Site) -> Arrivals:
    """Public walks without steps, sidewalks, parking with accessible spaces, and stops.

    A street that is known to have no sidewalk is none; one of which nobody says is taken as one
    where no path is mapped at all, and that is told.
    """
    paths, streets = site.layer("paths"), site.layer("streets")
    walks, remark = paths.geometry, ""
    if len(paths):
        walks = paths.geometry[paths["is_public"] & paths["is_step_free"]]
        is_line = walks.geom_type.str.contains("Line")
        walks = walks.where(~is_line, walks.buffer(_WALK_HALF_M, cap_style="flat"))
    curbs = streets.geometry
    if len(streets):
        told = streets["sidewalk"].isin(SIDEWALK) & streets["is_walked"]
        silent = streets["sidewalk"].isna() & streets["is_walked"] & (len(paths) == 0)
        curbs = gpd.GeoSeries(streets["pavement"], crs=streets.crs)[told | silent]
        if silent.any():
            remark = "nobody says whether the streets have sidewalks"
    lots = site.layer("parking")
    if len(lots):
        lots = lots[lots["is_public"] & ~(lots["accessible_spaces"] == 0)]
    stops = site.layer("transit_stops")
    if len(stops):
        stops = stops[~stops["wheelchair"].eq("no").fillna(value=False)]
    shapes = {"path": walks, "sidewalk": curbs, "parking": lots.geometry, "stop": stops.geometry}
    return Arrivals({word: own[~own.is_empty] for word, own in shapes.items()}, remark)


def reached(pads: gpd.GeoDataFrame, ends: gpd.GeoSeries, blocks: gpd.GeoSeries) -> pd.Series[float]:
    """Whether a way 36 in wide leads from each pad to an arrival within 200 m: 1, or 0 if none can.

    NaN where no arrival is mapped in reach: nobody says that none is there, or could be made at
    the street. Exact: both touch one piece of the ground that is left when all that stands is widened by half
    the width. Looked at once for all pads of a parcel.
    """
    is_reached = pd.Series(0.0, index=pads.index)
    ends_tree, blocks_tree = (shapely.STRtree(each.to_numpy()) for each in (ends, blocks))
    for _, own in pads.groupby("parcel_id"):
        around = shapely.buffer(shapely.box(*own.total_bounds), _REACH_M, quad_segs=1)
        near = ends.to_numpy()[ends_tree.query(around, predicate="intersects")]
        stands = blocks.to_numpy()[blocks_tree.query(around, predicate="intersects")]
        if not len(near):
            is_reached.loc[own.index] = np.nan
            continue
        grown = shapely.union_all(shapely.buffer(stands, CLEAR_M / 2, quad_segs=2))
        free = shapely.get_parts(shapely.difference(around, grown))
        if not len(free):
            continue
        tree = shapely.STRtree(free)
        open_parts = np.unique(tree.query(near, predicate="dwithin", distance=CLEAR_M)[1])
        i, j = tree.query(own.geometry.to_numpy(), predicate="intersects")
        is_reached.loc[own.index[i[np.isin(j, open_parts)]]] = 1.0
    return is_reached


def reach_of_places_m(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Whether a step-free way can be at all; its length is measured on the best places alone."""
    found = arrivals(site)
    if not len(found.every):
        return _nobody_knows(pads, found)
    is_reached = reached(pads, found.every, blocks_of_walks(site))
    note = pd.Series("measured on each parcel's best place", index=pads.index)
    return Measured(is_reached * np.nan, note=note, also={"is_reached": is_reached})


def accessible_way_m(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Length of the new step-free way from the nearest arrival to the pad's edge, as it can be graded.

    Running slope 1:20 at most, or ramps of 1:12 with landings where that is shorter in the end;
    never the ground's slope along a line. Of walks, sidewalks, accessible parking and stops the one
    that is reached best governs; the others are told.
    """
    found, ground = arrivals(site), site.ground
    if not len(found.every) or ground is None:
        return _nobody_knows(pads, found)
    stands = blocks_of_walks(site)
    is_reached = reached(pads, found.every, stands)
    may_be, nothing_near = is_reached > 0, is_reached.isna()
    blocks, tree = stands.to_numpy(), shapely.STRtree(stands.to_numpy())
    results = []
    for pad, is_open in zip(pads.geometry, may_be, strict=True):
        near = blocks[np.sort(tree.query(pad, predicate="dwithin", distance=2 * _REACH_M))]
        results.append(_best_way(pad, found, near, site) if is_open else (NO_WAY, "", []))
    ways = [best for best, _, _ in results]
    value = pd.Series([way.length_m for way in ways], index=pads.index)
    has = value < np.inf
    # Where the ground isn't known nobody can say that there is none.
    dark = ~has & may_be & _might_be(pads, found.every, stands, ground, ~has & may_be)
    unknown = dark | nothing_near
    return Measured(
        value.mask(unknown),
        reads=pd.Series([_read(way) for way in ways], index=pads.index).mask(unknown),
        note=pd.Series(
            [
                _NONE_NEAR
                if is_far
                else _UNKNOWN_GROUND
                if is_dark
                else _note(way, word, others, found.remark)
                for (way, word, others), is_dark, is_far in zip(
                    results, dark, nothing_near, strict=True
                )
            ],
            index=pads.index,
            dtype=str,
        ),
        evidence=_drawn(pads, ways),
        also={
            "is_reached": has.astype(float).mask(unknown),
            "ramp_m": pd.Series([_ramp_m(way) for way in ways], index=pads.index).mask(unknown),
        },
    )


def _ramp_m(way: AccessibleWay) -> float:
    """Length of its ramps with their landings; NaN where there is no way."""
    return np.nan if way.path is None else min(ramp_length_m(way.ramp_rise_m), way.length_m)


def _might_be(
    pads: gpd.GeoDataFrame,
    ends: gpd.GeoSeries,
    blocks: gpd.GeoSeries,
    ground: Ground,
    asked: pd.Series[bool],
) -> pd.Series[bool]:
    """Whether a way would be there if ground that isn't known were like the nearest that is."""
    might = pd.Series(data=False, index=pads.index)
    for pad_id in pads.index[asked]:
        pad = pads.geometry[pad_id]
        bounds = pad.buffer(_REACH_M + _NEAR_M).bounds
        part, at = padded_window_of(ground.elevation, ground.transform, bounds)
        unknown = np.isnan(part)
        if unknown.all():
            might[pad_id] = True
        elif unknown.any():
            nearest = distance_transform_edt(unknown, return_distances=False, return_indices=True)
            near = (each[each.dwithin(pad, _REACH_M)].to_numpy() for each in (ends, blocks))
            goals, stands = near
            way = accessible_way(
                pad, goals, part[tuple(nearest)], at, stands, slope=RAMPED_SLOPE, reach_m=_REACH_M
            )
            might[pad_id] = way.path is not None
    return might


def _best_way(
    pad: Any, found: Arrivals, blocks: Any, site: Site
) -> tuple[AccessibleWay, str, list[str]]:
    """Give the way that reads best, where it comes from, and what is said of other arrivals."""
    every: list[tuple[float, AccessibleWay, str]] = []
    for word, shapes in found.shapes.items():
        near = shapes.to_numpy()[shapes.dwithin(pad, _REACH_M).to_numpy()] if len(shapes) else []
        if len(near):
            way = _way(pad, near, blocks, site)
            every.append((_read(way), way, word))
    if not every:
        return NO_WAY, "", []
    every.sort(key=lambda each: each[0])
    _, best, word = every[0]
    others = [
        f"from {_WORDS[other]} {way.length_m:.0f} m"
        for _, way, other in every[1:]
        if np.isfinite(way.length_m)
    ]
    return best, word, others


def _way(pad: Any, ends: Any, blocks: Any, site: Site) -> AccessibleWay:
    """Walk at 1:20, or ramps where they read better."""
    ground = site.ground
    assert ground is not None  # noqa: S101  # looked at by the caller
    at = (ends, ground.elevation, ground.transform, blocks)
    walk = accessible_way(pad, *at, slope=WALK_SLOPE, reach_m=_REACH_M)
    if walk.length_m <= _ONE_RUN_M:
        return walk
    ramped = accessible_way(pad, *at, slope=RAMPED_SLOPE, reach_m=_REACH_M)
    return min(walk, ramped, key=_read)


def _read(way: AccessibleWay) -> float:
    """What the curve reads: a way with a ramp counts as 100 m at least, each further run as 25 m more."""
    if not way.runs:
        return way.length_m
    return max(way.length_m, _ONE_RUN_M + _MORE_RUNS_M * (way.runs - 1))


def _nobody_knows(pads: gpd.GeoDataFrame, found: Arrivals) -> Measured:
    value = pd.Series(np.nan, index=pads.index)
    why = found.remark or "no walk, sidewalk, accessible parking or stop is mapped near"
    return Measured(value, note=value.map(lambda _: f"unknown: {why}"), also={"is_reached": value})


def _note(way: AccessibleWay, word: str, others: list[str], remark: str) -> str:
    if way.path is None:
        return "; ".join([f"no step-free way within {_REACH_M:.0f} m of new way", *others])
    said = [
        f"from {_WORDS[word]}",
        f"running slope {100 * way.grades.max(initial=0.0):.1f} % at most",
    ]
    straight_m = float(shapely.distance(*(shapely.get_point(way.path, k) for k in (0, -1))))
    if way.length_m > straight_m + 2:
        said.append(f"{way.length_m - straight_m:.0f} m more than straight, to keep to its slope")
    if way.runs:
        said.append(f"{way.runs} ramp runs with landings, {way.ramp_rise_m:.1f} m of rise")
    across = _across(way)
    if across > CROSS_SLOPE:
        said.append(f"ground up to {100 * across:.0f} % steep: benched to keep 1:48 across")
    return "; ".join([*said, *others, *([remark] if remark else [])])


def _across(way: AccessibleWay) -> float:
    """Steepest ground along the way, of which the way has the running part."""
    legs = np.hypot(*np.diff(shapely.get_coordinates(way.path), axis=0).T)
    return float((np.abs(np.diff(way.ground_m)) / np.maximum(legs, 1.0)).max(initial=0.0))


def _drawn(pads: gpd.GeoDataFrame, ways: list[AccessibleWay]) -> gpd.GeoDataFrame:
    rows = [
        {
            "pad_id": pad_id,
            "label": f"step-free, up to {100 * way.grades.max(initial=0.0):.1f} %",
            "geometry": way.path,
        }
        for pad_id, way in zip(pads.index, ways, strict=True)
        if way.path is not None and way.path.length > 0
    ]
    return gpd.GeoDataFrame(rows, columns=["pad_id", "label", "geometry"], crs=pads.crs)


CRITERION = Criterion(
    name="accessible_route",
    question="Can people in wheelchairs reach it?",
    plain="new step-free way from where people arrive",
    unit=Unit.METRE,
    needs=("elevation",),
    measure=reach_of_places_m,
    refine=accessible_way_m,
    curve=Curve.falling(
        ideal=30.0,
        acceptable=100.0,
        poor=150.0,
        unit=Unit.METRE,
        source=str(_PRACTICE),
        reads="length of the new way; with a ramp 100 m at least, 25 m more for each further run",
    ),
    weight=6,
    plausible=(0, 100_000),
    group="Getting there and comfort",
    cost="quick",
    screens=(
        Screen(
            rule="no step-free way can be built",
            limit=0.0,
            unit=Unit.RATIO,
            out_when="at or below",
            source=_ADA,
            reads="is_reached",
            short="no step-free way",
        ),
    ),
    sources=(_ADA, _ARRIVALS, _PRACTICE),
    field_task=(
        "Roll the way with a level: running and cross slope, lips over half an inch, curb ramps, "
        "gates; elevation shows no steps or curbs."
    ),
)
