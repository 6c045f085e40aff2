"""The ground everybody knows, in soft inks: what lies under the study's own print on a plan."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import shapely
from matplotlib.collections import PathCollection
from matplotlib.path import Path as Outline

from playsite.report.ink import INK
from playsite.report.low_spots import SURE_PCT, UNTOLD, rings_text, short_text, step_of
from playsite.report.memo.inks import letter
from playsite.report.people_units import in_feet
from playsite.report.wording import records
from playsite.units import LENGTHS_M

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matplotlib.axes import Axes
    from shapely.geometry.base import BaseGeometry

    from playsite.result import Result

__all__ = ["Sheet", "contour_steps", "draw_ground", "draw_streets"]

_LETTER_MM = 1.55  # about the width of a letter of 8 points, to keep labels off each other
_LABEL_MM = 4.2
_ALONG = (0.5, 0.35, 0.65, 0.2, 0.8, 0.08, 0.92)
_AT_ENDS = (0.06, 0.94, 0.14, 0.86, 0.3, 0.7)  # contours: off the parcel if that can be
_ROUNDED_M = 0.8
_FINE_MM, _PER_PATH = 0.03, 400
_RINGS: tuple[tuple[str, float, Any, bool], ...] = (  # by step: ink of the tint, line, ticks
    ("low-3", 1.4, "solid", True),
    ("low-2", 1.4, (0, (3.2, 1.6)), True),
    ("low-1", 2.0, (0, (0.1, 1.9)), False),
)
_POINTS = {"restrooms": "restroom", "picnic": "picnic tables", "playgrounds": "playground"}


@dataclass
class Sheet:
    """A drawing of ground in metres, and the places on it that lettering has taken.

    Parameters
    ----------
    window
        The ground on the sheet.
    m_per_mm
        Metres of ground in a millimetre of paper.
    taken, spared
        Where lettering must not stand, and where labels of lines stand only if nowhere else.
    """

    axes: Axes
    window: BaseGeometry
    m_per_mm: float
    units: str
    taken: list[BaseGeometry] = field(default_factory=list)
    spared: list[BaseGeometry] = field(default_factory=list)

    def ground_m(self, paper_mm: float) -> float:
        """Metres of ground under that much paper."""
        return paper_mm * self.m_per_mm

    def seen(self, shapes: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
        """Those that lie on the sheet."""
        return shapes.iloc[np.sort(shapes.sindex.query(self.window))] if len(shapes) else shapes

    def fill(self, shapes: gpd.GeoDataFrame, ink: str, **look: Any) -> None:
        """Fill polygons; options are z, alpha, edge, hatch, hatch_ink."""
        parts = self._on_paper(shapely.orient_polygons(_parts(shapes, "Polygon")))
        hatch_ink = look.get("hatch_ink")
        self.axes.add_collection(
            PathCollection(
                _together([_outline((part.exterior, *part.interiors)) for part in parts]),
                facecolors=INK[ink] if not look.get("clear") else "none",
                edgecolors=INK[look.get("edge") or hatch_ink or ink],
                linewidths=0.6 if look.get("edge") else 0,
                hatch=look.get("hatch"),
                alpha=look.get("alpha"),
                zorder=look.get("z", 1),
            ),
            autolim=False,
        )

    def line(
        self, shapes: gpd.GeoDataFrame, ink: str, *, width: float, z: float,
        style: Any = "solid", alpha: float | None = None,
    ) -> None:  # fmt: skip
        """Draw lines, and the edges of polygons."""
        rings = [
            ring for part in _parts(shapes, "Polygon") for ring in (part.exterior, *part.interiors)
        ]
        lines = [*_parts(shapes, "LineString"), *_parts(shapes, "LinearRing"), *rings]
        self.axes.add_collection(
            PathCollection(
                _together([_outline((line,)) for line in self._on_paper(lines)]), facecolors="none",
                edgecolors=INK[ink], linewidths=width, linestyles=[style], alpha=alpha, zorder=z,
                capstyle="round" if isinstance(style, tuple) and style[1][0] < 1 else "butt",
            ),
            autolim=False,
        )  # fmt: skip

    def _on_paper(self, parts: Any) -> Any:
        """Shapes without the corners that nobody sees at this scale."""
        return shapely.simplify(parts, self.ground_m(_FINE_MM))

    def reserve(self, x: float, y: float, width_mm: float, height_mm: float) -> None:
        """Keep lettering off a place."""
        self.taken.append(self._box(x, y, width_mm, height_mm))

    def label(self, x: float, y: float, text: str, *, ink: str, **look: Any) -> bool:
        """Set a label where nothing stands yet; say whether there was room."""
        wide_mm = self.label_mm(text)
        if not text or not self.is_free(x, y, wide_mm, _LABEL_MM):
            return False
        self.reserve(x, y, wide_mm, _LABEL_MM)
        options: dict[str, Any] = {"size": 8, "ha": "center", "halo": True, "zorder": 19} | look
        letter(self.axes, x, y, text, ink=ink, **options)
        return True

    def label_along(
        self,
        shape: BaseGeometry,
        text: str,
        *,
        ink: str,
        along: Sequence[float] = _ALONG,
        **look: Any,
    ) -> bool:
        """Label a line or an area at the first free place along the part that is on the sheet."""
        seen = [
            piece
            for piece in shapely.get_parts(shape.intersection(self.window))
            if not piece.is_empty
        ]
        lines = [piece for piece in seen if piece.geom_type == "LineString"]
        if lines:
            line = max(lines, key=lambda piece: piece.length)
            places = [line.interpolate(share, normalized=True) for share in along]
        else:
            places = [piece.representative_point() for piece in seen[:1]]
            edges = [piece.exterior for piece in seen[:1] if piece.geom_type == "Polygon"]
            places += [
                edge.interpolate(share, normalized=True) for edge in edges for share in along
            ]
        above = self.ground_m(2.6)
        lifts = (0.0, above, -above, 2 * above, -2 * above)
        spots = [(at.x, at.y + lift) for at in places for lift in lifts]
        wide_mm = self.label_mm(text)
        clear = [spot for spot in spots if self.is_clear(*spot, wide_mm)]
        return any(
            self.label(*spot, text, ink=ink, **({"weight": "bold"} | look))
            for spot in (*clear, *spots)
        )

    def label_mm(self, text: str) -> float:
        """Width that a label takes on paper."""
        return _LETTER_MM * len(text) + 1

    def is_clear(self, x: float, y: float, wide_mm: float) -> bool:
        """Whether a label there would lie on nothing that is to be spared."""
        box = self._box(x, y, wide_mm, _LABEL_MM)
        return not any(box.intersects(shape) for shape in self.spared)

    def is_free(self, x: float, y: float, width_mm: float, height_mm: float) -> bool:
        """Whether a place is on the sheet and no lettering stands there."""
        box = self._box(x, y, width_mm, height_mm)
        return box.within(self.window) and not any(box.intersects(other) for other in self.taken)

    def _box(self, x: float, y: float, width_mm: float, height_mm: float) -> BaseGeometry:
        half_x, half_y = self.ground_m(width_mm) / 2, self.ground_m(height_mm) / 2
        return shapely.box(x - half_x, y - half_y, x + half_x, y + half_y)


def draw_ground(sheet: Sheet, result: Result, parcel_id: object) -> list[str]:
    """Draw the base map; give back, for the caption, what is there to be seen."""
    left, low, right, high = sheet.window.bounds
    sheet.fill(gpd.GeoDataFrame(geometry=[shapely.box(left, low, right, high)]), "land", z=0)
    seen = {kind: sheet.seen(shapes) for kind, shapes in result.base_map.items()}
    seen = {kind: shapes for kind, shapes in seen.items() if len(shapes)}
    if "lots" in seen:
        sheet.line(seen["lots"], "lot", width=0.8, z=1)
    contours = sheet.seen(result.contours[result.contours["parcel_id"] == parcel_id])
    ways = _draw_contours(sheet, contours)
    if "water" in seen:
        sheet.fill(seen["water"], "water", z=2)
        sheet.line(seen["water"], "water-edge", width=0.9, z=2.1)
    draw_streets(sheet, seen)
    if "buildings" in seen:
        sheet.fill(seen["buildings"], "building", edge="building-edge", z=3)
    ways += _draw_growth_and_bounds(sheet, seen)
    ways += _draw_low_spots(sheet, sheet.seen(result.low_spots))
    ways += _draw_arrows(sheet, sheet.seen(result.arrows[result.arrows["parcel_id"] == parcel_id]))
    _name_ground(sheet, seen)
    return ways


def draw_streets(sheet: Sheet, seen: dict[str, gpd.GeoDataFrame], *, thin: bool = False) -> None:
    """Draw streets, car parks and paths; thin where a whole town is on the sheet."""
    if "streets" in seen:
        sheet.line(seen["streets"], "street-edge", width=0.5 if thin else 1.4, z=2.2)
        sheet.fill(seen["streets"], "street", z=2.3)
    elif "street_lines" in seen:
        wide = 1.6 if thin else 5.0
        sheet.line(seen["street_lines"], "street-edge", width=wide, z=2.2)
        sheet.line(seen["street_lines"], "street", width=0.7 * wide, z=2.3)
    if "parking" in seen:
        sheet.fill(seen["parking"], "margin", edge="street-edge", z=2.4)
    if "paths" in seen:
        sheet.line(seen["paths"], "street-edge", width=2.4, z=2.4)
        sheet.line(seen["paths"], "street", width=1.6, z=2.5)


def _draw_growth_and_bounds(sheet: Sheet, seen: dict[str, gpd.GeoDataFrame]) -> list[str]:
    ways = []
    if "easements" in seen:
        sheet.fill(
            seen["easements"], "out-hatch", clear=True, hatch="////", hatch_ink="out-hatch", z=5
        )
        sheet.line(seen["easements"], "out-hatch", width=0.8, style=(0, (4, 2)), z=5.1)
        ways.append("hatched: easements")
    if "trees" in seen:
        sheet.fill(seen["trees"], "woods", alpha=0.8, edge="woods-mark", z=6)
        sheet.line(seen["trees"], "woods-mark", width=0.9, z=6.1)
        tops = _parts(seen["trees"], "Point")
        east, north = [top.x for top in tops], [top.y for top in tops]
        sheet.axes.scatter(
            east,
            north,
            s=70,
            facecolor=INK["woods"],
            edgecolor=INK["park-text"],
            linewidth=0.9,
            zorder=6.2,
        )
        sheet.axes.scatter(east, north, s=4, color=INK["park-text"], zorder=6.3)
        ways.append("green: trees")
    if "fences" in seen:
        sheet.line(seen["fences"], "ink-3", width=0.9, style=(0, (6, 1, 1, 1)), z=6.4)
        ways.append("dash and dot: fences")
    return ways


def _draw_contours(sheet: Sheet, contours: gpd.GeoDataFrame) -> list[str]:
    if contours.empty:
        return []
    sheet.line(contours, "contour", width=0.7, z=1.5)
    unit_m, sign = _height_unit(sheet.units)
    levels = _levels(contours, sheet.units)
    every = max(1, len(levels) // 4)
    for row in contours.itertuples():
        height = round(float(row.elevation_m) / unit_m, 2)
        if np.searchsorted(levels, height) % every:
            continue
        sheet.label_along(
            row.geometry,
            f"{height:,.4g} {sign}",
            ink="contour-text",
            size=7,
            weight="normal",
            along=_AT_ENDS,
        )
    return [f"brown lines: contours every {step}" for step in contour_steps(contours, sheet.units)]


def contour_steps(contours: gpd.GeoDataFrame, units: str) -> list[str]:
    """Height from one contour to the next, of each parcel's contours; without repeats."""
    said = []
    for _, own in contours.groupby("parcel_id", sort=False):
        levels = _levels(own, units)
        if len(levels) > 1:
            step = float(np.round(np.min(np.diff(levels)), 2))
            said.append(f"{step:g} {_height_unit(units)[1]}")
    return list(dict.fromkeys(said))


def _height_unit(units: str) -> tuple[float, str]:
    return (LENGTHS_M["ft"], "ft") if in_feet(units) else (1.0, "m")


def _levels(contours: gpd.GeoDataFrame, units: str) -> Any:
    heights_m = contours["elevation_m"].to_numpy(dtype=float)
    return np.unique(np.round(heights_m / _height_unit(units)[0], 2))


def _draw_low_spots(sheet: Sheet, spots: gpd.GeoDataFrame) -> list[str]:
    """Draw the old sign for a hollow, a closed ring with ticks that point in, by how sure it is."""
    if spots.empty:
        return []
    # hollows come as cells: their corners are rounded off, as on the map
    rounded = spots.geometry.buffer(_ROUNDED_M).buffer(-_ROUNDED_M).simplify(_ROUNDED_M)
    steps = np.array([-1 if (s := step_of(row)) is None else s for row in _rows(spots)])
    drawn = spots.set_geometry(rounded)
    keys = [_draw_untold(sheet, drawn[steps == UNTOLD])]
    for step in range(len(SURE_PCT)):
        _draw_rings(sheet, drawn[steps == step], step)
    for row in _rows(drawn[(steps >= 0) & (spots["standing"] != "cannot be told").to_numpy()]):
        _name_low_spot(sheet, row)
    keys.append(
        f"blue rings: low spots, {rings_text()}" if ((steps >= 0) & (steps < UNTOLD)).any() else ""
    )
    return [key for key in keys if key]


def _rows(spots: gpd.GeoDataFrame) -> list[Any]:
    return records(spots.assign(shape=spots.geometry).drop(columns=spots.geometry.name))


def _draw_rings(sheet: Sheet, spots: gpd.GeoDataFrame, step: int) -> None:
    tint, width, style, has_ticks = _RINGS[step]
    sheet.fill(spots, tint, alpha=0.35, z=11.5)
    sheet.line(spots, "low-3", width=width, style=style, z=11.6)
    tick_m, step_m = sheet.ground_m(1.3), sheet.ground_m(3)
    rings = _parts(spots, "Polygon") if has_ticks else []
    ticks = [piece for ring in rings for piece in _ticks(ring, tick_m=tick_m, step_m=step_m)]
    sheet.line(gpd.GeoDataFrame(geometry=ticks), "low-3", width=1.1, z=11.7)


def _draw_untold(sheet: Sheet, spots: gpd.GeoDataFrame) -> str:
    """Stipple what is not known to be a hollow or none; give back its key."""
    if spots.empty:
        return ""
    sheet.fill(spots, "low-3", clear=True, hatch="..", hatch_ink="low-3", z=1.6)
    sheet.line(spots, "low-3", width=0.8, style=(0, (0.1, 2.5)), z=1.7)
    return "stipple: hollows not looked at closer, or hidden in the noise"


def _name_low_spot(sheet: Sheet, spot: Any) -> None:
    left, low, right, high = spot["shape"].bounds
    off = sheet.ground_m(2.6)
    for y in (low - off, high + off):
        if sheet.label((left + right) / 2, y, short_text(spot, sheet.units), ink="low-3"):
            break


def _draw_arrows(sheet: Sheet, arrows: gpd.GeoDataFrame) -> list[str]:
    """Draw the way that water runs, small."""
    if arrows.empty:
        return []
    drawn = []
    for line in arrows.geometry:
        start, end = shapely.get_coordinates(line)
        ahead = (end - start) / line.length * sheet.ground_m(1.0)
        beside, tip = np.array([-ahead[1], ahead[0]]) * 0.6, (start + end) / 2 + 1.7 * ahead
        drawn.append(shapely.LineString([tip - 3.4 * ahead, tip]))
        drawn.append(shapely.LineString([tip - ahead + beside, tip, tip - ahead - beside]))
    sheet.line(gpd.GeoDataFrame(geometry=drawn), "low-3", width=0.7, z=8.5)
    return ["small blue arrows: the way that water runs"]


def _ticks(part: BaseGeometry, *, tick_m: float, step_m: float) -> Iterator[BaseGeometry]:
    ring = shapely.normalize(part).exterior
    for at in np.arange(0, ring.length, step_m):
        foot = ring.interpolate(at)
        ahead = ring.interpolate((at + 0.01) % ring.length)
        way = np.array([ahead.x - foot.x, ahead.y - foot.y])
        size = math.hypot(*way)
        if size == 0:
            continue
        inward = np.array([way[1], -way[0]]) / size * tick_m
        if not part.contains(shapely.Point(foot.x + inward[0] * 0.5, foot.y + inward[1] * 0.5)):
            inward = -inward
        yield shapely.LineString([(foot.x, foot.y), (foot.x + inward[0], foot.y + inward[1])])


def _name_ground(sheet: Sheet, seen: dict[str, gpd.GeoDataFrame]) -> None:
    for kind, ink in (("streets", "street-text"), ("water", "water-text")):
        shapes = seen.get(kind)
        if shapes is None or "name" not in shapes:
            continue
        for row in shapes[shapes["name"].notna()].drop_duplicates("name").itertuples():
            _name_one(sheet, row.geometry, str(row.name), ink)
    for kind, word in _POINTS.items():
        for row in seen.get(kind, gpd.GeoDataFrame(geometry=[])).itertuples():
            at = row.geometry.representative_point()
            sheet.axes.scatter([at.x], [at.y], s=16, color=INK["ink"], marker="s", zorder=12)
            sheet.label_along(at, word, ink="ink", weight="normal")


def _name_one(sheet: Sheet, shape: BaseGeometry, name: str, ink: str) -> None:
    """Letter a name along the longer way of what is on the sheet, upright to read."""
    part = shape.intersection(sheet.window)
    if part.is_empty or part.area < sheet.ground_m(4) ** 2:
        return
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(part))
    start, end = max(itertools.pairwise(corners), key=lambda side: math.dist(*side))
    angle = math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))
    angle = angle - 180 if angle > 90 else angle + 180 if angle <= -90 else angle
    at = part.representative_point()
    turn, long_mm = math.radians(angle), _LETTER_MM * len(name)
    wide, high = abs(long_mm * math.cos(turn)) + 4, abs(long_mm * math.sin(turn)) + 4
    if sheet.is_free(at.x, at.y, wide, high):
        letter(
            sheet.axes, at.x, at.y, name, size=8.5, ink=ink, stack="serif", style="italic",
            ha="center", rotation=angle, rotation_mode="anchor", zorder=12, clip_on=True,
        )  # fmt: skip


def _parts(shapes: gpd.GeoDataFrame, kind: str) -> list[Any]:
    """Single shapes of one kind; those of other kinds and the missing are left out."""
    pieces = shapely.get_parts(shapes.geometry.array[shapes.geometry.notna().to_numpy()])
    return [piece for piece in pieces if piece.geom_type == kind and not piece.is_empty]


def _outline(lines: Sequence[Any]) -> Outline:
    """Lines as one path; rings are closed."""
    points = [shapely.get_coordinates(line) for line in lines]
    codes = [[Outline.MOVETO, *[Outline.LINETO] * (len(each) - 1)] for each in points]
    for line, own in zip(lines, codes, strict=True):
        if line.is_ring:
            own[-1] = Outline.CLOSEPOLY
    return Outline(np.concatenate(points), np.concatenate(codes))


def _together(paths: list[Outline]) -> list[Outline]:
    """Many paths in few: a town's parcels one by one, each with its style, would be megabytes."""
    return [
        Outline.make_compound_path(*paths[start : start + _PER_PATH])
        for start in range(0, len(paths), _PER_PATH)
    ]
