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
from sample_town.shapes import curve

if TYPE_CHECKING:
    from collections.abc import Mapping

    from shapely.geometry.base import BaseGeometry

    from sample_town.buildings import Building
    from sample_town.ground import Ground
    from sample_town.lots import Land

Facts = dict[str, Any]
NO_FIT = {"thin", "narrow arms", "full of buildings", "easement across"}


def truth_of(
    land: Land, built: list[Building], ground: Ground, ids: Mapping[str, str]
) -> list[Facts]:
    """One record for each candidate."""
    records = []
    for candidate in plan.CANDIDATES:
        room = buildable(candidate.name, land, built)
        pad = find_pad(room, frame_of(land.candidates[candidate.name]).along)
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
    gone = [one.outline.buffer(plan.BUILDING_SETBACK_M) for one in built]
    gone += [row["geometry"] for row in easements(land)]
    gone += [*land.ponds.values(), land.creek]
    return inner.difference(shapely.union_all([shape for shape in gone if shape.intersects(inner)]))


def find_pad(room: BaseGeometry, along: np.ndarray[Any, np.dtype[np.float64]]) -> Polygon | None:
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
        pads = shapely.polygons(rings)
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
        shapely.maximum_inscribed_circle(part, tolerance=0.01).length
        for part in shapely.get_parts(room)
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
    outline = land.candidates[candidate.name]
    if candidate.name == "Ledge Field":
        return {
            "terrace": _world(ground.terrace),
            "terrace_size_m": list(relief.TERRACE_M),
            "terrace_level_m": round(ground.planes["Ledge Field"].height_m, 3),
        }
    if candidate.name == "Millpond Park":
        return {"pond": "Mill Pond", "pond_level_m": ground.pond_levels_m["Mill Pond"]}
    if candidate.name == "Saucer Lawn":
        return {
            "hollow_centre": _world(outline.centroid)[0],
            "hollow_radius_m": relief.HOLLOW_RADIUS_M,
            "closed_depth_m": relief.HOLLOW_CLOSED_M,
            "every_pad_covers_the_centre": True,
        }
    if candidate.name == "Culvert Meadow":
        return _dam(land, ground)
    if candidate.name == "Far Bank Meadow":
        return _far_bank(land)
    return _more_facts(candidate, land, ground)


def _more_facts(candidate: plan.Candidate, land: Land, ground: Ground) -> Facts:
    """Facts of the pairs and of the neighbours."""
    outline = land.candidates[candidate.name]
    twins = {"Sorrel Green": "Sedge Green", "Sedge Green": "Sorrel Green"}
    if candidate.name in twins:
        return {"twin": twins[candidate.name]}
    if candidate.name == "Cinder Lot":
        return {
            "dominated_by": "Founders Green",
            "this": _plain(outline, land, ground, "Cinder Lot"),
            "other": _plain(land.candidates["Founders Green"], land, ground, "Founders Green"),
        }
    if candidate.name == "Turnpike Green":
        edge = land.streets["Halden Turnpike"].buffer(plan.PAVEMENT_HALF_M[plan.ARTERIAL])
        room = outline.buffer(-plan.PARCEL_SETBACK_M, join_style="mitre")
        far_m = max(Point(corner).distance(edge) for corner in room.exterior.coords)
        return {"pavement_to_pad_at_most_m": round(far_m - plan.PAD_M[1], 2)}
    if candidate.name == "Heron Landing":
        pond = land.ponds["Heron Pond"]
        room = outline.buffer(-plan.PARCEL_SETBACK_M, join_style="mitre")
        far_m = max(Point(corner).distance(pond) for corner in room.exterior.coords)
        return {
            "pond": "Heron Pond",
            "fenced": False,
            "pond_to_pad_at_most_m": round(far_m - plan.PAD_M[1], 2),
            "pond_to_parcel_m": round(outline.distance(pond), 2),
        }
    if candidate.name == "Gatehouse Meadow":
        first, second = pond_fence(land)
        ends = LineString([first.coords[-1], second.coords[0]])
        return {
            "pond": "Heron Pond",
            "gap": _world(ends),
            "gap_m": GAP_M,
            "fence_ft": FENCE_FT,
            "pond_to_parcel_m": round(outline.distance(land.ponds["Heron Pond"]), 2),
        }
    if candidate.name == "Skew Lot":
        return {"turn_deg": candidate.turn_deg, "fits_at_0_or_90_deg": False}
    if candidate.name == "Conduit Common":
        return {"easement_m": EASEMENT_M, "fits_without_the_easement": True}
    if candidate.name == "Larch Street School":
        return {"restroom": "School restroom", "access": "private", "opening": "school hours"}
    return {}


def _plain(outline: Polygon, land: Land, ground: Ground, name: str) -> Facts:
    """A few plain figures of a parcel."""
    public = [
        Point(place)
        for key, place in restroom_places(land).items()
        if key not in {"School restroom", "Bakery restroom"}
    ]
    open_water = [*land.ponds.values(), land.creek]
    return {
        "area_m2": round(outline.area, 1),
        "grade_pct": ground.planes[name].grade_pct,
        "arterial_centre_m": round(outline.distance(land.streets["Halden Turnpike"]), 1),
        "restroom_straight_m": round(min(outline.distance(one) for one in public), 1),
        "water_m": round(min(outline.distance(one) for one in open_water), 1),
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
    ways = [land.streets["Halden Turnpike"], LineString(plan.FOOTPATHS["Footbridge way"])]
    bridges = [way.intersection(land.creek).centroid for way in ways]
    least_m = min(outline.distance(one) + one.distance(restroom) for one in bridges) - 20
    return {
        "restroom": "Riverwalk restroom",
        "straight_m": round(outline.distance(restroom), 1),
        "walk_at_least_m": round(least_m, 1),
    }
