"""Running slope along a step-free way: parts by the classes of the rules, and where it is steepest."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from playsite.routes.accessible_way import RAMP_SLOPE, WALK_SLOPE

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

__all__ = ["GRADE_TEXTS", "RAMP", "TOO_STEEP", "WALK", "Steepest", "parts_by_grade", "steepest"]

WALK, RAMP, TOO_STEEP = range(3)
"""Up to 1:20 a walking surface, up to 1:12 a ramp, above that neither (2010 ADA Standards, 403.3
and 405.2)."""

_MOST_PCT = (round(100 * WALK_SLOPE, 1), round(100 * RAMP_SLOPE, 1))
GRADE_TEXTS = (
    f"up to {_MOST_PCT[0]:g}%",
    f"over {_MOST_PCT[0]:g} to {_MOST_PCT[1]:g}%",
    f"over {_MOST_PCT[1]:g}%",
)
"""The classes in figures."""


@dataclass(frozen=True)
class Steepest:
    """Steepest part of a way: its running slope in percent, its class, and the middle of it."""

    grade_pct: float
    step: int
    at: shapely.Point


def parts_by_grade(way: BaseGeometry | None) -> list[tuple[int, shapely.LineString]]:
    """Parts of a way one after the other, each with its class; none where it has no heights.

    Parameters
    ----------
    way
        LineString in metres with the height of the finished way, m, at each point.

    Examples
    --------
    5 m at 4 %, then 5 m at 8 %:

    >>> way = shapely.LineString([(0, 0, 0), (5, 0, 0.2), (10, 0, 0.6)])
    >>> [(step, part.length) for step, part in parts_by_grade(way)]
    [(0, 5.0), (1, 5.0)]
    """
    at, grades = _legs(way)
    steps = np.searchsorted(_MOST_PCT, grades, side="left")
    ends = _run_ends(steps)
    return [(int(steps[a]), shapely.LineString(at[a : b + 1, :2])) for a, b in pairwise(ends)]


def steepest(way: BaseGeometry | None) -> Steepest | None:
    """Give the longest of the parts that are as steep as any, as people read it: to a tenth."""
    at, grades = _legs(way)
    if not len(grades):
        return None
    ends = _run_ends(grades)
    runs = [(a, b) for a, b in pairwise(ends) if grades[a] == grades.max()]
    lines = [shapely.LineString(at[a : b + 1, :2]) for a, b in runs]
    longest = max(lines, key=lambda line: line.length)
    step = int(np.searchsorted(_MOST_PCT, grades.max(), side="left"))
    return Steepest(float(grades.max()), step, longest.interpolate(0.5, normalized=True))


def _legs(way: BaseGeometry | None) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Points, and the grade of each leg between them as it is read, %."""
    if way is None or way.geom_type != "LineString" or not way.has_z:
        return np.empty((0, 3)), np.empty(0)
    at = shapely.get_coordinates(way, include_z=True)
    far_m = np.hypot(*np.diff(at[:, :2], axis=0).T)
    is_leg = far_m > 0  # two points in one place are none
    rise_m = np.abs(np.diff(at[:, 2]))
    return at[np.r_[True, is_leg]], np.round(100 * rise_m[is_leg] / far_m[is_leg], 1)


def _run_ends(values: NDArray[Any]) -> list[int]:
    """Where runs of equal values begin, and the end."""
    if not len(values):
        return []
    return [0, *(np.flatnonzero(np.diff(values) != 0) + 1).tolist(), len(values)]
