"""What stands in the town: trees, parking, restrooms, picnic places, fences, easements."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from shapely import LineString, Point, Polygon, STRtree

from sample_town import plan
from sample_town.buildings import frame_of, restroom_places
from sample_town.shapes import curve, pond_outline

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.random import Generator
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from sample_town.buildings import Building
    from sample_town.lots import Land
    from sample_town.walks import Way

Row = dict[str, Any]
GAP_M, FENCE_FT = 4.0, 4.0
EASEMENT_M = 6.0
LAWN_TREES = {"Founders Green": 420, "Harrow Green": 500, "Lantern Field": 900}
KINDS = ("red maple", "sugar maple", "red oak", "white ash", "linden", "honey locust", "white pine")


@dataclass(frozen=True)
class Stand:
    """A way trees stand: where, how thick (inches, from and to), how near to others."""

    places: NDArray[np.float64]
    dbh_in: tuple[float, float]
    apart_m: float


def restrooms(land: Land) -> list[Row]:
    """Restrooms with who may use them and when."""
    # who may use it, when, and whether a wheelchair gets in (None: nobody said)
    plain = ("yes", "dawn to dusk", "yes")
    other = {
        "School restroom": ("private", "school hours", "yes"),
        "Bakery restroom": ("customers", "7:00-15:00", None),
        "Riverwalk restroom": ("yes", "Apr-Oct sunrise-sunset", "yes"),
        "Mill Pond restroom": ("yes", "dawn to dusk", None),
    }
    rows: list[Row] = []
    for name, place in restroom_places(land).items():
        access, hours, accessible = other.get(name, plain)
        rows.append(
            {
                "NAME": name,
                "ACCESS": access,
                "OPENING": hours,
                "ADA": accessible,
                "geometry": Point(place),
            }
        )
    return rows


def parking(land: Land) -> list[Row]:
    """Car parks: who may use them, spaces, and when they are full."""
    at = {name: frame_of(shape) for name, shape in {**land.candidates, **land.civic}.items()}
    twins = at["Sorrel Green"].place(0, 3), at["Sedge Green"].place(0, 3)
    middle, inward = (twins[0] + twins[1]) / 2, at["Sorrel Green"].inward
    along = np.array([inward[1], -inward[0]])
    corners = [middle + along * u + inward * v for u, v in ((-4, 0), (4, 0), (4, 18), (-4, 18))]
    yard = at["Cinder Lot"].block(-34, 8, 15, 16)
    meeting = at["Meeting House"].block(14, 6, 11, 38)
    school = at["Larch Street School"].block(40, 6, 52, 18)
    parks = "dawn to dusk"
    # outline, who may use it, when, spaces, accessible ones (None: nobody counted), when it is full
    lots: dict[str, tuple[Polygon, str, str | None, int, int | None, str | None]] = {
        "Town Hall lot": (
            at["Town Hall"].block(17, 5, 15, 33),
            "yes",
            "24/7",
            18,
            1,
            "market days",
        ),
        "Bramble Street lot": (Polygon(corners), "yes", parks, 6, None, None),
        "Mill Pond lot": (at["Millpond Park"].block(32, 4, 28, 16), "yes", parks, 14, 1, None),
        "Tansy Field lot": (at["Tansy Field"].block(28, 3, 26, 13), "yes", parks, 10, 1, None),
        "Riverwalk lot": (shapely.box(828, 1124, 852, 1140), "yes", None, 12, 1, None),
        "Meeting House lot": (meeting, "customers", None, 16, 1, "Sunday mornings"),
        "School lot": (school, "private", "school hours", 40, 2, None),
        "Turnpike yard": (yard, "private", None, 5, 0, None),
    }
    names = ("geometry", "ACCESS", "OPENING", "SPACES", "ADA", "FULL")
    return [{"NAME": name} | dict(zip(names, lot, strict=True)) for name, lot in lots.items()]


def picnic(land: Land) -> list[Row]:
    """Tables and a shelter."""
    at = {name: frame_of(shape) for name, shape in land.candidates.items()}
    places = [
        ("Founders Green tables", "table", at["Founders Green"].place(40, 14)),
        ("Mill Pond shelter", "shelter", at["Millpond Park"].place(40, 30)),
        ("Tansy Field tables", "table", at["Tansy Field"].place(-36, 14)),
        ("Riverwalk table", "table", np.array([902.0, 1136.0])),
        ("Lamplight Park table", "table", at["Lamplight Park"].place(32, 14)),
    ]
    return [
        {"NAME": name, "KIND": kind, "ACCESS": "yes", "geometry": Point(place)}
        for name, kind, place in places
    ]


def playgrounds(land: Land) -> list[Row]:
    """The two that exist."""
    lot, school = land.civic["Juniper Tot Lot"], land.candidates["Larch Street School"]
    yard = frame_of(school).block(58, 70, 24, 16)
    return [
        {
            "NAME": "Juniper Tot Lot",
            "ACCESS": "yes",
            "geometry": lot.buffer(-6, join_style="mitre"),
        },
        {"NAME": "Larch Street School yard", "ACCESS": "private", "geometry": yard},
    ]


def pond_fence(land: Land) -> tuple[LineString, LineString]:
    """Fence round three sides of Gatehouse Meadow, in two pieces with a gap towards the pond."""
    frame = frame_of(land.candidates["Gatehouse Meadow"])
    half, deep, gap_at = 31.5, 44.5, 12.0
    first = [(-half, 1.0), (-half, deep), (gap_at - GAP_M / 2, deep)]
    second = [(gap_at + GAP_M / 2, deep), (half, deep), (half, 1.0)]
    return (
        LineString([frame.place(u, v) for u, v in first]),
        LineString([frame.place(u, v) for u, v in second]),
    )


def fences(land: Land) -> list[Row]:
    """Fences with their height in feet."""
    school = land.candidates["Larch Street School"].buffer(-1.5, join_style="mitre").exterior
    entrance = frame_of(land.candidates["Larch Street School"]).block(20, -5, 110, 20)
    lines = [*pond_fence(land), school.difference(entrance)]
    lines.append(
        land.civic["Juniper Tot Lot"]
        .buffer(-4)
        .exterior.difference(frame_of(land.civic["Juniper Tot Lot"]).block(0, 0, 3, 10))
    )
    names = ["Gatehouse fence", "Gatehouse fence", "School fence", "Tot lot fence"]
    heights = [FENCE_FT, FENCE_FT, 5.0, 4.0]
    return [
        {"NAME": name, "HT_FT": height, "geometry": part}
        for name, height, line in zip(names, heights, lines, strict=True)
        for part in shapely.get_parts(shapely.line_merge(line))
    ]


def easements(land: Land) -> list[Row]:
    """Strips that may not be built on."""
    conduit = frame_of(land.candidates["Conduit Common"])
    green = frame_of(land.candidates["Turnpike Green"])
    pond = frame_of(land.candidates["Millpond Park"])
    rows = [
        ("drainage", conduit.block(0, (42 - EASEMENT_M) / 2, 120, EASEMENT_M)),
        ("drainage", curve(plan.DRAW).buffer(6).difference(land.right_of_way)),
        ("utility", green.block(0, 0, 90, 3)),
        ("utility", pond.block(0, 95, 130, 5)),
    ]
    return [
        {"KIND": kind, "geometry": part}
        for kind, shape in rows
        for part in shapely.get_parts(shape)
        if part.area > 20
    ]


def trees(land: Land, built: list[Building], ways: list[Way], rng: Generator) -> list[Row]:
    """Woods by the creek and on the hill, street trees, yard trees, and rows round the parks."""
    no_tree: list[BaseGeometry] = [building.outline.buffer(2.5) for building in built]
    no_tree += [row["geometry"].buffer(1) for row in parking(land)]
    no_tree += [pond_outline(pond) for pond in plan.PONDS] + [land.creek]
    no_tree += [way.line.buffer(0.8) for way in ways]
    no_tree += [
        land.streets[street.name].buffer(plan.PAVEMENT_HALF_M[street.func] + 0.6)
        for street in plan.STREETS
    ]
    closed = STRtree(no_tree)
    rows: list[Row] = []
    kept: list[NDArray[np.float64]] = [np.array([[-99.0, -99.0]])]
    for stand in _stands(land, rng):
        if not len(stand.places):
            continue
        hits = closed.query(shapely.points(stand.places), "intersects")[0]
        free = np.delete(stand.places, np.unique(hits), axis=0)
        for place in free:
            if np.hypot(*(np.concatenate(kept) - place).T).min() < stand.apart_m:
                continue
            kept.append(place[None])
            rows.append(_tree(place, stand.dbh_in, rng))
    old = frame_of(land.candidates["Cinder Lot"]).place(4, 20)
    rows.append(
        {"SPECIES": "red oak", "DBH": 26.0, "HT": 58.0, "geometry": Point(np.round(old, 2))}
    )
    return rows


def _tree(place: NDArray[np.float64], dbh_in: tuple[float, float], rng: Generator) -> Row:
    """One tree; the inventory lacks some heights and some diameters."""
    thick_in = rng.uniform(*dbh_in)
    tall_ft = (4.5 + 66 * (1 - np.exp(-0.062 * thick_in))) * rng.uniform(0.85, 1.1)
    return {
        "SPECIES": str(rng.choice(KINDS)),
        "DBH": None if rng.uniform() < 0.04 else round(float(thick_in), 1),
        "HT": None if rng.uniform() < 0.08 else round(float(tall_ft)),
        "geometry": Point(np.round(place, 2)),
    }


def _stands(land: Land, rng: Generator) -> Iterator[Stand]:
    """Park rows first: others keep away from them."""
    for name, outline in sorted(land.candidates.items()):
        yield Stand(_park_row(name, outline, rng), (10, 26), 5)
    for name, area_of_a_tree_m2 in LAWN_TREES.items():
        lawn = land.candidates[name].buffer(-7)
        yield Stand(_scattered(lawn, int(lawn.area / area_of_a_tree_m2), rng), (16, 28), 11)
    lines = []
    for street in plan.STREETS:
        if street.func != plan.HIGHWAY:
            lines += [
                land.streets[street.name].offset_curve(
                    side * (plan.PAVEMENT_HALF_M[street.func] + 1.1)
                )
                for side in (1, -1)
            ]
    for line in lines:
        at_m = np.arange(rng.uniform(8, 14), line.length, 13) + rng.uniform(-2, 2)
        at_m = at_m[rng.uniform(size=at_m.size) < 0.45]
        yield Stand(shapely.get_coordinates(line.interpolate(at_m)), (4, 20), 7)
    houses = [lot for lot in land.lots if lot.use == "HOUSE"]
    for lot in houses:
        yield Stand(_scattered(lot.outline.buffer(-2), int(rng.integers(0, 4)), rng), (3, 24), 6)
    parcels = shapely.union_all([*land.candidates.values(), *land.civic.values()])
    for lot in land.lots:
        if lot.use == "WOODLAND":
            strip = lot.outline.intersection(land.creek.buffer(48)).difference(parcels.buffer(3))
            yield Stand(_scattered(strip, int(strip.area / 55), rng), (5, 24), 4)
        elif lot.use == "FARM":
            yield Stand(_copses(lot.outline, rng), (5, 22), 4)
            yield Stand(
                _scattered(lot.outline.buffer(-6), int(lot.outline.area / 2600), rng), (6, 30), 9
            )


def _copses(field: BaseGeometry, rng: Generator) -> NDArray[np.float64]:
    """A small wood now and then in the fields."""
    middles = _scattered(field.buffer(-25), int(field.area / 22000), rng)
    woods = [np.empty((0, 2))]
    for middle in middles:
        wood = Point(middle).buffer(rng.uniform(16, 34)).intersection(field.buffer(-3))
        woods.append(_scattered(wood, int(wood.area / 45), rng))
    return np.concatenate(woods)


def _park_row(name: str, outline: Polygon, rng: Generator) -> NDArray[np.float64]:
    """Trees along the sides of a park; the twins have the same trees in the same places."""
    if name in {"Cinder Lot", "Depot Yard", "Ropewalk Strip"}:
        return np.empty((0, 2))
    if name in {"Sorrel Green", "Sedge Green"}:
        frame = frame_of(outline)
        return np.array([frame.place(u, 54.5) for u in (-25.0, -14.0, -3.0, 9.0, 20.0)])
    ring = outline.buffer(-1.3, join_style="mitre").exterior
    at_m = np.arange(4, ring.length, 10.0) + rng.uniform(-1.5, 1.5)
    share = 0.8 if name in {"Founders Green", "Lantern Field", "Lamplight Park"} else 0.45
    at_m = at_m[rng.uniform(size=at_m.size) < share]
    return np.asarray(shapely.get_coordinates(ring.interpolate(at_m)))


def _scattered(shape: BaseGeometry, count: int, rng: Generator) -> NDArray[np.float64]:
    """Places at random in a shape."""
    if shape.is_empty or count < 1:
        return np.empty((0, 2))
    west, south, east, north = shape.bounds
    tries = int(count * 1.2 * (east - west) * (north - south) / shape.area) + 4
    places = np.column_stack([rng.uniform(west, east, tries), rng.uniform(south, north, tries)])
    inside = np.asarray(shapely.contains_xy(shape, places[:, 0], places[:, 1]))
    return np.asarray(places[inside][:count])
