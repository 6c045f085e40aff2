"""Rights-of-way, candidate parcels, house lots along the streets, and the land that is left."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import LineString, Polygon
from shapely.ops import substring

from sample_town import plan
from sample_town.shapes import curve, parcel_outline, polygons, pond_outline

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from numpy.random import Generator
    from shapely.geometry.base import BaseGeometry

CENTRE_M = (520.0, 690.0)
SHOP_DEPTH_M = 34.0
GRID_M = 0.001
LEAST_LOT_M2, LEAST_LEFT_M2 = 380.0, 900.0


@dataclass(frozen=True)
class Lot:
    """A parcel that is no candidate."""

    outline: Polygon
    use: str
    street: str
    front: LineString | None


@dataclass(frozen=True)
class Land:
    """How the town is divided."""

    streets: dict[str, LineString]
    right_of_way: BaseGeometry
    creek: BaseGeometry
    ponds: dict[str, Polygon]
    candidates: dict[str, Polygon]
    civic: dict[str, Polygon]
    lots: list[Lot]


def divide_land(lines: dict[str, LineString], rng: Generator) -> Land:
    """Lay out candidates first, then lots along the streets, then name what is left."""
    func = {street.name: street.func for street in plan.STREETS}
    right_of_way = shapely.union_all(
        [line.buffer(plan.RIGHT_OF_WAY_HALF_M[func[name]]) for name, line in lines.items()]
    )
    frame = shapely.box(0, 0, plan.SIDE_M, plan.SIDE_M)
    creek = curve(plan.CREEK).buffer(plan.CREEK_HALF_M).intersection(frame)
    ponds = {pond.name: pond_outline(pond) for pond in plan.PONDS}
    candidates = {one.name: parcel_outline(one, lines) for one in plan.CANDIDATES}
    civic = {one.name: parcel_outline(one, lines) for one in plan.CIVIC}
    taken = [right_of_way, creek.buffer(14), *(pond.buffer(8) for pond in ponds.values())]
    taken += [shape.buffer(0.01) for shape in (*candidates.values(), *civic.values())]
    taken += [curve(points).buffer(3) for points in plan.FOOTPATHS.values()]
    taken += [curve(plan.DRAW).buffer(9), _reserved(candidates)]
    lots = _front_lots(lines, taken, rng)
    known = [right_of_way, creek, *candidates.values(), *civic.values()]
    lots = _left_over(frame, known, lots, creek)
    return Land(lines, right_of_way, creek, ponds, candidates, civic, lots)


def _reserved(candidates: Mapping[str, Polygon]) -> BaseGeometry:
    """Town land that stays open: between the twins, round the ponds' parks, on the steep ground."""
    twins = shapely.union_all([candidates["Sorrel Green"], candidates["Sedge Green"]]).convex_hull
    pond_side = candidates["Gatehouse Meadow"].union(candidates["Heron Landing"]).buffer(6)
    return shapely.union_all([twins, pond_side, candidates["Millpond Park"].buffer(12)])


def _front_lots(
    lines: Mapping[str, LineString], taken: list[BaseGeometry], rng: Generator
) -> list[Lot]:
    """Lots on both sides of each street, each clipped to what no earlier one took."""
    lots: list[Lot] = []
    inside = shapely.box(12, 12, plan.SIDE_M - 12, plan.SIDE_M - 12)
    for street in plan.STREETS:
        if not street.lots:
            continue
        for outline, front, use in _strip(street, lines[street.name], rng):
            near = [shape for shape in taken if shape.intersects(outline)]
            clipped = shapely.difference(
                outline.intersection(inside), shapely.union_all(near), grid_size=GRID_M
            )
            free = max(polygons(clipped), key=lambda part: part.area, default=Polygon())
            if free.area < max(LEAST_LOT_M2, 0.55 * outline.area) or free.interiors:
                continue
            if shapely.maximum_inscribed_circle(free).length < 7.5:
                continue
            touching = front.intersection(free.buffer(0.5))
            if touching.length < 0.6 * front.length:
                continue
            lots.append(Lot(free, use, street.name, front))
            taken.append(free)
    return lots


def part_of_town(street: str, place: shapely.Point) -> str:
    """Which size of lots is usual here."""
    if street in plan.OUTSKIRTS or not (170 < place.x < 1060 and 90 < place.y < 1330):
        return "outskirts"
    return "newer" if street in plan.NEWER else "old town"


def _strip(
    street: plan.Street, line: LineString, rng: Generator
) -> Iterator[tuple[Polygon, LineString, str]]:
    """Cut both sides of a street into lots."""
    row_m = plan.RIGHT_OF_WAY_HALF_M[street.func]
    for side in (1, -1):
        at_m = row_m + rng.uniform(0, 4)
        while at_m < line.length - 14:
            middle = line.interpolate(at_m)
            shops = street.func != plan.LOCAL and (
                np.hypot(middle.x - CENTRE_M[0], (middle.y - CENTRE_M[1]) * 1.1) < 150
            )
            least_m, most_m, depth_m, _ = plan.LOT_SIZES[part_of_town(street.name, middle)]
            if shops:
                least_m, most_m, depth_m = 15, 21, SHOP_DEPTH_M
            width_m = min(rng.uniform(least_m, most_m), line.length - at_m)
            part = LineString(shapely.get_coordinates(substring(line, at_m, at_m + width_m)))
            near, far = (part.offset_curve(side * reach_m) for reach_m in (row_m, row_m + depth_m))
            at_m += width_m
            if width_m < 14 or not isinstance(near, LineString) or not isinstance(far, LineString):
                continue
            outline = Polygon([*near.coords, *reversed(far.coords)])
            if outline.is_valid and outline.area > LEAST_LOT_M2:
                yield outline, near, "SHOP" if shops else "HOUSE"


def _left_over(
    frame: Polygon, known: list[BaseGeometry], lots: list[Lot], creek: BaseGeometry
) -> list[Lot]:
    """Corners that are left go to the lot beside them, larger parts become farm, wood or common."""
    used = shapely.union_all([*known, *(lot.outline for lot in lots)])
    rest = shapely.difference(frame.buffer(-12), used, grid_size=GRID_M)
    wide = shapely.intersection(
        rest.buffer(-3).buffer(3, join_style="mitre"), rest, grid_size=GRID_M
    )
    grown = list(lots)
    left = []
    for part in polygons(wide):
        if part.area < 25:
            continue
        if part.area < LEAST_LEFT_M2:
            _give(part, grown)
            continue
        use = "VACANT" if part.area < 6000 else "FARM"
        use = "WOODLAND" if part.distance(creek) < 5 else use
        left.append(Lot(part, use, "", None))
    return grown + left


def _give(part: Polygon, lots: list[Lot]) -> None:
    """Add a corner to the lot that shares the longest side with it, if one does."""
    beside = part.buffer(0.05)
    shared = [lot.outline.boundary.intersection(beside).length for lot in lots]
    best = int(np.argmax(shared))
    lot = lots[best]
    whole = shapely.union(lot.outline, part, grid_size=GRID_M)
    if shared[best] > 4 and isinstance(whole, Polygon) and not whole.interiors:
        lots[best] = Lot(whole, lot.use, lot.street, lot.front)
