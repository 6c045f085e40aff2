"""Shade by hour for the page: one shape for each sun, of all foremost pads together."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import geopandas as gpd

from playsite.report.web_map.shapes import DEGREES, polygons

if TYPE_CHECKING:
    from playsite.result import Result

__all__ = ["shades"]

_MONTHS = {3: "March", 6: "June", 9: "September", 12: "December"}
_TOLERANCE_M = 0.1


def shades(result: Result) -> list[list[Any]]:
    """Give the words of each sun, and all shade under it; in the order of the year and the day."""
    table = result.shade
    if not len(table):
        return []
    rows = []
    for (month, hour), own in table.groupby(["month", "hour"], sort=True):
        shape = own.geometry.dropna().union_all().simplify(_TOLERANCE_M)
        degrees = gpd.GeoSeries([shape], crs=result.study.crs).to_crs(DEGREES).iloc[0]
        rows.append([f"{_MONTHS[month]} 21, {hour} o'clock by the sun", polygons(degrees)])
    return rows
