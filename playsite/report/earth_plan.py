"""Plan of a levelled pad: contours of the ground, cut and fill, banks, walls, the way it falls."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import LineString, Polygon

from playsite.report.paper import Drawing
from playsite.report.people_units import (
    area_text,
    contour_step_text,
    contour_text,
    depth_text,
    in_feet,
    percent_text,
)
from playsite.terrain.levelling import Finish
from playsite.units import LENGTHS_M

if TYPE_CHECKING:
    import geopandas as gpd
    from shapely.geometry.base import BaseGeometry

    from playsite.report.wording import Row

__all__ = ["earth_plan"]

_SCALES = (200, 250, 300, 400, 500, 600, 750, 1000, 1250, 1500, 2000, 5000)
_MOST_HIGH_MM, _STRIP_MM, _ROUND_M, _MOST_NAMED = 72.0, 8.0, 5.0, 9
_STEPS = (1, 2, 5, 10, 20, 25, 50, 100, 200)


def earth_plan(  # noqa: PLR0913 -- all that a plan shows
    part: Polygon,
    earth: Row,
    footprint: BaseGeometry,
    grading: gpd.GeoDataFrame,
    contours: gpd.GeoDataFrame,
    parcel: BaseGeometry,
    units: str,
    *,
    step_m: float,
    width_mm: float,
) -> Drawing:
    """Draw cut and fill of one part of a pad, north up.

    Parameters
    ----------
    part
        Outline of the pad's part, m.
    earth, footprint
        Its row of the earthwork, and the outline of pad and banks.
    grading, contours
        Its rows of `playsite.result.Result.grading`, its parcel's of ``contours``.
    parcel
        Outline of the parcel, m.
    units
        ``"feet"`` or ``"metres"``.
    step_m
        Height from one contour to the next, m.
    width_mm
        Width on paper, mm.

    Returns
    -------
    Drawing
        Facts: ``m-per-mm``.
    """
    sheet = _Sheet(footprint, width_mm)
    drawing = Drawing(
        width_mm=width_mm,
        height_mm=sheet.high_mm + _STRIP_MM,
        facts={"m-per-mm": sheet.m_per_mm},
    )
    for kind in ("cut", "fill"):
        shapes = grading.geometry[grading["kind"] == kind]
        if len(shapes):
            drawing.draw(kind, sheet.put(shapely.union_all(shapes.to_numpy())))
    lines = _contours(sheet, contours, step_m)
    every = next((n for n in (1, 2, 5, 10) if len(lines) <= _MOST_NAMED * n), 20)
    for number, line in lines.items():
        drawing.draw("fifth" if every > 2 and number % every == 0 else "contour", line)
    drawing.draw("parcel", sheet.put(parcel.boundary))
    drawing.draw("banks", sheet.put(footprint.boundary))
    drawing.draw("pad", sheet.put(part.exterior))
    walls = grading[grading["kind"] == "wall"]
    for line in walls.geometry:
        drawing.draw("wall", sheet.put(line))
        drawing.taken.append(sheet.put(line).buffer(0.6))
    finish = Finish(
        earth["crossfall_pct"], earth["direction_deg"], earth["finish_m"],
        earth["easting"], earth["northing"],
    )  # fmt: skip
    _arrow(drawing, sheet, finish)
    _margin(drawing, sheet, units)
    _corners(drawing, sheet, part, finish, units)
    _name_walls(drawing, sheet, walls, units)
    named = {number: line for number, line in lines.items() if number % every == 0}
    _name_contours(drawing, named, step_m, units)
    every_step = f"contours of the ground every {contour_step_text(step_m, units)}"
    _tell(drawing, grading, earth, units, every_step if lines else "no contours")
    return drawing


class _Sheet:
    """The piece of ground that is drawn, and where its metres lie on the paper."""

    def __init__(self, footprint: BaseGeometry, width_mm: float) -> None:
        left, low, right, high = shapely.buffer(footprint, _ROUND_M).bounds
        least = max((right - left) / width_mm, (high - low) / _MOST_HIGH_MM)
        self.scale = next((s for s in _SCALES if s / 1000 >= least), _SCALES[-1])
        self.m_per_mm = self.scale / 1000
        self.high_mm = (high - low) / self.m_per_mm
        middle = (left + right) / 2
        half = width_mm * self.m_per_mm / 2
        self.window = shapely.box(middle - half, low, middle + half, high)
        self.corner = np.array([middle - half, high])

    def put(self, shape: BaseGeometry) -> BaseGeometry:
        """What is seen of a shape, on paper."""
        seen = shapely.intersection(shape, self.window)
        kinds = {3} if shape.geom_type.endswith("Polygon") else {1, 5}
        parts = [
            part for part in shapely.get_parts(seen) if shapely.get_type_id(part) in kinds | {2}
        ]
        kept = (
            shapely.union_all(parts)
            if kinds == {3}
            else shapely.line_merge(shapely.multilinestrings(parts))
        )
        return shapely.transform(kept, lambda xy: (xy - self.corner) * [1, -1] / self.m_per_mm)

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Where a point lies on the paper."""
        return (x - self.corner[0]) / self.m_per_mm, (self.corner[1] - y) / self.m_per_mm


def _arrow(drawing: Drawing, sheet: _Sheet, finish: Finish) -> None:
    """The way in which the finish falls, with its grade."""
    x, y = sheet.at(finish.easting_m, finish.northing_m)
    turn = math.radians(finish.direction_deg)
    ahead = np.array([math.sin(turn), -math.cos(turn)])
    beside, middle = np.array([-ahead[1], ahead[0]]), np.array([x, y])
    tip, tail = middle + 7 * ahead, middle - 7 * ahead
    drawing.draw("arrow", LineString([tail, tip - 2 * ahead]))
    head = [tip, tip - 3 * ahead + 1.3 * beside, tip - 3 * ahead - 1.3 * beside]
    drawing.draw("dark", Polygon(head))
    drawing.taken.append(LineString([tail, tip]).buffer(1))
    said = f"falls {percent_text(finish.grade_pct)}"
    for off in (3.2, -3.2, 4.5, -4.5, 6.5, -6.5, 9.0, -9.0, 12.0, -12.0):
        at = middle + off * beside
        if drawing.label(float(at[0]), float(at[1]), said, "bold"):
            break


def _margin(drawing: Drawing, sheet: _Sheet, units: str) -> None:
    """Scale bar and north in the strip under the plan, parted from it by a line."""
    unit_m, sign = (LENGTHS_M["ft"], "ft") if in_feet(units) else (1.0, "m")
    y = sheet.high_mm + 2.2
    drawing.draw("rule", shapely.box(0.15, 0.15, drawing.width_mm - 0.15, sheet.high_mm).exterior)
    step = max((s for s in _STEPS if s * unit_m / sheet.m_per_mm <= 34), default=1)
    long = step * unit_m / sheet.m_per_mm
    drawing.draw("dark", shapely.box(1, y, 1 + long / 2, y + 1.2))
    drawing.draw("light", shapely.box(1 + long / 2, y, 1 + long, y + 1.2))
    drawing.write(1 + long, y + 4, f"{step:g} {sign}", "note")
    x = drawing.width_mm - 4
    drawing.draw("dark", Polygon([(x, y - 1), (x - 1.3, y + 5), (x, y + 4)]))
    drawing.draw("light", Polygon([(x, y - 1), (x + 1.3, y + 5), (x, y + 4)]))
    drawing.write(x - 3.5, y + 2.5, "N", "bold")


def _corners(drawing: Drawing, sheet: _Sheet, part: Polygon, finish: Finish, units: str) -> None:
    """Finished heights at the pad's corners."""
    corners = shapely.get_coordinates(part.exterior)[:-1]
    centre = shapely.get_coordinates(part.centroid)[0]
    heights = finish.at_m(corners[:, 0], corners[:, 1])
    for corner, height in zip(corners, heights, strict=True):
        x, y = sheet.at(*corner)
        out = np.sign(corner - centre) * [1, -1]
        said = _height(height, units)
        for dx, dy in ((1.5, 2.4), (1.5, -2.4), (-1.5, 2.4), (1.5, 5.5)):
            anchor = "start" if out[0] * dx > 0 else "end"
            if drawing.label(x + out[0] * dx, y + out[1] * dy, said, "bold", anchor=anchor):
                break


def _name_walls(drawing: Drawing, sheet: _Sheet, walls: gpd.GeoDataFrame, units: str) -> None:
    for row in walls.itertuples():
        x, y = sheet.at(*row.geometry.interpolate(0.5, normalized=True).coords[0])
        said = f"wall, {depth_text(row.height_m, units)}"
        ways = [
            (dx, dy) for far in (3, 5, 8, 12) for dx in (0, 2 * far, -2 * far) for dy in (-far, far)
        ]
        for dx, dy in ways:
            if drawing.label(x + dx, y + dy, said, "bold"):
                break


def _contours(sheet: _Sheet, contours: gpd.GeoDataFrame, step_m: float) -> dict[int, BaseGeometry]:
    """Contours that are seen, by their number: height over the step."""
    numbers = np.rint(contours["elevation_m"].to_numpy(float) / step_m).astype(int)
    found = {
        int(number): sheet.put(shapely.union_all(contours.geometry.to_numpy()[numbers == number]))
        for number in np.unique(numbers)
    }
    return {number: line for number, line in found.items() if not line.is_empty}


def _name_contours(
    drawing: Drawing, lines: dict[int, BaseGeometry], step_m: float, units: str
) -> None:
    """A height on each of these contours, on its longest part."""
    for number, shape in lines.items():
        said = contour_text(number * step_m, units)
        line = max(shapely.get_parts(shape), key=lambda part: part.length)
        for share in (0.06, 0.94, 0.15, 0.85, 0.3, 0.7, 0.5):
            at = line.interpolate(share, normalized=True)
            if drawing.label(at.x, at.y, said, "height"):
                break


def _height(height_m: float, units: str) -> str:
    return f"{height_m / LENGTHS_M['ft']:.1f}" if in_feet(units) else f"{height_m:.2f}"


def _tell(
    drawing: Drawing,
    grading: gpd.GeoDataFrame,
    earth: Row,
    units: str,
    every: str,
) -> None:
    areas = {
        kind: area_text(float(grading.geometry[grading["kind"] == kind].area.sum()), units)
        for kind in ("cut", "fill")
    }
    walls = grading[grading["kind"] == "wall"]
    drawing.finding = f"Cut over {areas['cut']}, fill over {areas['fill']}."
    drawing.key = (
        f"plan. Hatched down to the right, brown: cut; up, blue: fill; "
        f"brown lines: {every}, smoothed; figures at corners: finished "
        "height."
    )
    fall = percent_text(earth["crossfall_pct"])
    walled = f" {len(walls)} retaining walls." if len(walls) > 1 else ""
    walled = " A retaining wall." if len(walls) == 1 else walled
    drawing.alt = (
        f"Cut and fill in plan, north up: cut over {areas['cut']}, "
        f"fill over {areas['fill']}, banks included; the finish falls {fall} towards the "
        f"{_quarter(earth['direction_deg'])}; {every}.{walled}"
    )


def _quarter(direction_deg: float) -> str:
    names = ("north", "northeast", "east", "southeast", "south", "southwest", "west", "northwest")
    return names[round(direction_deg / 45) % 8]
