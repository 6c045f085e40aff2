"""The town on one picture: every parcel by its verdict, the ranked ones by number, the first by name."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import geopandas as gpd
import shapely

from playsite.report.memo.blocks import Figure
from playsite.report.memo.drawn_map import Sheet, draw_streets
from playsite.report.memo.inks import drawing, letter, pictures_of
from playsite.report.memo.sheet_margin import draw_margin
from playsite.report.wording import joined

if TYPE_CHECKING:
    from playsite.report.memo.blocks import Page
    from playsite.report.memo.readings import Readings

__all__ = ["PARCEL_STATES", "draw_town", "overview", "window_of"]

_HEIGHT_MM, _AROUND, _NAMED = 92.0, 0.04, 60
_OFFSETS = (
    (0, 0),
    (0, 1),
    (0, -1),
    (2.5, 0),
    (-2.5, 0),
    (0, 2),
    (0, -2),
    (3.5, 1),
    (-3.5, 1),
    (3.5, -1),
    (-3.5, -1),
)
PARCEL_STATES = {  # verdict: ink of the line, its style, words of the key
    "ranked": ("overprint", "solid", "ranked"),
    "screened out": ("out-hatch", "solid", "hatched: screened out"),
    "does not fit": ("ink-3", (0, (5, 2.5)), "dashed: too tight for the play area"),
    "not assessed": ("unknown-dot", (0, (1, 1.6)), "dotted: could not be assessed"),
}


def overview(readings: Readings, page: Page) -> Figure:
    """Draw where the parcels lie, and what became of them."""
    result = readings.result
    scale, window = window_of(result.parcels, page.text_mm, _HEIGHT_MM)
    first = {site["parcel_id"] for site in readings.short_list}
    with drawing(page.text_mm, _HEIGHT_MM) as figure:
        axes = figure.add_axes((0, 0, 1, 1))
        axes.set_xlim(window.bounds[0], window.bounds[2])
        axes.set_ylim(window.bounds[1], window.bounds[3])
        axes.set_axis_off()
        sheet = Sheet(axes, window, scale, result.study.units)
        _, low, right, high = window.bounds
        sheet.reserve(right - sheet.ground_m(35), low + sheet.ground_m(7), 70, 14)
        sheet.reserve(right - sheet.ground_m(10), high - sheet.ground_m(13), 12, 22)
        draw_town(sheet, result.base_map)
        key = _draw_parcels(sheet, result.parcels)
        _draw_numbers(sheet, readings, first)
        draw_margin(sheet)
        drawn = pictures_of(figure)
    count = result.sites["status"].value_counts()
    told = joined([f"{number:,} {status}" for status, number in count.items()])
    names = joined([f"Site {site['site_no']}" for site in readings.short_list])
    ranked = len(readings.ranked)
    return Figure(
        drawn=drawn,
        width_mm=page.text_mm,
        height_mm=_HEIGHT_MM,
        alt=f"Map of the town, north up, with all parcels that were looked at: {told}. Named on it: {names}.",
        finding=f"{ranked:,} of {len(result.sites):,} parcels pass every rule.",
        key=f"Parcels: {'; '.join(key)}. Bold: the short list. North is up.",
        evidence=("L",),
    )


def window_of(
    parcels: gpd.GeoDataFrame, width_mm: float, height_mm: float, *, foot_mm: float = 0.0
) -> tuple[float, Any]:
    """Metres of ground in a millimetre of paper, and the ground that the picture shows.

    Parameters
    ----------
    foot_mm
        Paper below the parcels that is kept free.
    """
    seen = parcels.geometry.dropna()
    left, low, right, high = seen.total_bounds if len(seen) else (0.0, 0.0, 100.0, 100.0)
    wide, tall = (max(side * (1 + 2 * _AROUND), 10.0) for side in (right - left, high - low))
    scale = max(wide / width_mm, tall / (height_mm - foot_mm))
    x, y = (left + right) / 2, (low + high - scale * foot_mm) / 2
    half_x, half_y = scale * width_mm / 2, scale * height_mm / 2
    return scale, shapely.box(x - half_x, y - half_y, x + half_x, y + half_y)


def draw_town(sheet: Sheet, base_map: Any, *, buildings: bool = True) -> None:
    """Draw the ground of a whole town: water, streets and, where asked, buildings."""
    sheet.fill(gpd.GeoDataFrame(geometry=[sheet.window]), "land", z=0)
    seen = {kind: sheet.seen(shapes) for kind, shapes in base_map.items()}
    seen = {kind: shapes for kind, shapes in seen.items() if len(shapes)}
    if "water" in seen:
        sheet.fill(seen["water"], "water", z=1)
        sheet.line(seen["water"], "water-edge", width=0.5, z=1.1)
    draw_streets(
        sheet, {kind: seen[kind] for kind in ("streets", "street_lines") if kind in seen}, thin=True
    )
    if buildings and "buildings" in seen:
        sheet.fill(seen["buildings"], "building", z=1.5)


def _draw_parcels(sheet: Sheet, parcels: gpd.GeoDataFrame) -> list[str]:
    told = []
    for status, (ink, style, words) in PARCEL_STATES.items():
        own = parcels[parcels["status"] == status]
        if own.empty:
            continue
        if status == "ranked":
            sheet.fill(own, "overprint-wash", alpha=0.8, z=3)
        elif status == "screened out":
            sheet.fill(own, ink, clear=True, hatch="////", hatch_ink=ink, z=3)
        sheet.line(own, ink, width=1.3 if status == "ranked" else 0.9, style=style, z=4)
        told.append(words if status != "ranked" else "solid: ranked")
    return told


def _draw_numbers(sheet: Sheet, readings: Readings, first: set[object]) -> None:
    """Name the short list first, then as many of the others as there is room for."""
    numbers = {site["parcel_id"]: site["site_no"] for site in readings.ranked}
    shapes = readings.result.parcels.set_index("parcel_id").geometry
    order = [site["parcel_id"] for site in readings.ranked[:_NAMED]]
    for parcel in order:
        shape = shapes.get(parcel)
        if shape is None or shape.is_empty:
            continue
        at, is_first = shape.representative_point(), parcel in first
        text = f"Site {numbers[parcel]}" if is_first else str(numbers[parcel])
        off = sheet.ground_m(3.2)
        look: dict[str, Any] = {"weight": "bold", "size": 8.5} if is_first else {"size": 7.5}
        for right, up in _OFFSETS:
            x, y = at.x + right * off, at.y + up * off
            if sheet.label(x, y, text, ink="overprint-deep", **look):
                break
        else:
            if is_first:
                letter(
                    sheet.axes,
                    at.x,
                    at.y,
                    text,
                    ink="overprint-deep",
                    ha="center",
                    halo=True,
                    zorder=20,
                    **look,
                )
