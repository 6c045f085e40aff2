"""Buildings: houses facing their street, shops, the school and other public ones."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import Polygon

from sample_town import plan
from sample_town.lots import part_of_town
from sample_town.shapes import curve, polygons

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.random import Generator
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from sample_town.lots import Land, Lot


@dataclass(frozen=True)
class Building:
    """A footprint and what it is."""

    outline: BaseGeometry
    kind: str
    name: str = ""


@dataclass(frozen=True)
class Frame:
    """A parcel's own directions: from the middle of its front, along it and into the parcel."""

    front: NDArray[np.float64]
    along: NDArray[np.float64]
    inward: NDArray[np.float64]

    def place(self, along_m: float, inward_m: float) -> NDArray[np.float64]:
        """East and north of a place given in the parcel's own directions."""
        return np.asarray(self.front + self.along * along_m + self.inward * inward_m)

    def block(self, along_m: float, inward_m: float, wide_m: float, deep_m: float) -> Polygon:
        """Rectangle whose front side has its middle at a place."""
        half = wide_m / 2
        corners = [(-half, 0.0), (half, 0.0), (half, deep_m), (-half, deep_m)]
        return Polygon([self.place(along_m + u, inward_m + v) for u, v in corners])


def frame_of(outline: Polygon) -> Frame:
    """Directions of a parcel laid out by `parcel_outline`: its first side is the front."""
    first, second = shapely.get_coordinates(outline)[:2]
    return _frame((first + second) / 2, second - first, outline)


def _frame(middle: NDArray[np.float64], along: NDArray[np.float64], outline: Polygon) -> Frame:
    unit = along / np.hypot(*along)
    inward = np.array([-unit[1], unit[0]])
    if np.dot(inward, np.asarray(outline.centroid.coords[0]) - middle) < 0:
        inward = -inward
    return Frame(middle, unit, inward)


def put_up_buildings(land: Land, rng: Generator) -> list[Building]:
    """All buildings of the town, houses first."""
    # houses keep off the candidates, so that their setback takes nothing inside the parcel's own
    kept_free = shapely.union_all([*land.candidates.values()]).buffer(3.2)
    built: list[Building] = []
    for lot in land.lots:
        if lot.front is not None:
            built.extend(_on_lot(lot, kept_free, rng))
        elif lot.use == "FARM" and lot.outline.area > 40000:
            built.extend(_barn(lot, rng))
    built.extend(_public(land))
    return built


def _on_lot(lot: Lot, kept_free: BaseGeometry, rng: Generator) -> Iterator[Building]:
    """House and now and then a shed, or a shop that fills the front."""
    if lot.front is None:
        return
    front = shapely.get_coordinates(lot.front.intersection(lot.outline.buffer(0.5)))
    wide_m = float(np.hypot(*(front[-1] - front[0])))
    frame = _frame((front[0] + front[-1]) / 2, front[-1] - front[0], lot.outline)
    room = lot.outline.buffer(-1.0).difference(kept_free)
    if lot.use == "SHOP":
        shop = frame.block(0, 1.5, wide_m - 2.2, rng.uniform(12, 19))
        if room.contains(shop):
            yield Building(shop, "shop")
        return
    built_share = plan.LOT_SIZES[part_of_town(lot.street, lot.outline.centroid)][3]
    if rng.uniform() > built_share:
        return
    house = _house(frame, room, wide_m, rng)
    if house is None:
        return
    yield Building(house, "dwelling")
    shed = frame.block(rng.choice([-1, 1]) * (wide_m / 2 - 5), rng.uniform(27, 32), 3.6, 3.0)
    if rng.uniform() < 0.4 and room.contains(shed) and shed.distance(house) > 4:
        yield Building(shed, "shed")


def _barn(lot: Lot, rng: Generator) -> Iterator[Building]:
    """A barn with a lean-to, well inside its field."""
    field = lot.outline.difference(curve(plan.DRAW).buffer(25))
    widest = max(polygons(field), key=lambda part: part.area)
    circle = shapely.maximum_inscribed_circle(widest, tolerance=2)
    middle, turn = np.asarray(circle.coords[0]), rng.uniform(0, np.pi)
    along = np.array([np.cos(turn), np.sin(turn)])
    frame = Frame(middle, along, np.array([-along[1], along[0]]))
    if circle.length > 40:
        yield Building(frame.block(0, 0, 26, 12).union(frame.block(5, 12, 9, 5)), "barn")


def _house(frame: Frame, room: BaseGeometry, wide_m: float, rng: Generator) -> BaseGeometry | None:
    """Plain, L-shaped or with a garage in front; None where no house has room."""
    for _ in range(12):
        wide = min(rng.uniform(8.5, 13.5), wide_m - 4)
        deep, back = rng.uniform(7.5, 10.5), rng.uniform(5, 10)
        shift = rng.uniform(-0.5, 0.5) * max(wide_m - wide - 6, 0)
        house: BaseGeometry = frame.block(shift, back, wide, deep)
        side = rng.choice([-1, 1])
        form = rng.uniform()
        if form < 0.45:
            wing = frame.block(shift + side * (wide / 2 - 2.6), back + deep, 5.2, rng.uniform(3, 6))
            house = house.union(wing)
        elif form < 0.7:
            garage = frame.block(shift + side * (wide / 2 + 2.2), back + 1.5, 4.4, 6.4)
            house = house.union(garage)
        if house.geom_type == "Polygon" and room.contains(house):
            return house
    return None


def _public(land: Land) -> Iterator[Building]:
    """School, town hall and the like, park restrooms, and the yard that is full of sheds."""
    school = frame_of(land.candidates["Larch Street School"])
    wings = [
        school.block(-40, 10, 62, 16),
        school.block(-63, 26, 16, 26),
        school.block(-17, 26, 16, 18),
    ]
    yield Building(shapely.union_all(wings), "school", "Larch Street School")
    sizes = {
        "Town Hall": (-8, 8, 24, 15),
        "Public Library": (0, 8, 22, 14),
        "Fire Station": (0, 9, 22, 16),
        "Meeting House": (0, 10, 13, 24),
    }
    for name, (along, inward, wide, deep) in sizes.items():
        yield Building(frame_of(land.civic[name]).block(along, inward, wide, deep), "hall", name)
    yard = frame_of(land.candidates["Depot Yard"])
    for along in (-20, 0, 20):
        for inward in (4, 20, 35):
            yield Building(yard.block(along, inward, 12, 9), "shed", "Depot Yard")
    for name, place in restroom_places(land).items():
        if name not in {"School restroom", "Bakery restroom"}:
            box = shapely.box(place[0] - 2.5, place[1] - 2, place[0] + 2.5, place[1] + 2)
            yield Building(box, "restroom", name)


def restroom_places(land: Land) -> dict[str, NDArray[np.float64]]:
    """Where the restrooms stand."""
    parks = {name: frame_of(outline) for name, outline in land.candidates.items()}
    twins = parks["Sorrel Green"].place(0, 28), parks["Sedge Green"].place(0, 28)
    shops = [lot.outline for lot in land.lots if lot.use == "SHOP" and lot.street == "Main Street"]
    bakery = max(shops, key=lambda shape: shape.centroid.y)
    return {
        "Founders Green restroom": parks["Founders Green"].place(46, 7),
        "Bramble Street restroom": (twins[0] + twins[1]) / 2,
        "Riverwalk restroom": np.array([896.0, 1128.0]),
        "Mill Pond restroom": parks["Millpond Park"].place(55, 10),
        "Tansy Field restroom": parks["Tansy Field"].place(-38, 7),
        "Lamplight Park restroom": parks["Lamplight Park"].place(34, 8),
        "School restroom": parks["Larch Street School"].place(-17, 36),
        "Bakery restroom": np.asarray(bakery.centroid.coords[0]),
    }
