"""A step-free way on a plan, apart by its running slope: rungs on a ramp, thick breaks on what is too steep."""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import shapely

from playsite.report.people_units import percent_text
from playsite.report.way_grades import GRADE_TEXTS, RAMP, TOO_STEEP, WALK, parts_by_grade, steepest

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from playsite.report.memo.drawn_map import Sheet

__all__ = ["draw_grades"]

_LONG_MM = 20.0  # a shorter way has its grade in its name
_LINE = f"blue line: a new step-free way, {GRADE_TEXTS[WALK]}"
_RUNGS = f"blue rungs: a ramp, {GRADE_TEXTS[RAMP]}"
_BREAKS = f"thick breaks: {GRADE_TEXTS[TOO_STEEP]}, which the rules don't allow"


def draw_grades(sheet: Sheet, way: BaseGeometry, ink: str) -> list[str]:
    """Mark what is steeper than a walk on a way with heights, and its steepest part; give back the key."""
    steep = steepest(way)
    if steep is None:
        return []
    parts = parts_by_grade(way)
    ramps, steeps = ([own for found, own in parts if found == step] for step in (RAMP, TOO_STEEP))
    rungs = [rung for part in ramps for rung in _rungs(part, sheet.ground_m(1.3))]
    sheet.line(gpd.GeoDataFrame(geometry=rungs), ink, width=0.9, z=14.1)
    sheet.line(gpd.GeoDataFrame(geometry=steeps), "cut", width=5, style=(0, (1.2, 0.6)), z=14.1)
    if way.length > sheet.ground_m(_LONG_MM):
        sheet.label_along(steep.at, percent_text(steep.grade_pct), ink=ink)
    keys = [_LINE, ramps and _RUNGS, steeps and _BREAKS]
    return [key for key in keys if key]


def _rungs(part: shapely.LineString, apart_m: float) -> list[shapely.LineString]:
    """Short lines across a way."""
    found = []
    for at_m in np.arange(apart_m / 2, part.length, apart_m):
        a, b = (part.interpolate(at_m + off_m) for off_m in (-apart_m / 10, apart_m / 10))
        ahead = np.array([b.x - a.x, b.y - a.y])
        across = np.array([-ahead[1], ahead[0]]) / np.hypot(*ahead) * 0.9 * apart_m
        middle = np.array([a.x + b.x, a.y + b.y]) / 2
        found.append(shapely.LineString([middle - across, middle + across]))
    return found
