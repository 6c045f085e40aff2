"""What official surveys say of the town's land: inlets, culverts, soils, flood zones, wetlands, old uses."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from shapely import LineString, Point

from sample_town import plan
from sample_town.buildings import frame_of
from sample_town.shapes import curve

if TYPE_CHECKING:
    from sample_town.lots import Land

Row = dict[str, Any]

INLETS_APART_M, INLET_DEPTH_FT = 75.0, 3.5
UNOPENED = 5  # every fifth inlet: nobody has opened its lid
CENTRE_M, CENTRE_RADIUS_M = (520.0, 690.0), 95.0
MINIMAL = "AREA OF MINIMAL FLOOD HAZARD"


def town_square() -> shapely.Polygon:
    """Land that each survey covers."""
    return shapely.box(0, 0, plan.SIDE_M, plan.SIDE_M)


def inlets(land: Land) -> list[Row]:
    """Storm inlets at the kerbs of the built streets; none by the creek, or on the bank that dams the draw."""
    kind = {street.name: street.func for street in plan.STREETS}
    away = shapely.union_all([land.creek, curve(plan.DRAW), *land.ponds.values()]).buffer(45)
    inside = town_square().buffer(-20)
    rows: list[Row] = []
    for name, line in land.streets.items():
        if kind[name] == plan.HIGHWAY or name in plan.OUTSKIRTS:
            continue
        kerb_m = plan.PAVEMENT_HALF_M[kind[name]] - 0.4
        kerb = line.offset_curve(kerb_m)
        if not isinstance(kerb, LineString):
            continue
        for at_m in np.arange(INLETS_APART_M / 2, kerb.length, INLETS_APART_M):
            place = kerb.interpolate(at_m)
            if inside.contains(place) and not away.contains(place):
                number = len(rows) + 1
                deep = None if number % UNOPENED == 0 else INLET_DEPTH_FT
                rows.append({"NAME": f"Inlet {number}", "DEPTH_FT": deep, "geometry": place})
    lawn = frame_of(land.candidates["Tansy Field"]).place(-16, 12)
    rows.append({"NAME": "Tansy Field inlet", "DEPTH_FT": 4.0, "geometry": Point(lawn)})
    return rows


def culverts(land: Land) -> list[Row]:
    """The drain that leads what comes down the hill past the lawn of Tansy Field."""
    field = frame_of(land.candidates["Tansy Field"])
    drain = LineString([field.place(-42, 61), field.place(20, 54)])
    return [{"NAME": "Tansy Field drain", "geometry": drain}]


def soils() -> list[Row]:
    """Map units of a made-up soil survey, by the lie of the land; the middle of town is built over."""
    square, axis = town_square(), curve(plan.CREEK)
    middle = Point(CENTRE_M).buffer(CENTRE_RADIUS_M)
    wet = axis.buffer(38)
    floor = axis.buffer(150).difference(wet)
    rest = square.difference(axis.buffer(150))
    west = rest.intersection(_west_of(axis))
    units = [
        # symbol, name, component, share, group, least depth to water (cm), floods, rock (cm), shape
        ("RiA", "Rilling silt loam", "Rilling", 85, "B/D", 15, "Frequent", None, wet),
        ("AmB", "Ambry fine sandy loam", "Ambry", 80, "B", 90, "None", None, floor),
        ("QuB", "Quarl loamy sand", "Quarl", 85, "A", 150, "None", None, west),
        ("HdC", "Hadden stony loam", "Hadden", 75, "C", 60, "None", 60, rest.difference(west)),
    ]
    rows = [
        {
            "MUSYM": symbol,
            "MUNAME": name,
            "COMPNAME": component,
            "COMPPCT_R": share,
            "HYDGRPDCD": group,
            "WTDEPANNMIN": depth_cm,
            "FLODFREQDCD": floods,
            "BROCKDEPMIN": rock_cm,
            "geometry": part,
        }
        for symbol, name, component, share, group, depth_cm, floods, rock_cm, shape in units
        for part in shapely.get_parts(shape.intersection(square).difference(middle))
    ]
    silent = dict.fromkeys(["HYDGRPDCD", "WTDEPANNMIN", "FLODFREQDCD", "BROCKDEPMIN"])
    town = {"MUSYM": "Ur", "MUNAME": "Urban land", "COMPNAME": "Urban land", "COMPPCT_R": 90}
    return [*rows, {**town, **silent, "geometry": middle}]


def _west_of(axis: LineString) -> shapely.Polygon:
    """Land on the west side of the creek."""
    line = list(axis.coords)
    return shapely.Polygon([*line, (-100, line[-1][1]), (-100, line[0][1])]).buffer(0)


def flood_zones() -> list[Row]:
    """Zones of a made-up flood study along the creek, and the land that it found outside."""
    axis, square = curve(plan.CREEK), town_square()
    rings = [axis.buffer(reach_m).intersection(square) for reach_m in (5.0, 10.0, 26.0)]
    zones = [
        ("AE", "FLOODWAY", rings[0]),
        ("AE", None, rings[1].difference(rings[0])),
        ("X", "0.2 PCT ANNUAL CHANCE FLOOD HAZARD", rings[2].difference(rings[1])),
        ("X", MINIMAL, square.difference(rings[2])),
    ]
    return [
        {"FLD_ZONE": zone, "ZONE_SUBTY": subtype, "geometry": part}
        for zone, subtype, shape in zones
        for part in shapely.get_parts(shape)
    ]


def wetlands(land: Land) -> list[Row]:
    """Two wet woods, away from what is looked at, and the land that was searched."""
    parks = shapely.union_all(list(land.candidates.values())).buffer(60)
    places = [Point(720, 180).buffer(28), Point(1010, 1440).buffer(30)]
    rows = [
        {"WETLAND_TYPE": "Freshwater Forested/Shrub Wetland", "SEARCHED": "no", "geometry": shape}
        for shape in places
        if not shape.intersects(parks)
    ]
    return [*rows, {"WETLAND_TYPE": None, "SEARCHED": "yes", "geometry": town_square()}]


def below(land: Land) -> list[Row]:
    """What old maps and the state's lists show, and the land for which somebody looked."""
    field = land.candidates["Lantern Field"]
    west, south, _, _ = field.bounds
    pond = Point(west + 12, south + 12).buffer(9).intersection(field)
    rows = [
        ("demolished building", "Old cider mill", shapely.box(1160, 1150, 1184, 1166), "no"),
        ("filled pond", "Skating pond, filled in 1961", pond, "no"),
        ("listed site", "Halden dye works", shapely.box(1300, 560, 1345, 600), "no"),
        (None, "old maps of 1898 and 1946, state lists", town_square(), "yes"),
    ]
    return [
        {"KIND": kind, "NAME": name, "SEARCHED": searched, "geometry": shape}
        for kind, name, shape, searched in rows
    ]
