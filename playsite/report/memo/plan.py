"""The plan of one site: to a true scale on paper, whatever the page has to give up for it."""

from __future__ import annotations

import itertools
import math
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import shapely

from playsite.report.layouts import layouts_on_map
from playsite.report.memo.blocks import Figure
from playsite.report.memo.drawn_map import Sheet, draw_ground
from playsite.report.memo.inks import drawing, letter, pictures_of
from playsite.report.memo.play_layout import draw_layout
from playsite.report.memo.sheet_margin import draw_margin
from playsite.report.memo.way_on_plan import draw_grades
from playsite.report.people_units import (
    distance_text,
    ends_in_length,
    in_readers_units,
    pad_size_text,
    side_text,
)
from playsite.result import IN_THE_WAY

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from shapely.geometry.base import BaseGeometry

    from playsite.report.memo.blocks import Page
    from playsite.result import Result

__all__ = ["SCALES", "plan_scale", "site_plan"]

SCALES = (200, 250, 500, 750, 1000, 1500, 2000, 5000, 10_000, 20_000, 50_000)
"""Metres of ground in a metre of paper; the first at which the site fits is taken."""

_NAMED = 6
_ROUND = 4.0  # metres of ground around what must be seen
_WORST_PARCEL_SCALE = 1000  # a larger parcel is cut by the neat line rather than drawn smaller
_WAYS = {  # criterion → ink and line of its evidence; all others are plain ink
    **dict.fromkeys(
        ("traffic", "open_water", "car_parks", "other_hazards"), ("route-dash", (0, (4, 2)))
    ),
    **dict.fromkeys(
        ("restroom", "parking", "picnic", "drinking_water", "transit", "emergency"),
        ("route-walk", (0, (0.1, 1.8))),
    ),
    "accessible_route": ("route-wheel", "solid"),
    "truck": ("route-truck", (0, (6, 1))),
}


def plan_scale(
    pad: BaseGeometry, parcel: BaseGeometry | None, *, width_m: float, height_m: float
) -> int:
    """Scale at which pad and, up to 1:1,000, its parcel fit on paper of that size.

    Examples
    --------
    >>> pad = shapely.box(0, 0, 30, 20)
    >>> plan_scale(pad, shapely.box(-10, -8, 50, 30), width_m=0.178, height_m=0.104)
    500
    >>> plan_scale(pad, shapely.box(0, 0, 900, 900), width_m=0.178, height_m=0.104)
    1000
    """
    whole = (
        pad if parcel is None else shapely.union(shapely.envelope(pad), shapely.envelope(parcel))
    )
    fits_whole = _first_scale(whole, width_m, height_m)
    fits_pad = _first_scale(pad, width_m, height_m)
    return max(fits_pad, min(fits_whole, _WORST_PARCEL_SCALE))


def _first_scale(shape: BaseGeometry, width_m: float, height_m: float) -> int:
    left, low, right, high = shape.bounds
    for scale in SCALES:
        if (
            right - left + 2 * _ROUND <= width_m * scale
            and high - low + 2 * _ROUND <= height_m * scale
        ):
            return scale
    return SCALES[-1]


def site_plan(
    result: Result,
    pad: Mapping[str, Any],
    page: Page,
    *,
    marks: Sequence[tuple[str, float, float]] = (),
) -> Figure:
    """Draw one placed pad with all that is known around it.

    Parameters
    ----------
    pad
        A row of ``result.pads``.
    marks
        Letters to set at corners of the pad: letter, easting, northing.
    """
    width_mm, height_mm = page.text_mm, page.plan_height_mm
    parcel = _own(result.parcels, pad["parcel_id"])
    parcel_shape = None if parcel.empty else shapely.union_all(parcel.geometry.array)
    shape = pad["geometry"]
    scale = plan_scale(shape, parcel_shape, width_m=width_mm / 1000, height_m=height_mm / 1000)
    window = _window(shape, parcel_shape, width_mm / 1000 * scale, height_mm / 1000 * scale)
    with drawing(width_mm, height_mm) as figure:
        axes = figure.add_axes((0, 0, 1, 1))
        axes.set_xlim(window[0], window[2])
        axes.set_ylim(window[1], window[3])
        axes.set_axis_off()
        sheet = Sheet(axes, shapely.box(*window), scale / 1000, result.study.units)
        sheet.reserve(shape.centroid.x, shape.centroid.y, 30, 9)
        sheet.reserve(shape.centroid.x, shape.bounds[3] + sheet.ground_m(4), 20, 5)
        sheet.spared.append(shape)
        sheet.reserve(window[2] - sheet.ground_m(35), window[1] + sheet.ground_m(7), 70, 14)
        sheet.reserve(window[2] - sheet.ground_m(10), window[3] - sheet.ground_m(13), 9, 20)
        ways = draw_ground(sheet, result, pad["parcel_id"])
        _draw_parcel(sheet, parcel)
        _draw_others(sheet, _own(result.alternatives, pad["parcel_id"]))
        layout = layouts_on_map(result, {pad["parcel_id"]})
        _draw_pad(sheet, shape, pad, is_full=len(layout) > 0)
        ways += draw_layout(sheet, layout)
        _draw_marks(sheet, shape.centroid, marks)
        weights = {each.name: each.weight for each in result.criteria}
        ways += _draw_evidence(sheet, _own(result.evidence, pad["parcel_id"]), weights)
        draw_margin(sheet)
        drawn = pictures_of(figure)
    site = f"Site {pad['site_no']}"
    return Figure(
        drawn=drawn,
        width_mm=width_mm,
        height_mm=height_mm,
        alt=_alt(result, pad, scale, ways),
        finding=f"{site} with the play area to scale, 1:{scale:,} on paper.",
        key=_key(ways, not _own(result.alternatives, pad["parcel_id"]).empty),
    )


def _own(frame: gpd.GeoDataFrame, parcel_id: object) -> gpd.GeoDataFrame:
    return frame[frame["parcel_id"] == parcel_id]


def _window(
    pad: BaseGeometry, parcel: BaseGeometry | None, width_m: float, height_m: float
) -> tuple[float, float, float, float]:
    """Piece of ground on the sheet: round the parcel where it fits, else round the pad."""
    whole = (
        pad if parcel is None else shapely.union(shapely.envelope(pad), shapely.envelope(parcel))
    )
    left, low, right, high = whole.bounds
    middle = shapely.Point((left + right) / 2, (low + high) / 2)
    fits = right - left <= width_m and high - low <= height_m
    centre = middle if fits else pad.centroid
    return (
        centre.x - width_m / 2,
        centre.y - height_m / 2,
        centre.x + width_m / 2,
        centre.y + height_m / 2,
    )


def _draw_parcel(sheet: Sheet, parcel: gpd.GeoDataFrame) -> None:
    sheet.fill(parcel, "overprint-wash", alpha=0.55, z=4)
    sheet.line(parcel, "overprint", width=1.6, z=7)


def _draw_others(sheet: Sheet, alternatives: gpd.GeoDataFrame) -> None:
    sheet.line(alternatives, "overprint", width=0.8, style=(0, (1.3, 1.9)), alpha=0.7, z=8)


def _draw_pad(sheet: Sheet, pad: BaseGeometry, row: Mapping[str, Any], *, is_full: bool) -> None:
    own = gpd.GeoDataFrame(geometry=[pad])
    sheet.fill(own, "sheet", z=9)
    sheet.fill(own, "overprint-wash", z=9.1, hatch="////", hatch_ink="score-1")
    sheet.line(own, "overprint-deep", width=2.0, z=10)
    centre = pad.centroid
    site = f"Site {row['site_no']}"
    # A layout fills the pad: then the name stands above it.
    y = pad.bounds[3] + sheet.ground_m(4) if is_full else centre.y
    letter(
        sheet.axes,
        centre.x,
        y,
        site,
        size=11,
        weight="bold",
        ha="center",
        halo=True,
        zorder=20,
    )
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(pad))
    sides = sorted(
        (math.dist(start, end), tuple(start), tuple(end))
        for start, end in itertools.pairwise(corners)
    )
    for _, start, end in (sides[0], sides[-1]):
        _dimension(sheet, np.array(start), np.array(end), np.array([centre.x, centre.y]))


def _draw_marks(sheet: Sheet, centre: Any, marks: Sequence[tuple[str, float, float]]) -> None:
    """Set a letter outside each corner."""
    for text, x, y in marks:
        away = math.dist((x, y), (centre.x, centre.y)) or 1.0
        off = 1 + sheet.ground_m(3.4) / away
        at = centre.x + (x - centre.x) * off, centre.y + (y - centre.y) * off
        sheet.reserve(*at, 5, 5)
        letter(sheet.axes, *at, text, size=10, weight="bold", ha="center", halo=True, zorder=22)


def _dimension(sheet: Sheet, start: Any, end: Any, centre: Any) -> None:
    """Draw the length of a side beside it, outside the pad, with ticks."""
    along = (end - start) / math.dist(start, end)
    outward = np.array([-along[1], along[0]])
    if np.dot(outward, (start + end) / 2 - centre) < 0:
        outward = -outward
    off, tick = sheet.ground_m(2.6), sheet.ground_m(1.1)
    ends = [start + outward * off, end + outward * off]
    lines = [shapely.LineString(ends)]
    lines += [shapely.LineString([at - outward * tick, at + outward * tick]) for at in ends]
    sheet.line(gpd.GeoDataFrame(geometry=lines), "ink", width=0.9, z=11)
    length_m = math.dist(start, end)
    text = side_text(length_m, sheet.units)
    middle = (start + end) / 2 + outward * off
    x, y = float(middle[0]), float(middle[1])
    sheet.reserve(x, y, 14, 8)
    angle = math.degrees(math.atan2(along[1], along[0]))
    angle = angle - 180 if angle > 90 else angle + 180 if angle <= -90 else angle
    letter(
        sheet.axes, x, y, text, size=8.5, weight="bold", ha="center", halo=True,
        rotation=angle, rotation_mode="anchor", zorder=21,
    )  # fmt: skip


def _draw_evidence(
    sheet: Sheet, evidence: gpd.GeoDataFrame, weights: Mapping[str, float]
) -> list[str]:
    """Draw what was measured to: lines with their lengths; other shapes by their edge.

    Only what counts most is named on the drawing: all of it would hide the ground.
    """
    drawn: list[str] = []
    graded: list[str] = []
    weight = evidence["criterion"].map(weights).astype(float).fillna(0.0)
    # what somebody found in the way is named before all that was measured
    found = evidence["label"].astype(str).str.startswith(IN_THE_WAY)
    weight = weight.where(~found, np.inf)
    heaviest = (-weight).argsort(kind="stable")
    for row in evidence.iloc[heaviest].itertuples():
        shape = row.geometry
        if shape is None or shape.is_empty or not shape.intersects(sheet.window):
            continue
        ink, style = _WAYS.get(str(row.criterion), ("ink", (0, (1.5, 1.2))))
        sheet.line(gpd.GeoDataFrame(geometry=[shape]), ink, width=1.5, style=style, z=14)
        graded += draw_grades(sheet, shape, ink)
        label = in_readers_units(str(row.label or ""), sheet.units)
        if shape.geom_type in {"LineString", "MultiLineString"} and shape.length > 0:
            length = "" if ends_in_length(label) else distance_text(shape.length, sheet.units)
            label = ", ".join(filter(None, [label, length]))
        if len(drawn) < _NAMED:
            sheet.label_along(shape, label, ink=ink)
        drawn.append(label)
    return [*graded, f"what was measured to ({'; '.join(drawn)})"] if drawn else []


def _alt(result: Result, pad: Mapping[str, Any], scale: int, ways: list[str]) -> str:
    size = pad_size_text(result.pad.length_m, result.pad.width_m, result.study.units)
    seen = f" Also drawn: {', '.join(ways)}." if ways else ""
    turned = float(pad["rotation_deg"])
    return (
        f"Plan of Site {pad['site_no']} at 1:{scale:,}, north up: the play area, {size}, "
        f"turned {turned:.0f}°, inside its parcel.{seen}"
    )


def _key(ways: list[str], has_others: bool) -> str:  # noqa: FBT001
    parts = [way for way in ways if not way.startswith("what was measured")]
    key = f"{'; '.join(parts).capitalize()}. " if parts else ""
    others = "Dotted outlines: other positions that fit. " if has_others else ""
    return f"{key}{others}Lot lines are approximate. North is up."
