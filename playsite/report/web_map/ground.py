"""The quiet sheet: what was there before the study, ready for the page to draw."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import shapely

from playsite.report.web_map.shapes import DEGREES, as_area, lines, polygons, spots

if TYPE_CHECKING:
    from playsite.result import Result

__all__ = ["ground"]

AREAS = (
    "lots",
    "parks",
    "woods",
    "water",
    "streets",
    "buildings",
    "trees",
    "playgrounds",
    "easements",
)
LINES = ("paths", "fences")
SIGNS = ("restrooms", "parking", "picnic")
NAMED = ("water", "parks", "woods")
LETTERED_TOLERANCE_M = 2.0


def ground(result: Result) -> dict[str, Any]:
    """Give the base map by kind: areas as polygons, lines, places of signs, and lettering."""
    base = {kind: frame for kind, frame in result.base_map.items() if len(frame)}
    drawn: dict[str, Any] = {kind: _areas(base[kind], kind) for kind in AREAS if kind in base}
    drawn |= {kind: _lines(base[kind]) for kind in LINES if kind in base}
    drawn |= _contours(result.contours)
    drawn["signs"] = {
        kind: spots(base[kind].to_crs(DEGREES).geometry) for kind in SIGNS if kind in base
    }
    drawn["street_names"] = _street_names(base.get("street_lines"))
    drawn["names"] = {kind: _names(base[kind]) for kind in NAMED if kind in base}
    return drawn


def _areas(frame: gpd.GeoDataFrame, kind: str) -> list[Any]:
    areas = as_area(frame)
    if kind == "streets":  # one outline for all: no casing across a crossing
        areas = gpd.GeoDataFrame(geometry=[areas.union_all()], crs=areas.crs)
    return [part for shape in areas.to_crs(DEGREES).geometry for part in polygons(shape)]


def _lines(frame: gpd.GeoDataFrame) -> list[Any]:
    return [part for shape in frame.to_crs(DEGREES).geometry for part in lines(shape)]


def _contours(frame: gpd.GeoDataFrame) -> dict[str, list[Any]]:
    """Contours apart from every fifth one, which is drawn from a smaller scale on."""
    levels = np.unique(frame["elevation_m"].to_numpy(dtype=float).round(4))
    if len(levels) < 2:
        return {"contours": _lines(frame)} if len(frame) else {}
    number = (frame["elevation_m"].astype(float) / np.diff(levels).min()).round()
    is_fifth = number % 5 == 0
    return {"contours": _lines(frame[~is_fifth]), "index_contours": _lines(frame[is_fifth])}


def _street_names(frame: gpd.GeoDataFrame | None) -> list[list[Any]]:
    """Name, class and merged lines of each street: lettering runs along them."""
    if frame is None or "name" not in frame:
        return []
    named = frame[frame["name"].notna() & (frame["name"].astype(str).str.strip() != "")]
    rows = []
    for name, pieces in named.groupby(named["name"].astype(str), sort=True):
        merged = shapely.line_merge(shapely.union_all(pieces.geometry.to_numpy()))
        smooth = gpd.GeoSeries([merged.simplify(LETTERED_TOLERANCE_M)], crs=frame.crs).to_crs(
            DEGREES
        )
        kinds = pieces["class"].astype(str).mode() if "class" in pieces else None
        rows.append(
            [name, kinds.iloc[0] if kinds is not None and len(kinds) else "", lines(smooth.iloc[0])]
        )
    return rows


def _names(frame: gpd.GeoDataFrame) -> list[list[Any]]:
    """Name and place of each named area; the largest part of one name speaks for it."""
    if "name" not in frame:
        return []
    named = frame[frame["name"].notna() & (frame["name"].astype(str).str.strip() != "")]
    named = named[named.geom_type.isin(["Polygon", "MultiPolygon"])]
    order = named.geometry.area.sort_values(ascending=False).index
    largest = named.loc[order].drop_duplicates("name")
    return [
        [str(name), *place]
        for name, place in zip(
            largest["name"], spots(largest.to_crs(DEGREES).geometry), strict=True
        )
    ]
