"""Sidewalks, crossings and footpaths, and streets that share a vertex wherever a way meets them."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import LineString, Point, STRtree
from shapely.ops import linemerge, substring

from sample_town import plan
from sample_town.shapes import curve, tangent

if TYPE_CHECKING:
    from collections.abc import Mapping

    from shapely.geometry.base import BaseGeometry

    from sample_town.lots import Land

SIDEWALK_BEYOND_M = 2.2
# sidewalks are laid inside this outline only; beyond it people walk on the verge
WALKED = shapely.Polygon(
    [
        (168, 570),
        (430, 470),
        (450, 300),
        (650, 280),
        (690, 520),
        (1040, 600),
        (1090, 1180),
        (960, 1190),
        (840, 700),
        (835, 1140),
        (450, 1280),
        (165, 1260),
    ]
)
GRID_M = 0.001


@dataclass(frozen=True)
class Way:
    """One stretch of street or path between two meetings."""

    line: LineString
    kind: str
    name: str
    bridge: bool


def lay_ways(land: Land, stops: Mapping[str, Point]) -> tuple[list[Way], list[Way]]:
    """Streets and paths, cut where streets meet and where paths meet anything."""
    streets = _cut_streets(land)
    paths = [(line, "sidewalk", "") for line in _sidewalks(land)]
    paths += [(line, "crossing", "") for line in _crossings(land)]
    paths += [
        (line, "steps" if name.endswith(" steps") else "path", name)
        for name, line in _footpaths(land, [p[0] for p in paths]).items()
    ]
    reach = [line for line, _, _ in paths] + [line for line, _, _ in streets]
    paths += [(_link(stop, reach), "path", name) for name, stop in stops.items()]
    noded = shapely.get_parts(
        shapely.union_all([line for line, _, _ in [*streets, *paths]], grid_size=GRID_M)
    )
    sources = STRtree([line for line, _, _ in [*streets, *paths]])
    of_source: dict[int, list[LineString]] = {}
    for piece in noded:
        near = sources.query(piece.interpolate(0.5, normalized=True), "dwithin", 5 * GRID_M)
        of_source.setdefault(int(near.min()), []).append(piece)
    wet = land.creek.buffer(1.5)
    out_streets, out_paths = [], []
    for index, pieces in sorted(of_source.items()):
        _, kind, name = [*streets, *paths][index]
        if index < len(streets):
            whole = linemerge(pieces)
            out_streets += [
                Way(part, kind, name, part.intersects(wet)) for part in shapely.get_parts(whole)
            ]
        else:
            parts = [part for piece in pieces for part in _cut_at_bank(piece, land)]
            out_paths += [Way(part, kind, name, part.intersects(wet)) for part in parts]
    return out_streets, out_paths


def _cut_streets(land: Land) -> list[tuple[LineString, str, str]]:
    """Each street from junction to junction; a bridge is a stretch of its own."""
    func = {street.name: street.func for street in plan.STREETS}
    noded = shapely.union_all([*land.streets.values()], grid_size=GRID_M)
    cut = []
    for piece in shapely.get_parts(noded):
        middle = piece.interpolate(0.5, normalized=True)
        name = min(land.streets, key=lambda key: land.streets[key].distance(middle))
        cut += [(part, func[name], name) for part in _cut_at_bank(piece, land)]
    return cut


def _cut_at_bank(piece: LineString, land: Land) -> list[LineString]:
    """Cut a line where it comes to the creek, so that a bridge is a stretch of its own."""
    if piece.distance(land.creek) > 5:
        return [piece]
    bank = land.creek.buffer(4).boundary
    ends = sorted(piece.project(point) for point in _points(piece.intersection(bank)))
    stops = [0.0, *ends, piece.length]
    cut = [substring(piece, a, b) for a, b in pairwise(stops)]
    return [part for part in cut if isinstance(part, LineString)]


def _points(shape: BaseGeometry) -> list[Point]:
    return [part for part in shapely.get_parts(shape) if part.geom_type == "Point"]


def _walked_area(land: Land) -> BaseGeometry:
    """Streets with sidewalks, out to the sidewalk on either side."""
    func = {street.name: street.func for street in plan.STREETS}
    bands = []
    for name, line in land.streets.items():
        part = line.intersection(WALKED)
        if func[name] != plan.HIGHWAY and part.length > 40:
            reach_m = plan.PAVEMENT_HALF_M[func[name]] + SIDEWALK_BEYOND_M
            bands.append(part.buffer(reach_m, cap_style="flat"))
    return shapely.union_all(bands)


def _sidewalks(land: Land) -> list[LineString]:
    """The edges of the walked streets: rings round every block."""
    edges = shapely.simplify(_walked_area(land), 0.05).boundary
    return [ring for ring in shapely.get_parts(edges) if isinstance(ring, LineString)]


def _crossings(land: Land) -> list[LineString]:
    """Across each arm of each meeting of walked streets, from sidewalk to sidewalk."""
    area = shapely.simplify(_walked_area(land), 0.05)
    func = {street.name: street.func for street in plan.STREETS}
    crossings = []
    for piece, _, name in _cut_streets(land):
        reach_m = plan.PAVEMENT_HALF_M[func[name]] + SIDEWALK_BEYOND_M
        for at_m in (14.0, piece.length - 14.0):
            middle = piece.interpolate(at_m)
            if piece.length < 40 or not area.contains(middle):
                continue
            along = tangent(piece, at_m)
            side = np.array([-along[1], along[0]]) * (reach_m + 1)
            here = np.asarray(middle.coords[0])
            across = LineString([here - side, here, here + side]).intersection(area)
            if isinstance(across, LineString) and across.length < 2 * reach_m + 0.5:
                crossings.append(across)
    return crossings


def _footpaths(land: Land, sidewalks: list[LineString]) -> dict[str, LineString]:
    """The footpaths of the plan; ends that come near a way are set onto it."""
    reach: list[LineString] = [*sidewalks, *land.streets.values()]
    laid: dict[str, LineString] = {}
    for name, points in plan.FOOTPATHS.items():
        laid[name] = _onto(curve(points), reach, 14)
        reach.append(laid[name])
    return laid


def _onto(line: LineString, ways: list[LineString], reach_m: float) -> LineString:
    """Set both ends of a line onto the nearest way within reach."""
    points = list(line.coords)
    for end in (0, -1):
        here = Point(points[end])
        nearest = min(ways, key=here.distance)
        if 0 < here.distance(nearest) <= reach_m:
            onto = nearest.interpolate(nearest.project(here)).coords[0]
            points = [onto, *points] if end == 0 else [*points, onto]
    return LineString(points)


def _link(stop: Point, ways: list[LineString]) -> LineString:
    """The straight way from a place to the nearest street or path."""
    nearest = min(ways, key=stop.distance)
    return LineString([stop, nearest.interpolate(nearest.project(stop))])
