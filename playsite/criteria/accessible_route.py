"""Accessible route: the new step-free way from where people arrive to the play area."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from scipy.ndimage import distance_transform_edt

from playsite.criteria._arrivals import REACH_M, WALL_M, WORDS, arrivals, joined
from playsite.criteria._contract import Criterion, Measured, Screen, Source
from playsite.criteria._curve import Curve
from playsite.criteria._spoken import Spoken
from playsite.criteria._standing import blocks_of_walks, blocks_that_move, blocks_that_stay
from playsite.engine import in_threads
from playsite.routes.accessible_way import (
    CLEAR_M,
    CROSS_SLOPE,
    NO_WAY,
    RAMPED_SLOPE,
    WALK_SLOPE,
    accessible_way,
    ramp_length_m,
)
from playsite.routes.closed_off import least_way_m
from playsite.terrain.along import padded_window_of
from playsite.units import Unit

if TYPE_CHECKING:
    from playsite.criteria._arrivals import Arrivals
    from playsite.routes.accessible_way import AccessibleWay
    from playsite.site import Ground, Site

__all__ = ["CRITERION"]

_ONE_RUN_M, _MORE_RUNS_M = 100.0, 25.0
_NEAR_M = 20.0
_LEVEL_PCT = 0.5
_UNKNOWN_GROUND = (
    "unknown: the elevation doesn't hold the ground between here and the nearest arrival"
)
_NONE_NEAR = (
    f"unknown: no walk, sidewalk, accessible parking or stop is mapped within {REACH_M:.0f} m; see "
    "whether an accessible space could be made at the street"
)
_NOT_FOUND = (
    "unknown: no way was found within 15 cm of the ground, and none is shown to be impossible: this "
    "narrow or steep ground asks for a survey and a grading plan"
)
_SHUT = (
    "closed off all round by buildings, water, wetlands, or steps in the ground of more than "
    f"{WALL_M:.0f} m"
)
_OPENED = {
    "fences": "fences to be opened with gates 91 cm wide: {n}",
    "trees": "trees to be taken out: {n}",
}
_BEYOND = f"no way within {REACH_M:.0f} m, round what stands"
_TOO_HIGH = f"the rise alone takes more than {REACH_M:.0f} m of ramps"
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


def reach_of_places_m(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Whether a step-free way can be at all; its length is measured on the best places alone."""
    found = arrivals(site)
    if not len(found.every):
        return _nobody_knows(pads, found)
    told = joined(pads, found.every, site)
    is_reached = told["is_open"].astype(float).where(told["is_open"] | told["is_shut"])
    note = pd.Series("measured on each parcel's best place", index=pads.index)
    return Measured(is_reached * np.nan, note=note, also={"is_reached": is_reached})


@dataclass(frozen=True)
class Found:
    """What was found for one pad: the best way, where it comes from, and what is said of it.

    ``is_known`` is False where nobody can say how long a way would be, or that there is none.
    """

    way: AccessibleWay = NO_WAY
    word: str = ""
    said: tuple[str, ...] = ()
    is_known: bool = True
    is_opened: bool = False


def accessible_way_m(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Length of the new step-free way from the nearest arrival to the pad's edge, as it can be graded.

    Running slope 1:20 at most, or ramps of 1:12 with landings where that is shorter in the end;
    never the ground's slope along a line. Of walks, sidewalks, accessible parking and stops the one
    that is reached best governs; the others are told. The interval's high end opens no fence. That
    there is none is said only where it is shown: the pad is closed off all round, or each way is
    longer than 200 m; where merely none was found the length is unknown.
    """
    ends, ground = arrivals(site), site.ground
    if not len(ends.every) or ground is None:
        return _nobody_knows(pads, ends)
    told = joined(pads, ends.every, site)
    blocks = {
        True: shapely.STRtree(blocks_of_walks(site).to_numpy()),
        False: shapely.STRtree(blocks_that_stay(site).to_numpy()),
    }

    def of_one(row: int) -> Found:
        pad, state = pads.geometry.iloc[row], told.iloc[row]
        if not state["is_mapped"]:
            return Found(said=(_NONE_NEAR,), is_known=False)
        if not state["may_open"]:
            return Found(said=(_SHUT if state["is_shut"] else _BEYOND,))
        tree = blocks[bool(state["is_open"])]
        near = tree.geometries[np.sort(tree.query(pad, "dwithin", 2 * REACH_M))]
        found = _best_way(pad, ends, near, ground)
        if found.way.path is None:
            return _why_none(pad, ends, near, ground, found.said)
        return found if state["is_open"] else _opened(found, site)

    results: list[Found] = list(in_threads(of_one, list(range(len(pads)))))
    ways = [each.way for each in results]
    value = pd.Series([way.length_m for way in ways], index=pads.index)
    unknown = ~pd.Series([each.is_known for each in results], index=pads.index, dtype=bool)
    opened = pd.Series([each.is_opened for each in results], index=pads.index, dtype=bool)
    is_reached = pd.Series(np.isfinite(value).astype(float), index=pads.index)
    return Measured(
        value.mask(unknown),
        low=value.mask(unknown),
        high=value.mask(unknown).mask(opened, np.inf),
        reads=pd.Series([_read(way) for way in ways], index=pads.index).mask(unknown),
        note=pd.Series([_note(each, ends.remark) for each in results], index=pads.index, dtype=str),
        evidence=_drawn(pads, ways),
        also={
            "is_reached": is_reached.where((is_reached > 0) | told["is_shut"]),
            "ramp_m": pd.Series([_ramp_m(way) for way in ways], index=pads.index).mask(unknown),
        },
    )


def _ramp_m(way: AccessibleWay) -> float:
    """Length of its ramps with their landings; NaN where there is no way."""
    return np.nan if way.path is None else min(ramp_length_m(way.ramp_rise_m), way.length_m)


def _why_none(
    pad: Any, ends: Arrivals, blocks: Any, ground: Ground, others: tuple[str, ...]
) -> Found:
    """Say whether it is shown that there is no way, or that none was found."""
    goals = _near(pad, ends.every)
    at_least_m = least_way_m(pad, goals, ground.elevation, ground.transform, off_m=WALL_M)
    if at_least_m > REACH_M:
        return Found(said=(_TOO_HIGH, *others))
    why = _UNKNOWN_GROUND if _might_be(pad, goals, blocks, ground) else _NOT_FOUND
    return Found(said=(why, *others), is_known=False)


def _might_be(pad: Any, goals: Any, blocks: Any, ground: Ground) -> bool:
    """Whether a way would be there if ground that isn't known were like the nearest that is."""
    bounds = pad.buffer(REACH_M + _NEAR_M).bounds
    part, at = padded_window_of(ground.elevation, ground.transform, bounds)
    unknown = np.isnan(part)
    if unknown.all() or not unknown.any():
        return bool(unknown.all())
    nearest = distance_transform_edt(unknown, return_distances=False, return_indices=True)
    filled = part[tuple(nearest)]
    way = accessible_way(pad, goals, filled, at, blocks, slope=RAMPED_SLOPE, reach_m=REACH_M)
    return way.path is not None


def _opened(found: Found, site: Site) -> Found:
    """Say what has to be opened or taken out for a way that leads through."""
    path = found.way.path.buffer(CLEAR_M / 2, cap_style="flat")
    counts = {
        name: len(own.sindex.query(path, predicate="intersects"))
        for name, own in blocks_that_move(site).items()
    }
    said = [_OPENED[name].format(n=count) for name, count in counts.items() if count]
    return replace(found, said=(*said, *found.said), is_opened=True)


def _near(pad: Any, shapes: gpd.GeoSeries) -> Any:
    rows = shapes.sindex.query(pad, predicate="dwithin", distance=REACH_M)
    return shapes.to_numpy()[np.sort(rows)]


def _best_way(pad: Any, ends: Arrivals, blocks: Any, ground: Ground) -> Found:
    """Give the way that reads best, where it comes from, and what is said of other arrivals."""
    every: list[tuple[float, AccessibleWay, str]] = []
    for word, shapes in ends.shapes.items():
        near = _near(pad, shapes) if len(shapes) else []
        if len(near):
            way = _way(pad, near, blocks, ground)
            every.append((_read(way), way, word))
    every.sort(key=lambda each: each[0])
    _, best, word = every[0]
    others = [
        f"from {WORDS[other]} {way.length_m:.0f} m"
        for _, way, other in every[1:]
        if np.isfinite(way.length_m)
    ]
    return Found(best, word, tuple(others))


def _way(pad: Any, ends: Any, blocks: Any, ground: Ground) -> AccessibleWay:
    """Walk at 1:20, or ramps where they read better."""
    at = (ends, ground.elevation, ground.transform, blocks)
    walk = accessible_way(pad, *at, slope=WALK_SLOPE, reach_m=REACH_M)
    if walk.length_m <= _ONE_RUN_M:
        return walk
    ramped = accessible_way(pad, *at, slope=RAMPED_SLOPE, reach_m=REACH_M)
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


def _note(found: Found, remark: str) -> str:
    way = found.way
    if way.path is None:
        return "; ".join(found.said)
    said = [
        f"from {WORDS[found.word]}",
        f"running slope {100 * way.grades.max(initial=0.0):.1f} % at most",
    ]
    straight_m = float(shapely.distance(*(shapely.get_point(way.path, k) for k in (0, -1))))
    if way.length_m > straight_m + 2:
        said.append(f"{way.length_m - straight_m:.0f} m more than straight, to keep to its slope")
    if way.runs:
        runs = "1 ramp run" if way.runs == 1 else f"{way.runs} ramp runs"
        said.append(f"{runs} with landings, {way.ramp_rise_m:.1f} m of rise")
    across = _across(way)
    if across > CROSS_SLOPE:
        said.append(f"ground up to {100 * across:.0f} % steep: benched to keep 1:48 across")
    return "; ".join([*said, *found.said, *([remark] if remark else [])])


def _across(way: AccessibleWay) -> float:
    """Steepest ground along the way, of which the way has the running part."""
    legs = np.hypot(*np.diff(shapely.get_coordinates(way.path), axis=0).T)
    return float((np.abs(np.diff(way.ground_m)) / np.maximum(legs, 1.0)).max(initial=0.0))


def _steepest(way: AccessibleWay) -> str:
    steepest_pct = 100 * way.grades.max(initial=0.0)
    return f"up to {steepest_pct:.1f} %" if steepest_pct > _LEVEL_PCT else "level"


def _drawn(pads: gpd.GeoDataFrame, ways: list[AccessibleWay]) -> gpd.GeoDataFrame:
    rows = [
        {
            "pad_id": pad_id,
            "label": f"step-free, {_steepest(way)}",
            "geometry": _with_heights(way),
        }
        for pad_id, way in zip(pads.index, ways, strict=True)
        if way.path is not None and way.path.length > 0
    ]
    return gpd.GeoDataFrame(rows, columns=["pad_id", "label", "geometry"], crs=pads.crs)


def _with_heights(way: AccessibleWay) -> Any:
    """Way with the height at which it would be built, m, as the third coordinate."""
    return shapely.LineString(np.c_[shapely.get_coordinates(way.path), way.height_m])


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
    spoken=Spoken(beside="to build"),
    field_task=(
        "Roll the way with a level: running and cross slope, lips over half an inch, curb ramps, "
        "gates; elevation shows no steps or curbs."
    ),
)
