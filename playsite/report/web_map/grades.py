"""Grade at the scale of a pad over the foremost lots: its classes in words, and their areas to draw."""

from __future__ import annotations

import math
from collections import defaultdict
from typing import TYPE_CHECKING, Any

from playsite.report.people_units import percent_text
from playsite.report.web_map.drawings import MOST_DRAWN
from playsite.report.web_map.shapes import DEGREES, all_polygons

if TYPE_CHECKING:
    from playsite.criteria._curve import Knot
    from playsite.result import Result

__all__ = ["grade_areas", "grade_classes"]

UNKNOWN = -1
_WORDS = {"ideal": "ideal", "acceptable": "acceptable", "poor": "short of acceptable"}


def grade_classes(result: Result) -> list[str]:
    """Give each class in words, the least steep first: as the grade's curve names its knots."""
    said, least = [], ""
    for knot in _knots(result):
        most, word = percent_text(knot.at), _WORDS.get(knot.name, "")
        span = f"over {least} to {most}" if least else f"up to {most}"
        said.append(f"{span}: {word}" if word else span)
        least = most.removesuffix("%")
    return [*said, f"over {least}%: poor"] if said and len(result.grade_areas) else []


def grade_areas(result: Result) -> dict[Any, list[list[Any]]]:
    """Give each of the first parcels its classes and their polygons; a class of -1 is unknown."""
    first = set(result.sites["parcel_id"].iloc[:MOST_DRAWN])
    frame = result.grade_areas[result.grade_areas["parcel_id"].isin(first)]
    found: dict[Any, list[list[Any]]] = defaultdict(list)
    if not len(frame):
        return found
    least_pct = [0.0, *(knot.at for knot in _knots(result))]
    shapes = all_polygons(frame.to_crs(DEGREES).geometry, closed=False)
    for parcel, least, shape in zip(frame["parcel_id"], frame["least_pct"], shapes, strict=True):
        found[parcel].append([UNKNOWN if math.isnan(least) else least_pct.index(least), shape])
    return found


def _knots(result: Result) -> tuple[Knot, ...]:
    return next((each.curve.knots for each in result.criteria if each.name == "grade"), ())
