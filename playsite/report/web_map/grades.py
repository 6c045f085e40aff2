"""Grade at the scale of a pad over the foremost lots: its classes in words, and their areas to draw."""

from __future__ import annotations

import math
from collections import defaultdict
from typing import TYPE_CHECKING, Any

from playsite.report.people_units import percent_text
from playsite.report.web_map.drawings import MOST_DRAWN
from playsite.report.web_map.shapes import DEGREES, all_polygons

if TYPE_CHECKING:
    import geopandas as gpd

    from playsite.criteria._curve import Knot
    from playsite.result import Result

__all__ = ["grade_areas", "grade_classes", "grade_shares"]

UNKNOWN = -1
_UNKNOWN_WORDS = "unknown: no elevation"
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


def grade_shares(result: Result) -> dict[Any, list[str]]:
    """Give each of the first parcels what share of it each class has, in words: the layer as a list."""
    frame, words = _first(result), [*grade_classes(result), _UNKNOWN_WORDS]
    if not len(frame):
        return {}
    whole_m2 = frame.geometry.area.groupby(frame["parcel_id"]).transform("sum")
    found: dict[Any, list[str]] = defaultdict(list)
    rows = zip(
        frame["parcel_id"], _classes(result, frame), frame.geometry.area / whole_m2, strict=True
    )
    for parcel, number, share in rows:
        pct = "under 1%" if share < 0.01 else f"{100 * share:.0f}%"
        found[parcel].append(f"{words[number]}, {pct} of the lot")
    return found


def grade_areas(result: Result) -> dict[Any, list[list[Any]]]:
    """Give each of the first parcels its classes and their polygons; a class of -1 is unknown."""
    frame = _first(result)
    shapes = all_polygons(frame.to_crs(DEGREES).geometry, closed=False) if len(frame) else []
    found: dict[Any, list[list[Any]]] = defaultdict(list)
    for parcel, number, shape in zip(
        frame["parcel_id"], _classes(result, frame), shapes, strict=True
    ):
        found[parcel].append([number, shape])
    return found


def _first(result: Result) -> gpd.GeoDataFrame:
    """Rows of the parcels that have drawings on their cards."""
    first = result.sites["parcel_id"].iloc[:MOST_DRAWN]
    return result.grade_areas[result.grade_areas["parcel_id"].isin(set(first))]


def _classes(result: Result, frame: gpd.GeoDataFrame) -> list[int]:
    least_pct = [0.0, *(knot.at for knot in _knots(result))]
    return [
        UNKNOWN if math.isnan(least) else least_pct.index(least) for least in frame["least_pct"]
    ]


def _knots(result: Result) -> tuple[Knot, ...]:
    return next((each.curve.knots for each in result.criteria if each.name == "grade"), ())
