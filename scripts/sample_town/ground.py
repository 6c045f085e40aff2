"""The ground: a valley with terraces and a hill, then what people did to it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from rasterio.features import rasterize
from rasterio.transform import from_origin
from scipy import ndimage
from scipy.interpolate import CubicSpline
from scipy.spatial import cKDTree

from sample_town import plan
from sample_town.shapes import curve, frame_beside, pond_outline

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray
    from shapely import LineString, Polygon
    from shapely.geometry.base import BaseGeometry

NOISE_M = 0.03
BLEND_M = 12.0
TERRACE_M = (38.0, 28.0)
TERRACE_BANK_M = 6.0
HOLLOW_RADIUS_M, HOLLOW_CLOSED_M = 11.0, 0.35
POND_BELOW_SHORE_M, BASIN_DEPTH_M = 0.4, 1.2


@dataclass(frozen=True)
class Plane:
    """A tilted plane: height at a point, rise along a unit vector."""

    centre: tuple[float, float]
    height_m: float
    up: tuple[float, float]
    grade_pct: float

    def heights_m(self, x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.float64]:
        """Heights at places."""
        run = (x - self.centre[0]) * self.up[0] + (y - self.centre[1]) * self.up[1]
        return np.asarray(self.height_m + run * self.grade_pct / 100)


@dataclass(frozen=True)
class Ground:
    """Heights without noise, row 0 in the north, and what is known of them."""

    height_m: NDArray[np.float64]
    still: NDArray[np.bool_]
    planes: dict[str, Plane]
    pond_levels_m: dict[str, float]
    terrace: Polygon


def cell_centres() -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """East and north of the middle of each cell of the town's square."""
    east = np.arange(plan.SIDE_M) + 0.5
    return np.meshgrid(east, east[::-1])


def natural_m(x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.float64]:
    """Height before any stream or street: valley floor, terraces west, hill east."""
    north, east = np.asarray(plan.CREEK, dtype=float)[::-1].T[::-1]
    axis = CubicSpline(north[::2], east[::2])(np.clip(y, 0, plan.SIDE_M))
    d = x - axis
    # spurs and hollows on the hill, and terraces whose edges wander
    d = d + 32 * np.sin(y / 118 + 0.8) * np.clip((d - 120) / 160, 0, 1)
    d = d - 34 * np.sin(y / 187 + x / 400) * np.clip((-d - 90) / 160, 0, 1)
    bed = 88 + 0.006 * np.clip(y, -500, 2000)
    knots_m = [-1500, -800, -470, -420, -95, -45, 0, 45, 110, 230, 420, 560, 900, 1500]
    above_m = [24, 14.5, 9.8, 7.8, 4.2, 0.9, 0.3, 0.8, 2.8, 7.5, 29, 41, 55, 62]
    spread = np.interp(np.arange(-1600, 1601), knots_m, above_m)
    smooth = ndimage.gaussian_filter1d(spread, 14, mode="nearest")
    height = bed + np.interp(d, np.arange(-1600, 1601), smooth)
    ripple = 0.35 * np.sin(x / 41 + 0.6 * np.sin(y / 97)) * np.sin(y / 53 + 1.1)
    return np.asarray(height + ripple + 0.12 * np.sin(x / 17 - y / 23) * np.sin(y / 19 + x / 61))


def weight_round(shape: BaseGeometry, blend_m: float) -> NDArray[np.float64]:
    """Share of each cell: 1 in the shape, falling to 0 at `blend_m` from it."""
    west, south, east, north = shape.buffer(blend_m + 2).bounds
    left, right = max(int(west), 0), min(int(east) + 1, plan.SIDE_M)
    top, bottom = max(plan.SIDE_M - int(north) - 1, 0), min(plan.SIDE_M - int(south), plan.SIDE_M)
    x, y = np.meshgrid(np.arange(left, right) + 0.5, plan.SIDE_M - np.arange(top, bottom) - 0.5)
    # exact distances: those between cells would leave a stair on every bank
    part = np.clip(1 - shapely.distance(shape, shapely.points(x, y)) / blend_m, 0, 1)
    share = np.zeros((plan.SIDE_M, plan.SIDE_M))
    share[top:bottom, left:right] = part * part * (3 - 2 * part)
    return share


def mask_of(shape: BaseGeometry) -> NDArray[np.bool_]:
    """Cells whose middle lies in a shape."""
    size = (plan.SIDE_M, plan.SIDE_M)
    edge = from_origin(0, plan.SIDE_M, 1, 1)
    return np.asarray(rasterize([(shape, 1)], size, transform=edge), dtype=np.bool_)


def along_line(line: LineString, half_m: float) -> NDArray[np.float64]:
    """How far into a channel each cell lies: 1 on the line, 0 from `half_m` outward."""
    near = mask_of(line.buffer(half_m + 1))
    rows, columns = np.nonzero(near)
    places = shapely.points(columns + 0.5, plan.SIDE_M - rows - 0.5)
    depth = np.zeros(near.shape)
    depth[near] = np.clip(1 - shapely.distance(line, places) / half_m, 0, 1)
    return depth


def make_ground(
    lines: Mapping[str, LineString], parcels: Mapping[str, Polygon], creek: BaseGeometry
) -> Ground:
    """Ground of the whole town without noise."""
    x, y = cell_centres()
    height = natural_m(x, y)
    planes = _candidate_planes(lines, parcels)
    for name, plane in planes.items():
        share = weight_round(parcels[name], BLEND_M)
        height = share * plane.heights_m(x, y) + (1 - share) * height
    streets = ndimage.gaussian_filter(height, 9)
    height = _carve(height, creek)
    height = _grade_streets(height, streets, lines, creek)
    terrace = _terrace_outline(lines, parcels)
    height = _cut_terrace(height, terrace, planes["Ledge Field"])
    height = _sink_hollow(height, parcels["Saucer Lawn"], planes["Saucer Lawn"].grade_pct)
    height, still, levels_m = _level_ponds(height)
    return Ground(height, still, planes, levels_m, terrace)


def _candidate_planes(
    lines: Mapping[str, LineString], parcels: Mapping[str, Polygon]
) -> dict[str, Plane]:
    """Planes of the candidates that were given a grade; each keeps the height of its middle."""
    planes = {}
    for candidate in plan.CANDIDATES:
        if candidate.rise_pct is None:
            continue
        _, _, away = frame_beside(lines[candidate.street], candidate.near)
        up = away * np.sign(candidate.rise_pct)
        middle = parcels[candidate.name].centroid
        height = float(natural_m(np.array(middle.x), np.array(middle.y)))
        if candidate.trap == "road bank as a dam":
            # this one must start level with its street, or the draw would lie above the bank
            front = (
                middle.x - away[0] * (candidate.depth_m / 2 + 10),
                middle.y - away[1] * (candidate.depth_m / 2 + 10),
            )
            height = float(natural_m(np.array(front[0]), np.array(front[1])))
            height += (candidate.depth_m / 2 + 10) * candidate.rise_pct / 100
        planes[candidate.name] = Plane(
            (middle.x, middle.y), height, (float(up[0]), float(up[1])), abs(candidate.rise_pct)
        )
    level = (planes["Sorrel Green"].height_m + planes["Sedge Green"].height_m) / 2
    for name in ("Sorrel Green", "Sedge Green"):
        plane = planes[name]
        planes[name] = Plane(plane.centre, level, plane.up, plane.grade_pct)
    return planes


def _carve(height: NDArray[np.float64], creek: BaseGeometry) -> NDArray[np.float64]:
    """Cut the creek and the dry draw into the valley."""
    draw = along_line(curve(plan.DRAW), plan.DRAW_HALF_M)
    height = height - plan.DRAW_DEPTH_M * draw * draw * (3 - 2 * draw)
    bank = along_line(curve(plan.CREEK), plan.CREEK_HALF_M + 7)
    _, y = cell_centres()
    bed = 87.2 + 0.006 * y
    share = np.clip(bank * 2.2, 0, 1)
    cut = np.minimum(height, bed * share + height * (1 - share))
    return np.asarray(np.where(mask_of(creek), np.minimum(cut, bed), cut))


def _grade_streets(
    height: NDArray[np.float64],
    level_m: NDArray[np.float64],
    lines: Mapping[str, LineString],
    creek: BaseGeometry,
) -> NDArray[np.float64]:
    """Lay each street level across on a bank; bridge decks are left out, as in bare-earth models."""
    kind = {street.name: street.func for street in plan.STREETS}
    away = np.full(height.shape, np.inf)
    share = np.zeros(height.shape)
    points = []
    for name, line in lines.items():
        row_m, pave_m = plan.RIGHT_OF_WAY_HALF_M[kind[name]], plan.PAVEMENT_HALF_M[kind[name]] + 1
        near = mask_of(line.buffer(row_m))
        rows, columns = np.nonzero(near)
        places = shapely.points(columns + 0.5, plan.SIDE_M - rows - 0.5)
        away[near] = shapely.distance(line, places)
        part = np.clip((row_m - away[near]) / (row_m - pave_m), 0, 1)
        share[near] = np.maximum(share[near], part)
        points.append(shapely.get_coordinates(shapely.segmentize(line, 1.0)))
    middle = np.concatenate(points)
    graded = share > 0
    rows, columns = np.nonzero(graded)
    places_m = np.column_stack([columns + 0.5, plan.SIDE_M - rows - 0.5])
    _, nearest = cKDTree(middle).query(places_m)
    at = middle[nearest]
    crown = ndimage.map_coordinates(
        level_m, [plan.SIDE_M - at[:, 1] - 0.5, at[:, 0] - 0.5], order=1, mode="nearest"
    )
    share[mask_of(creek.buffer(3))] = 0
    part = share[graded]
    raised = height.copy()
    raised[graded] = part * crown + (1 - part) * height[graded]
    return raised


def _terrace_outline(lines: Mapping[str, LineString], parcels: Mapping[str, Polygon]) -> Polygon:
    """Outline of the level terrace in the middle of the steep parcel, long side on the contour."""
    candidate = next(one for one in plan.CANDIDATES if one.name == "Ledge Field")
    _, along, away = frame_beside(lines[candidate.street], candidate.near)
    middle = np.asarray(parcels["Ledge Field"].centroid.coords[0])
    long_m, deep_m = TERRACE_M
    corners = [(-1, -1), (1, -1), (1, 1), (-1, 1)]
    return shapely.Polygon(
        [middle + along * u * long_m / 2 + away * v * deep_m / 2 for u, v in corners]
    )


def _cut_terrace(
    height: NDArray[np.float64], terrace: Polygon, plane: Plane
) -> NDArray[np.float64]:
    """Cut and fill a terrace: level inside, banks outside."""
    share = weight_round(terrace.buffer(1, join_style="mitre"), TERRACE_BANK_M)
    return np.asarray(share * plane.height_m + (1 - share) * height)


def bowl_depth_m(closed_m: float, radius_m: float, grade_pct: float) -> float:
    """Depth of a parabolic bowl that holds `closed_m` of water on a sloping lawn.

    On a grade s the bowl z = s x - D (1 - r²/R²) spills at x = -R and is lowest at x = -s R²/2D,
    so that it holds D (1 - s R / 2D)²; this is that equation solved for D.
    """
    tilt_m = radius_m * grade_pct / 100 / 2
    half = tilt_m + closed_m / 2
    return half + float(np.sqrt(half**2 - tilt_m**2))


def _sink_hollow(
    height: NDArray[np.float64], parcel: Polygon, grade_pct: float
) -> NDArray[np.float64]:
    """Press a bowl into the middle of a lawn."""
    x, y = cell_centres()
    middle = parcel.centroid
    share = ((x - middle.x) ** 2 + (y - middle.y) ** 2) / HOLLOW_RADIUS_M**2
    depth_m = bowl_depth_m(HOLLOW_CLOSED_M, HOLLOW_RADIUS_M, grade_pct)
    return np.asarray(height - depth_m * np.clip(1 - share, 0, None))


def _level_ponds(
    height: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.bool_], dict[str, float]]:
    """Flatten ponds as makers of elevation data do, and dig the dry basin."""
    still = np.zeros(height.shape, dtype=bool)
    levels_m = {}
    for pond in plan.PONDS:
        outline = pond_outline(pond)
        shore = height[mask_of(outline.buffer(3)) & ~mask_of(outline)]
        dry = pond.kind != "pond"
        level_m = round(float(shore.min()) - (BASIN_DEPTH_M if dry else POND_BELOW_SHORE_M), 2)
        share = weight_round(outline, 3.0)
        height = share * level_m + (1 - share) * height
        levels_m[pond.name] = level_m
        if not dry:
            still |= mask_of(outline)
    return height, still, levels_m
