"""The land that was looked at: each parcel by its verdict, and what of it may not be built on."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING, Any

import geopandas as gpd
from matplotlib.patches import Rectangle

from playsite.report.ink import INK
from playsite.report.memo.blocks import Figure
from playsite.report.memo.drawn_map import Sheet
from playsite.report.memo.inks import drawing, letter, pictures_of
from playsite.report.memo.overview_map import PARCEL_STATES, draw_town, window_of
from playsite.report.memo.sheet_margin import draw_margin
from playsite.report.people_units import area_text
from playsite.report.wording import STATUS_TEXTS, in_readers_units, joined, records, short_reason

if TYPE_CHECKING:
    from collections.abc import Sequence

    from playsite.report.memo.blocks import Page
    from playsite.report.memo.readings import Readings

__all__ = ["exclusions_map", "rules_taken"]

_MAP_MM, _FOOT_MM, _ROW_MM, _BAR_MM = 96.0, 8.0, 4.6, 34.0
_MOST_LABELS = 40
_STRIP_MM = 0.8
_FINE_MM = 0.06
_HATCHES = ("xxxxxxxx", "--------", "||||||||", "++++++", "oooo", "\\\\\\\\\\\\")
"""How rules are told apart, in the order of their areas; past the last one they begin again."""
_STATE_HATCHES = {"screened out": "//", "not assessed": ".."}
_TINT = "out-hatch"


def rules_taken(readings: Readings) -> list[tuple[str, int, float, list[str]]]:
    """Rules that took land: rule, parcels, square metres, sources; the largest area first."""
    taken = readings.result.ledger[readings.result.ledger["removed_m2"] > 0]
    rows = []
    for rule, part in taken.groupby("rule", sort=True):
        sources = sorted({str(source) for source in part["source"].dropna()} - {""})
        area_m2 = float(part["removed_m2"].sum())
        rows.append((str(rule), part["parcel_id"].nunique(), area_m2, sources))
    return sorted(rows, key=lambda row: -row[2])


def exclusions_map(readings: Readings, page: Page) -> Figure:
    """Draw the four verdicts and, hatched by kind, the land that rules took."""
    result, units = readings.result, readings.result.study.units
    rules = rules_taken(readings)
    drawn_rules = rules if len(result.taken) else []
    states = [state for state in PARCEL_STATES if (result.sites["status"] == state).any()]
    rows = max(len(states), len(drawn_rules))
    height_mm = _MAP_MM + _ROW_MM * rows + 3
    m_per_mm, window = window_of(result.parcels, page.text_mm, _MAP_MM, foot_mm=_FOOT_MM)
    with drawing(page.text_mm, height_mm) as figure:
        axes = figure.add_axes((0, 1 - _MAP_MM / height_mm, 1, _MAP_MM / height_mm))
        axes.set_xlim(window.bounds[0], window.bounds[2])
        axes.set_ylim(window.bounds[1], window.bounds[3])
        axes.set_axis_off()
        sheet = Sheet(axes, window, m_per_mm, units)
        right, low, high = window.bounds[2], window.bounds[1], window.bounds[3]
        sheet.reserve(right - sheet.ground_m(25), low + sheet.ground_m(7), 50, 14)
        sheet.reserve(right - sheet.ground_m(10), high - sheet.ground_m(13), 12, 22)
        draw_town(sheet, result.base_map, buildings=False)
        _draw_parcels(sheet, result.parcels)
        looks = _draw_taken(sheet, result.taken, [rule for rule, *_ in drawn_rules])
        if len(result.sites) <= _MOST_LABELS:
            _label_parcels(sheet, readings)
        draw_margin(sheet, bar_mm=_BAR_MM)
        key = figure.add_axes((0, 0, 1, _ROW_MM * rows / height_mm))
        key.set_xlim(0, page.text_mm)
        key.set_ylim(_ROW_MM * rows, 0)
        key.set_axis_off()
        _draw_key(key, readings, states, list(zip(drawn_rules, looks, strict=True)))
        drawn = pictures_of(figure)
    return _figure(readings, (page.text_mm, height_mm), drawn, rules)


def _draw_parcels(sheet: Sheet, parcels: gpd.GeoDataFrame) -> None:
    fine_m = sheet.ground_m(_FINE_MM)
    for status, (ink, style, _) in PARCEL_STATES.items():
        own = parcels[parcels["status"] == status]
        if own.empty:
            continue
        own = own.set_geometry(own.geometry.simplify(fine_m))
        if status == "ranked":
            sheet.fill(own, "overprint-wash", alpha=0.8, z=3)
        if status in _STATE_HATCHES:
            hatch = _STATE_HATCHES[status]
            sheet.fill(own, "out-hatch", clear=True, hatch=hatch, hatch_ink="out-hatch", z=3)
        sheet.line(own, ink, width=0.7 if status == "ranked" else 0.9, style=style, z=6)


def _draw_taken(
    sheet: Sheet, taken: gpd.GeoDataFrame, rules: Sequence[str]
) -> list[dict[str, Any]]:
    """Land of each rule as one shape: less to carry, and its hatch runs through; give the looks.

    The first that is strips too narrow for a hatch is filled, all else is hatched.
    """
    fine_m, looks = sheet.ground_m(_FINE_MM), []
    hatches = itertools.cycle(_HATCHES)
    for place, rule in enumerate(rules):
        own = taken[taken["rule"] == rule]
        whole = own.geometry.simplify(fine_m).buffer(0).union_all()
        is_strip = 2 * whole.area < sheet.ground_m(_STRIP_MM) * whole.length
        looks.append(
            {}
            if is_strip and {} not in looks
            else {"hatch": next(hatches), "edge": "ink-3", "clear": True}
        )
        sheet.fill(gpd.GeoDataFrame(geometry=[whole]), _TINT, z=4 + place / 100, **looks[-1])
    return looks


def _label_parcels(sheet: Sheet, readings: Readings) -> None:
    """Say of each parcel that is left out why, in two words; of the ranked ones the number."""
    result = readings.result
    shapes = result.parcels.set_index("parcel_id").geometry
    sheet.spared.extend(shapes.dropna())
    misses = dict(tuple(result.misses.groupby("parcel_id", sort=False)))
    order = result.sites.assign(ranked=result.sites["status"] == "ranked")
    for row in records(order.sort_values(["ranked", "site_no"])):
        shape = shapes.get(row["parcel_id"])
        if shape is None or shape.is_empty:
            continue
        at, number = shape.representative_point(), str(row["site_no"])
        left, under, right, over = shape.bounds
        off = sheet.ground_m(2.4)
        if row["status"] == "ranked":
            for y in (at.y, under - off, over + off):
                if sheet.label(at.x, y, number, ink="overprint-deep", size=7.5):
                    break
            continue
        own = misses.get(row["parcel_id"])
        why = short_reason(row, [] if own is None else records(own))
        said = f"? {number}" if row["status"] == "not assessed" else f"{number} {why}"
        wide_mm = sheet.label_mm(said)
        beside = sheet.ground_m(wide_mm / 2 + 1)
        places = [(at.x, under - off), (at.x, over + off)]
        places += [(right + beside, at.y), (left - beside, at.y), (at.x, under - 2 * off)]
        clear = [place for place in places if sheet.is_clear(*place, wide_mm)]
        for place in (*clear, *places):
            if sheet.label(*place, said, ink="ink", size=7.5, style="italic"):
                break


def _draw_key(
    axes: Any, readings: Readings, states: Sequence[str], rules: Sequence[tuple[Any, dict[str, Any]]]
) -> None:  # fmt: skip
    """Set the states left, the land that was taken right, each with its counts."""
    result, units = readings.result, readings.result.study.units
    count = result.sites["status"].value_counts()
    for place, status in enumerate(states):
        ink, style, _ = PARCEL_STATES[status]
        middle = (place + 0.5) * _ROW_MM
        face = INK["overprint-wash"] if status == "ranked" else "none"
        axes.add_patch(
            Rectangle(
                (0.5, middle - 1.4), 6, 2.8, facecolor=face, edgecolor=INK[ink], linestyle=style,
                linewidth=1.1, hatch=_STATE_HATCHES.get(status),
            )
        )  # fmt: skip
        letter(axes, 8.5, middle, f"{count[status]:,} {STATUS_TEXTS[status]}", size=8)
    left = 62.0
    for place, ((rule, parcels, area_m2, _), look) in enumerate(rules):
        middle = (place + 0.5) * _ROW_MM
        axes.add_patch(
            Rectangle(
                (left, middle - 1.4), 6, 2.8, hatch=look.get("hatch"), linewidth=0.5,
                facecolor="none" if look else INK[_TINT], edgecolor=INK["ink-3"],
            )
        )  # fmt: skip
        text = in_readers_units(rule, units)
        letter(axes, left + 8, middle, text[:1].upper() + text[1:], size=8)
        said = f"{parcels:,} parcel{'s' if parcels != 1 else ''}, {area_text(area_m2, units)}"
        letter(axes, axes.get_xlim()[1], middle, said, size=8, ha="right")


def _figure(
    readings: Readings, size_mm: tuple[float, float], drawn: Any, rules: Sequence[Any]
) -> Figure:
    result = readings.result
    count = result.sites["status"].value_counts()
    left_out = [
        f"{count[state]:,} {STATUS_TEXTS[state]}"
        for state in PARCEL_STATES
        if state in count and state != "ranked"
    ]
    finding = f"Of {len(result.sites):,} parcels {int(count.get('ranked', 0)):,} are ranked"
    finding += f"; left out: {', '.join(left_out)}." if left_out else "."
    without = "" if len(result.taken) or not rules else (
        " Land that rules took is not drawn: the parcels are too many for paper."
    )  # fmt: skip
    numbers = "Numbers are those of the sites. " if len(result.sites) <= _MOST_LABELS else ""
    names = joined([in_readers_units(rule, result.study.units) for rule, *_ in rules])

    drawn_land = f" Hatched by kind, the land that may not be built on: {names}." if names else ""
    return Figure(
        drawn=drawn,
        width_mm=size_mm[0],
        height_mm=size_mm[1],
        alt=f"Map of all parcels that were looked at, north up. {finding}{drawn_land}",
        finding=finding,
        key=(
            f"{numbers}Where rules overlap the land is counted under the first "
            f"of them, as in the table.{without} Lot lines are approximate. North is up."
        ),
        evidence=("L",),
    )
