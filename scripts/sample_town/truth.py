"""What is true of the town by construction, from the maker's own geometry."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from shapely import LineString, Point, Polygon

from sample_town import ground as relief
from sample_town import plan
from sample_town.buildings import frame_of, restroom_places
from sample_town.features import EASEMENT_M, FENCE_FT, GAP_M, easements, pond_fence
from sample_town.shapes import curve, polygons

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from sample_town.buildings import Building
    from sample_town.ground import Ground
    from sample_town.lots import Land

Facts = dict[str, Any]
# the pad given as an example keeps farther from water than the 6 m within which a pad is out
SHORE_M = 8.0
NO_FIT = {"thin", "narrow arms", "full of buildings", "easement across"}


def truth_of(
    land: Land, built: list[Building], ground: Ground, ids: Mapping[str, str]
) -> list[Facts]:
    """One record for each candidate."""
    records = []
    for candidate in plan.CANDIDATES:
        room = buildable(candidate.name, land, built)
        water = shapely.union_all([land.creek, *land.ponds.values()])
        pad = find_pad(
            room.difference(water.buffer(SHORE_M)), frame_of(land.candidates[candidate.name]).along
        )
        plane = ground.planes.get(candidate.name)
        record: Facts = {
            "parcel_id": ids[candidate.name],
            "name": candidate.name,
            "trap": candidate.trap,
            "expected": _expected(candidate.trap),
            "pad_fits": pad is not None,
            "pad_that_fits": None if pad is None else _world(pad),
            "no_pad_fits_because": None if pad is not None else _proof(room),
            "largest_scale": _largest_scale(candidate, room),
            "largest_scale_without_setbacks": _largest_scale(candidate, None),
            "grade_pct": None if plane is None else plane.grade_pct,
        }
        record["facts"] = _facts(candidate, land, ground)
        records.append(record)
    return records


def _expected(trap: str) -> str:
    if trap in NO_FIT:
        return "does not fit"
    return "screened out" if trap == "steep throughout" else "ranked"


def buildable(name: str, land: Land, built: list[Building]) -> BaseGeometry:
    """The parcel less the setbacks of the sample study, easements and water."""
    inner = land.candidates[name].buffer(-plan.PARCEL_SETBACK_M, join_style="mitre")
    gone: list[BaseGeometry] = [one.outline.buffer(plan.BUILDING_SETBACK_M) for one in built]
    gone += [row["geometry"] for row in easements(land)]
    gone += [land.creek, *land.ponds.values()]
    return inner.difference(shapely.union_all([shape for shape in gone if shape.intersects(inner)]))


def find_pad(room: BaseGeometry, along: NDArray[np.float64]) -> Polygon | None:
    """A pad inside the buildable land: the one with most room round it of those tried."""
    if room.is_empty:
        return None
    long_m, short_m = plan.PAD_M
    west, south, east, north = room.bounds
    x, y = np.meshgrid(np.arange(west, east, 1.0), np.arange(south, north, 1.0))
    best, most = None, -1.0
    shapely.prepare(room)
    for turn in np.radians(np.arange(0, 180, 15)):
        unit = along * np.cos(turn) + np.array([-along[1], along[0]]) * np.sin(turn)
        side = np.array([-unit[1], unit[0]])
        corners = [
            unit * u * long_m / 2 + side * v * short_m / 2
            for u, v in ((-1, -1), (1, -1), (1, 1), (-1, 1))
        ]
        rings = np.stack(
            [np.stack([x.ravel() + c[0], y.ravel() + c[1]], axis=-1) for c in corners], axis=1
        )
        pads = np.asarray(shapely.polygons(rings))
        pads = pads[shapely.covers(room, pads)]
        if not pads.size:
            continue
        slack = shapely.distance(pads, room.boundary)
        if slack.max() > most:
            best, most = pads[slack.argmax()], float(slack.max())
    return best


def _proof(room: BaseGeometry) -> str:
    """Why no pad fits: the largest circle in the land is smaller than the one in any pad."""
    if room.is_empty:
        return "no buildable land is left"
    circles = [
        shapely.maximum_inscribed_circle(part, tolerance=0.01).length for part in polygons(room)
    ]
    if max(circles) + 0.01 >= plan.PAD_M[1] / 2:
        return "not proven"
    return (
        f"every pad holds a circle of radius {plan.PAD_M[1] / 2:.2f} m; "
        f"the largest circle in the buildable land has {max(circles):.2f} m"
    )


def _largest_scale(candidate: plan.Candidate, room: BaseGeometry | None) -> float | None:
    """Largest scale of the pad where the short side of an empty rectangle settles it.

    Without buildable land: of the whole parcel, without setbacks.
    """
    inset_m = 0.0 if room is None else plan.PARCEL_SETBACK_M
    sides = sorted((candidate.front_m, candidate.depth_m))
    short, long = (side - 2 * inset_m for side in sides)
    whole = room is None or abs(room.area - short * long) < 0.01
    scale = short / plan.PAD_M[1]
    if candidate.arm_m is not None or not whole or scale > long / plan.PAD_M[0]:
        return None
    return round(scale, 5)


def _world(shape: BaseGeometry) -> list[list[float]]:
    """Coordinates as in the files, to the millimetre."""
    points = shapely.get_coordinates(shape) + np.asarray(plan.ORIGIN_M)
    return [[round(float(x), 3), round(float(y), 3)] for x, y in points]


def _facts(candidate: plan.Candidate, land: Land, ground: Ground) -> Facts:
    """What only this trap has."""
    by_name: dict[str, Callable[[], Facts]] = {
        "Ledge Field": lambda: {
            "terrace": _world(ground.terrace),
            "terrace_size_m": list(relief.TERRACE_M),
            "terrace_level_m": round(ground.planes["Ledge Field"].height_m, 3),
        },
        "Millpond Park": lambda: {
            "pond": "Mill Pond",
            "pond_level_m": ground.pond_levels_m["Mill Pond"],
        },
        "Saucer Lawn": lambda: {
            "hollow_centre": _world(land.candidates["Saucer Lawn"].centroid)[0],
            "hollow_radius_m": relief.HOLLOW_RADIUS_M,
            "closed_depth_m": relief.HOLLOW_CLOSED_M,
        },
        "Culvert Meadow": lambda: _dam(land, ground),
        "Far Bank Meadow": lambda: _far_bank(land),
        "Sorrel Green": lambda: {"twin": "Sedge Green"},
        "Sedge Green": lambda: {"twin": "Sorrel Green"},
        "Cinder Lot": lambda: {
            "dominated_by": "Tansy Field",
            "this": _plain("Cinder Lot", land, ground),
            "other": _plain("Tansy Field", land, ground),
        },
        "Turnpike Green": lambda: _beside_arterial(land),
        "Heron Landing": lambda: _open_pond(land),
        "Gatehouse Meadow": lambda: _fence_gap(land),
        "Skew Lot": lambda: {"turn_deg": candidate.turn_deg} | _untilted(candidate),
        "Conduit Common": lambda: {"easement_m": EASEMENT_M, "short_side_m": 42.0},
        "Larch Street School": lambda: {
            "restroom": "School restroom",
            "access": "private",
            "opening": "school hours",
        },
    }
    known = by_name.get(candidate.name)
    return {} if known is None else known()


def _untilted(candidate: plan.Candidate) -> Facts:
    """Largest scale at 0 and at 90 degrees to the grid, in the lot turned by `turn_deg`.

    A rectangle p by q fits a rectangle A by B at an angle t between them if p cos t + q sin t <= A
    and p sin t + q cos t <= B.
    """
    turn = np.radians(candidate.turn_deg or 0.0)
    inner = [side - 2 * plan.PARCEL_SETBACK_M for side in (candidate.front_m, candidate.depth_m)]
    scales = []
    for p, q in (plan.PAD_M, plan.PAD_M[::-1]):
        wide, deep = p * np.cos(turn) + q * np.sin(turn), p * np.sin(turn) + q * np.cos(turn)
        scales.append(min(inner[0] / wide, inner[1] / deep))
    return {"largest_scale_at_0_or_90_deg": round(float(max(scales)), 5)}


def _at_most_m(outline: Polygon, hazard: BaseGeometry) -> float:
    """No pad in the parcel can be farther from a convex hazard than this.

    A pad holds a circle as wide as its short side, and the far side of that circle is at most as
    far off as the farthest corner of the buildable land.
    """
    room = outline.buffer(-plan.PARCEL_SETBACK_M, join_style="mitre")
    farthest_m = max(Point(corner).distance(hazard) for corner in room.exterior.coords)
    return round(float(farthest_m) - plan.PAD_M[1], 2)


def _beside_arterial(land: Land) -> Facts:
    # half a metre more, because the street bends a little and so is not quite convex
    edge = land.streets["Halden Turnpike"].buffer(plan.PAVEMENT_HALF_M[plan.ARTERIAL])
    return {
        "centre_line_to_parcel_m": round(
            land.candidates["Turnpike Green"].distance(land.streets["Halden Turnpike"]), 2
        ),
        "pavement_half_m": plan.PAVEMENT_HALF_M[plan.ARTERIAL],
        "pavement_to_pad_at_most_m": _at_most_m(land.candidates["Turnpike Green"], edge) + 0.5,
    }


def _open_pond(land: Land) -> Facts:
    pond, outline = land.ponds["Heron Pond"], land.candidates["Heron Landing"]
    return {
        "pond": "Heron Pond",
        "fenced": False,
        "pond_to_parcel_m": round(outline.distance(pond), 2),
        "pond_to_pad_at_most_m": _at_most_m(outline, pond),
    }


def _fence_gap(land: Land) -> Facts:
    first, second = pond_fence(land)
    pond, outline = land.ponds["Heron Pond"], land.candidates["Gatehouse Meadow"]
    return {
        "pond": "Heron Pond",
        "gap": _world(LineString([first.coords[-1], second.coords[0]])),
        "gap_m": GAP_M,
        "fence_ft": FENCE_FT,
        "pond_to_parcel_m": round(outline.distance(pond), 2),
        "gap_to_pond_m": round(Point(second.coords[0]).distance(pond), 2),
    }


def _plain(name: str, land: Land, ground: Ground) -> Facts:
    """A few plain figures of a parcel."""
    outline = land.candidates[name]
    closed = {"School restroom", "Bakery restroom"}
    public = [Point(at) for key, at in restroom_places(land).items() if key not in closed]
    water = [*land.ponds.values(), land.creek]
    return {
        "area_m2": round(outline.area, 1),
        "grade_pct": ground.planes[name].grade_pct,
        "arterial_centre_line_m": round(outline.distance(land.streets["Halden Turnpike"]), 1),
        "restroom_straight_m": round(min(outline.distance(one) for one in public), 1),
        "water_m": round(min(outline.distance(one) for one in water), 1),
    }


def _dam(land: Land, ground: Ground) -> Facts:
    """How high the bank of Quarry Road stands over the bed of the draw just above it."""
    road = land.streets["Quarry Road"]
    crossing = road.intersection(curve(plan.DRAW)).centroid
    crown_m = ground.height_m[plan.SIDE_M - 1 - int(crossing.y), int(crossing.x)]
    bed = relief.mask_of(crossing.buffer(16).intersection(land.candidates["Culvert Meadow"]))
    bed_m = ground.height_m[bed].min()
    return {
        "crossing": _world(crossing)[0],
        "crown_m": round(float(crown_m), 2),
        "bed_m": round(float(bed_m), 2),
        "bank_above_bed_m": round(float(crown_m - bed_m), 2),
        "mapped_culvert": False,
    }


def _far_bank(land: Land) -> Facts:
    """The restroom across the creek: straight, and the least that any walk over a bridge can be."""
    outline = land.candidates["Far Bank Meadow"]
    restroom = Point(restroom_places(land)["Riverwalk restroom"])
    # a bridge may be crossed anywhere on its width: 20 m less than to the middles
    ways = [land.streets["Halden Turnpike"], LineString(plan.FOOTPATHS["Footbridge way"])]
    bridges = [way.intersection(land.creek).centroid for way in ways]
    least_m = min(outline.distance(one) + one.distance(restroom) for one in bridges) - 20
    return {
        "restroom": "Riverwalk restroom",
        "straight_m": round(outline.distance(restroom), 1),
        "walk_at_least_m": round(least_m, 1),
    }
