"""Section through a levelled pad: ground today, finish and banks, cut and fill, walls, scales."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import LineString, Polygon

from playsite.report.paper import LETTER_MM, Drawing
from playsite.report.people_units import (
    depth_text,
    distance_text,
    in_feet,
    percent_text,
    volume_text,
)
from playsite.report.vector_sheet import text_em
from playsite.units import LENGTHS_M

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from playsite.report.wording import Row

    Floats = NDArray[np.float64]

__all__ = ["earth_section"]

_TOP_MM, _DEEP_MM, _FOOT_MM, _SIDE_MM = 12.0, 36.0, 9.0, 2.0
_ROUND_M = 5.0
_LEAST_WALL_M = 0.05
_EXAGGERATIONS = (1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 15, 20)
_STEPS = (0.1, 0.2, 0.25, 0.5, 1, 2, 2.5, 5, 10, 20, 25, 50, 100)


def earth_section(section: pd.DataFrame, earth: Row, units: str, *, width_mm: float) -> Drawing:
    """Draw a section along the finished fall, the upper side left.

    Parameters
    ----------
    section
        Rows of one part in `playsite.result.Result.sections`, in the order of distance.
    earth
        The part's row of the earthwork.
    units
        ``"feet"`` or ``"metres"``.
    width_mm
        Width on paper, mm.

    Returns
    -------
    Drawing
        Facts: ``m-per-mm`` along, ``times``, how often heights are drawn.
    """
    along, ground, finish = _shown(section)
    scale = _Scale(along, np.concatenate([ground, finish[np.isfinite(finish)]]), width_mm)
    drawing = Drawing(
        width_mm=width_mm,
        height_mm=_TOP_MM + scale.deep_mm + _FOOT_MM,
        facts={"m-per-mm": scale.m_per_mm, "times": scale.times},
    )
    surface = scale.line(along, ground)
    drawing.draw("earth", _down_to(surface, _TOP_MM + scale.deep_mm))
    on_pad = _on_pad(along, finish, earth)
    cut, fill = (
        _between(along, ground, finish, scale, 1),
        _between(along, ground, finish, scale, -1),
    )
    drawing.draw("blank", cut)
    drawing.draw("cut", cut)
    drawing.draw("fill", fill)
    drawing.draw("ground", surface)
    worked = np.isfinite(finish)
    drawing.draw("finish", scale.line(along[worked], finish[worked]))
    play = scale.line(along[on_pad], finish[on_pad])
    drawing.draw("play", play)
    walls = _walls(along, ground, finish, scale)
    drawing.draw("wall", walls)
    _letter(drawing, scale, (along[on_pad][0], along[on_pad][-1]), earth, units)
    _name_earth(drawing, scale, (cut, fill), surface, earth, units)
    if not walls.is_empty:
        x, y = walls.centroid.coords[0]
        drawing.label(x + 1.5, y, "wall", "bold", anchor="start")
    _bars(drawing, scale, units)
    _tell(drawing, scale, earth, units, has_wall=not walls.is_empty)
    return drawing


class _Scale:
    """Millimetres of paper for metres along and for metres of height."""

    def __init__(self, along: Floats, heights: Floats, width_mm: float) -> None:
        self.first_m = float(along[0])
        self.m_per_mm = float(along[-1] - along[0]) / (width_mm - 2 * _SIDE_MM)
        self.low_m, self.high_m = float(np.nanmin(heights)), float(np.nanmax(heights))
        rise_m = max(self.high_m - self.low_m, 0.05)
        most = _DEEP_MM * self.m_per_mm / rise_m
        self.times = max((each for each in _EXAGGERATIONS if each <= most), default=1)
        self.deep_mm = min(_DEEP_MM, rise_m * self.times / self.m_per_mm) + 4

    def x(self, along_m: float) -> float:
        return _SIDE_MM + (along_m - self.first_m) / self.m_per_mm

    def y(self, height_m: float) -> float:
        return _TOP_MM + (self.high_m - height_m) * self.times / self.m_per_mm

    def line(self, along: Floats, heights: Floats) -> LineString:
        points = [(self.x(a), self.y(h)) for a, h in zip(along, heights, strict=True)]
        return LineString(points) if len(points) > 1 else LineString()


def _shown(section: pd.DataFrame) -> tuple[Floats, Floats, Floats]:
    """Distance, ground and finish, from some metres before the upper bank to some after the lower."""
    columns = ("distance_m", "ground_m", "finish_m")
    along, ground, finish = (section[name].to_numpy(float) for name in columns)
    worked = along[np.isfinite(finish)]
    near = (along >= worked[0] - _ROUND_M) & (along <= worked[-1] + _ROUND_M)
    near &= np.isfinite(ground)
    return along[near], ground[near], finish[near]


def _on_pad(along: Floats, finish: Floats, earth: Row) -> NDArray[np.bool_]:
    """Where the finish is the pad's own plane, without its banks."""
    plane = earth["finish_m"] - earth["crossfall_pct"] / 100 * along
    return np.asarray(np.isfinite(finish) & (np.abs(finish - plane) < 1e-6))


def _between(
    along: Floats, ground: Floats, finish: Floats, scale: _Scale, sign: int
) -> BaseGeometry:
    """Areas between ground and finish where the ground lies above (sign 1) or below it."""
    over = sign * (ground - finish)
    shapes = []
    for at in range(len(along) - 1):
        ends = over[at : at + 2]
        if not np.isfinite(ends).all() or (ends <= 0).all():
            continue
        a, g, f = along[at : at + 2].copy(), ground[at : at + 2].copy(), finish[at : at + 2].copy()
        if (ends < 0).any():
            share = ends[0] / (ends[0] - ends[1])
            kept = 0 if ends[0] > 0 else 1
            crossing = [values[0] + share * (values[1] - values[0]) for values in (a, g, f)]
            a[1 - kept], g[1 - kept], f[1 - kept] = crossing
        ring = [(a[0], g[0]), (a[1], g[1]), (a[1], f[1]), (a[0], f[0])]
        shapes.append(Polygon([(scale.x(x), scale.y(y)) for x, y in ring]))
    return shapely.union_all(shapely.make_valid(np.array(shapes, dtype=object)), grid_size=1e-4)


def _down_to(line: LineString, y: float) -> Polygon:
    points = list(line.coords)
    return Polygon([*points, (points[-1][0], y), (points[0][0], y)])


def _walls(along: Floats, ground: Floats, finish: Floats, scale: _Scale) -> BaseGeometry:
    """Upright lines where a bank ends off the ground."""
    worked = np.flatnonzero(np.isfinite(finish))
    ends = [
        LineString(
            [(scale.x(along[at]), scale.y(ground[at])), (scale.x(along[at]), scale.y(finish[at]))]
        )
        for at in (worked[0], worked[-1])
        if abs(ground[at] - finish[at]) > _LEAST_WALL_M
    ]
    return shapely.MultiLineString(ends)


def _letter(
    drawing: Drawing, scale: _Scale, pad_m: tuple[float, float], earth: Row, units: str
) -> None:
    """The pad's length and fall over it, and how often heights are drawn."""
    first, last = (scale.x(at) for at in pad_m)
    y = 8.0
    drawing.draw("size", LineString([(first, y), (last, y)]))
    drawing.taken.append(shapely.box(first - 1, y - 1, last + 1, y + 1))
    for x in (first, last):
        drawing.draw("size", LineString([(x, y - 0.8), (x, y + 0.8)]))
    long = distance_text(pad_m[1] - pad_m[0], units)
    fall = percent_text(earth["crossfall_pct"])
    drawing.write((first + last) / 2, 5.3, f"play area {long}, falling {fall}", "bold")
    times = f"heights drawn {scale.times:g} times" if scale.times > 1 else "heights as they are"
    drawing.write(drawing.width_mm - _SIDE_MM, 1.9, times, "note", anchor="end")


def _name_earth(
    drawing: Drawing,
    scale: _Scale,
    areas: tuple[BaseGeometry, BaseGeometry],
    surface: LineString,
    earth: Row,
    units: str,
) -> None:
    """Names and amounts beside cut and fill, and of the ground, where nothing else stands."""
    low = _TOP_MM + scale.deep_mm
    for kind, shape in zip(("cut", "fill"), areas, strict=True):
        if shape.is_empty:
            continue
        largest = max(shapely.get_parts(shape), key=lambda part: part.area)
        x, y = largest.representative_point().coords[0]
        said = f"{kind} {volume_text(earth[f'{kind}_m3'], units)}"
        _, top, _, bottom = largest.bounds
        for at in (bottom + 3.0, bottom + 6.5, top - 3.0, y):
            if at < low - 1 and drawing.label(_kept_in(x, said, drawing), at, said, f"of-{kind}"):
                break
    for along in (0.0, 0.2, 0.4):
        at = surface.interpolate(along, normalized=True)
        said = "ground today"
        if drawing.label(max(at.x, _SIDE_MM + 0.5), at.y - 2.6, said, "of-ground", anchor="start"):
            return
    drawing.label(_SIDE_MM + 0.5, low - 2.5, said, "of-ground", anchor="start")


def _kept_in(x: float, said: str, drawing: Drawing) -> float:
    half = 0.85 * len(said)
    return min(max(x, _SIDE_MM + half), drawing.width_mm - _SIDE_MM - half)


def _bars(drawing: Drawing, scale: _Scale, units: str) -> None:
    """Scale along the foot, and beside it that of heights."""
    unit_m, sign = (LENGTHS_M["ft"], "ft") if in_feet(units) else (1.0, "m")
    y = _TOP_MM + scale.deep_mm + 2.0
    step = max(s for s in _STEPS if s * unit_m / scale.m_per_mm <= 24)
    long = step * unit_m / scale.m_per_mm
    for box in range(2):
        left = _SIDE_MM + 2 + box * long / 2
        kind = "dark" if box == 0 else "light"
        drawing.draw(kind, shapely.box(left, y, left + long / 2, y + 1.2))
    drawing.write(_SIDE_MM + 2 + long, y + 4.0, f"{step:g} {sign} along", "note")
    high = max(
        s for s in _STEPS if s * unit_m * scale.times / scale.m_per_mm <= 7.5 or s == _STEPS[0]
    )
    tall = high * unit_m * scale.times / scale.m_per_mm
    said = f"{depth_text(high * unit_m, units)} of height"
    right, foot = drawing.width_mm - _SIDE_MM, drawing.height_mm - 0.8
    x = right - LETTER_MM * text_em(said) - 2.5
    drawing.draw("dark", shapely.box(x, foot - tall / 2, x + 1.2, foot))
    drawing.draw("light", shapely.box(x, foot - tall, x + 1.2, foot - tall / 2))
    drawing.write(right, foot - tall / 2, said, "note", anchor="end")


def _tell(drawing: Drawing, scale: _Scale, earth: Row, units: str, *, has_wall: bool) -> None:
    cut, fill = (volume_text(earth[name], units) for name in ("cut_m3", "fill_m3"))
    deep, high = (depth_text(earth[name], units) for name in ("deepest_cut_m", "highest_fill_m"))
    fall = percent_text(earth["crossfall_pct"])
    drawing.finding = f"Levelling cuts {cut} and fills {fill}."
    drawing.key = (
        "section along the arrow, upper side left; heights drawn "
        f"{scale.times:g} times. Dashed: ground today; mulberry: the play area."
    )
    wall = " A retaining wall stands where a bank has no room." if has_wall else ""
    drawing.alt = (
        f"Section through the play area along its fall, heights drawn {scale.times:g} times: the "
        f"finish falls {fall}; up to {deep} of cut and {high} of fill, {cut} and {fill} in "
        f"all.{wall}"
    )
