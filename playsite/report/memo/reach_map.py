"""Homes with a playground within their walk, today and with one at the foremost site, side by side."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import shapely

from playsite.proximity.children import OLDER_WALK_M, YOUNG_WALK_M
from playsite.report.ink import INK
from playsite.report.memo.blocks import Figure
from playsite.report.memo.drawn_map import Sheet, draw_streets
from playsite.report.memo.inks import drawing, letter, pictures_of
from playsite.report.memo.readings import rows_of
from playsite.report.memo.sheet_margin import draw_margin
from playsite.report.need import count_text, plus_minus_text
from playsite.report.people_units import distance_text

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd

    from playsite.report.memo.blocks import Drawn, Page
    from playsite.report.memo.readings import Readings

    Row = Mapping[str, Any]

__all__ = ["reach_map"]

_GAP_MM, _TITLE_MM, _TALL_MM = 4.0, 6.0, 84.0
_PLACE = ("easting", "northing")
_LEAST_HALF_M, _MOST_HALF_M, _MOST_OFF_M, _AROUND = 200.0, 900.0, 300.0, 1.1
_BAR_MM, _FINE_MM = 30.0, 0.06
_GROUND = ("water", "streets", "street_lines", "paths", "districts")
_MOST_SIGNS, _SIGN_MM = 1_200, 1.6
_AGES = ("sheet", "street-edge", "ink-3")
"""Filling of a home's sign: nobody, the older children alone, all children have one today."""


def reach_map(readings: Readings, page: Page) -> Figure | None:
    """Draw who is reached today, and what the foremost site adds; None where nobody can tell."""
    result, foremost = readings.result, readings.short_list[:1]
    if not foremost or not (result.shows_order or len(readings.ranked) == 1):
        return None
    site = foremost[0]
    parcel = site["parcel_id"]
    homes = result.homes[result.homes["parcel_id"] == parcel]
    rows = result.need[result.need["district"] == ""]
    gains = rows_of(rows[rows["parcel_id"] == parcel])
    today = rows_of(rows[rows["option"] == "do nothing"])
    pads = result.pads[result.pads["parcel_id"] == parcel]
    if homes.empty or not gains or not today or pads.empty:
        return None
    wide_mm = (page.text_mm - _GAP_MM) / 2
    height_mm = _TALL_MM + _TITLE_MM
    window, m_per_mm = _window(homes, pads.geometry.iloc[0], wide_mm)
    signs, are_many = _signs(homes, window, m_per_mm)
    titles = ("Today", f"With a playground at Site {site['site_no']}")
    with drawing(page.text_mm, height_mm) as figure:
        for place, (title, column) in enumerate(zip(titles, ("today", "then"), strict=True)):
            left = place * (wide_mm + _GAP_MM) / page.text_mm
            axes = figure.add_axes((left, 0, wide_mm / page.text_mm, _TALL_MM / height_mm))
            axes.set_xlim(window.bounds[0], window.bounds[2])
            axes.set_ylim(window.bounds[1], window.bounds[3])
            axes.set_axis_off()
            sheet = Sheet(axes, window, m_per_mm, result.study.units)
            sheet.reserve(window.bounds[2], window.bounds[3], 32, 52)
            _draw_ground(sheet, result.base_map)
            _draw_homes(sheet, signs, column)
            _draw_places(sheet, result.base_map, pads if place else None, site)
            draw_margin(sheet, bar_mm=_BAR_MM)
            letter(
                axes, window.bounds[0], window.bounds[3] + 3 * m_per_mm, title,
                size=9, weight="bold", clip_on=False,
            )  # fmt: skip
        drawn = pictures_of(figure)
    told = gains[0], today[0]
    return _figure(readings, (page.text_mm, height_mm), drawn, told, are_many=are_many)


def _figure(
    readings: Readings,
    size_mm: tuple[float, float],
    drawn: Drawn,
    told: tuple[Row, Row],
    *,
    are_many: bool,
) -> Figure:
    """Say what it shows, with the numbers of the table of options."""
    gain, today = told
    units = readings.result.study.units
    number = readings.short_list[0]["site_no"]
    new = count_text(gain["newly_served"]) + plus_minus_text(gain["plus_minus"])
    without, left = (count_text(row["still_without"]) for row in (today, gain))
    near, far = (distance_text(walk_m, units) for walk_m in (YOUNG_WALK_M, OLDER_WALK_M))
    squares = (
        "Homes are many: each sign stands for those of a small square, by what most have. "
        if are_many
        else ""
    )
    districts = "Dashed: lines of districts. " if "districts" in readings.result.base_map else ""
    return Figure(
        drawn=drawn,
        width_mm=size_mm[0],
        height_mm=size_mm[1],
        alt=(
            f"Two maps side by side, north up, of the homes round Site {number}. Left, today: which "
            f"homes have a playground within the walk; {without} children of the town have none. "
            f"Right, with a playground at Site {number}: the homes that gain one; {left} children "
            "still have none."
        ),
        finding=(
            f"Site {number} would newly serve {new} children; without one within their walk are "
            f"{without} today, {left} then."
        ),
        key=(
            f"Signs are homes. Open: no playground within the walk; gray: children of 5 to 12 have "
            f"one (within {far}); dark: younger ones too (within {near}). Right, mulberry diamonds: "
            f"homes that gain, filled where children of all ages then have one. Black squares: "
            f"playgrounds of today. {squares}{districts}Walks along streets and paths, not across what bars them."
        ),
        evidence=("N",),
    )


def _window(homes: pd.DataFrame, pad: Any, wide_mm: float) -> tuple[Any, float]:
    """Ground of a panel: the pad and all homes that have a playground then; metres in a millimetre."""
    seen = homes[homes["then"] > 0]
    x, y = (
        np.append(seen[name], at) for name, at in zip(_PLACE, pad.centroid.coords[0], strict=True)
    )
    half_x, half_y = (
        min(max(float(np.ptp(each)) / 2 * _AROUND, _LEAST_HALF_M), _MOST_HALF_M) for each in (x, y)
    )
    m_per_mm = max(half_x * 2 / wide_mm, half_y * 2 / _TALL_MM)
    middle = [
        float(np.clip((each.min() + each.max()) / 2, at - _MOST_OFF_M, at + _MOST_OFF_M))
        for each, at in zip((x, y), pad.centroid.coords[0], strict=True)
    ]
    half_x, half_y = m_per_mm * wide_mm / 2, m_per_mm * _TALL_MM / 2
    return shapely.box(
        middle[0] - half_x, middle[1] - half_y, middle[0] + half_x, middle[1] + half_y
    ), m_per_mm


def _signs(homes: pd.DataFrame, window: Any, m_per_mm: float) -> tuple[pd.DataFrame, bool]:
    """Homes on the sheet; where they are many, one sign for those of a small square."""
    left, low, right, high = window.bounds
    seen = homes[homes["easting"].between(left, right) & homes["northing"].between(low, high)]
    if len(seen) <= _MOST_SIGNS:
        return seen, False
    side_m = _SIGN_MM * m_per_mm
    square = seen.assign(
        column=np.floor(seen["easting"] / side_m), row=np.floor(seen["northing"] / side_m)
    )
    count = square.groupby(["column", "row", "today", "then"]).size().rename("homes").reset_index()
    most = count.sort_values(["homes", "then", "today"], ascending=False, kind="stable")
    most = most.drop_duplicates(["column", "row"]).sort_values(["column", "row"])
    middle = {
        "easting": (most["column"] + 0.5) * side_m,
        "northing": (most["row"] + 0.5) * side_m,
    }
    return most.assign(**middle), True


def _draw_ground(sheet: Sheet, base_map: Mapping[str, gpd.GeoDataFrame]) -> None:
    sheet.fill(gpd.GeoDataFrame(geometry=[sheet.window]), "land", z=0)
    seen = {kind: sheet.seen(shapes) for kind, shapes in base_map.items()}
    fine_m = sheet.ground_m(_FINE_MM)
    seen = {
        kind: shapes.set_geometry(shapes.geometry.simplify(fine_m))
        for kind, shapes in seen.items()
        if kind in _GROUND and len(shapes)
    }
    if "water" in seen:
        sheet.fill(seen["water"], "water", z=1)
        sheet.line(seen["water"], "water-edge", width=0.6, z=1.1)
    kinds = ("streets", "street_lines")
    draw_streets(sheet, {kind: seen[kind] for kind in kinds if kind in seen}, thin=True)
    if "paths" in seen:
        sheet.line(seen["paths"], "street-edge", width=0.7, z=2.4)
    if "districts" in seen:
        sheet.line(seen["districts"], "ink-3", width=0.9, style=(0, (5, 2.5)), z=3)
        for row in seen["districts"].itertuples():
            here = row.geometry.intersection(sheet.window)
            name = str(getattr(row, "name", None) or "")
            left, _, right, high = here.bounds
            sheet.label(
                (left + right) / 2, high - sheet.ground_m(3.2), name, ink="ink-3", size=7.5,
                stack="serif", style="italic",
            )  # fmt: skip


def _draw_homes(sheet: Sheet, homes: pd.DataFrame, column: str) -> None:
    """Unchanged homes by the ages that have a playground; those that gain as diamonds."""
    gains = (homes["then"] > homes["today"]) & (column == "then")
    size = (72 / 25.4 * min(_SIGN_MM * 0.8, max(0.7, 9 / sheet.m_per_mm))) ** 2
    for ages, ink in enumerate(_AGES):
        own = homes[(homes["today"] == ages) & ~gains]
        sheet.axes.scatter(
            own["easting"], own["northing"], s=size, marker="o", facecolor=INK[ink],
            edgecolor=INK["ink-3"], linewidth=0.4, zorder=5,
        )  # fmt: skip
        own = homes[(homes["then"] == ages) & gains]
        face = INK["overprint" if ages == len(_AGES) - 1 else "score-1"]
        sheet.axes.scatter(
            own["easting"], own["northing"], s=1.7 * size, marker="D", facecolor=face,
            edgecolor=INK["overprint-deep"], linewidth=0.6, zorder=6,
        )  # fmt: skip


def _draw_places(
    sheet: Sheet, base_map: Mapping[str, gpd.GeoDataFrame], pads: gpd.GeoDataFrame | None, site: Row
) -> None:
    """Playgrounds of today as black squares; the new one to scale, by its number."""
    given = base_map.get("playgrounds")
    if given is not None and len(given):
        public = given[given["is_public"].astype(bool)] if "is_public" in given else given
        at = sheet.seen(public).geometry.representative_point()
        sheet.axes.scatter(
            at.x, at.y, s=26, marker="s", color=INK["ink"], edgecolor=INK["sheet"], zorder=8
        )
    if pads is None:
        return
    sheet.fill(pads, "overprint", edge="overprint-deep", z=9)
    x, y = pads.geometry.iloc[0].centroid.coords[0]
    high = pads.geometry.iloc[0].bounds[3] + sheet.ground_m(2.4)
    up = high if math.isfinite(high) else y
    letter(
        sheet.axes, x, up, f"Site {site['site_no']}", size=9, weight="bold",
        ink="overprint-deep", ha="center", zorder=20,
        bbox={"facecolor": INK["land"], "edgecolor": "none", "pad": 0.8},
    )  # fmt: skip
