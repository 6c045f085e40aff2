"""Where water stands and which way it runs round the foremost pads, ready for the page to draw."""

from __future__ import annotations

from collections import defaultdict
from functools import partial
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import shapely

from playsite.report.people_units import contour_text
from playsite.report.web_map.shapes import DEGREES, lines, polygons, spots
from playsite.report.web_map.texts import said
from playsite.report.wording import low_spot_text, records

if TYPE_CHECKING:
    from playsite.report.web_map.texts import Texts
    from playsite.result import Result

__all__ = ["STANDINGS", "contour_heights", "flow_arrows", "low_spots"]

STANDINGS = ("credible", "field check", "cannot be told")
SMOOTHED_M = 0.8
LETTERED_M = 10.0
"""How far off a pad heights are written on the contours."""


def low_spots(frame: gpd.GeoDataFrame) -> list[list[Any]]:
    """Give each low spot as words, polygons and the place of its standing in ``STANDINGS``."""
    if not len(frame):
        return []
    rows = records(frame.drop(columns=frame.geometry.name))
    # Hollows come as cells: their corners are rounded off, as far as a drawing may.
    smooth = frame.geometry.buffer(SMOOTHED_M).buffer(-SMOOTHED_M).simplify(SMOOTHED_M)
    return [
        [said(partial(low_spot_text, row)), polygons(shape), STANDINGS.index(row["standing"])]
        for row, shape in zip(rows, smooth.to_crs(DEGREES), strict=True)
    ]


def flow_arrows(result: Result) -> dict[Any, list[list[int]]]:
    """Give each parcel's arrows, every one a line downhill."""
    found: dict[Any, list[list[int]]] = defaultdict(list)
    if len(result.arrows):
        shapes = result.arrows.to_crs(DEGREES).geometry
        for parcel, shape in zip(result.arrows["parcel_id"], shapes, strict=True):
            found[parcel] += lines(shape)
    return found


def contour_heights(result: Result, texts: Texts) -> dict[Any, list[list[int]]]:
    """Give each parcel's heights on its contours: place of the words, and where they stand.

    One a height, where its contour is nearest to the pad but 10 m off or more.
    """
    found: dict[Any, list[list[int]]] = defaultdict(list)
    placed = result.pads[result.pads.geometry.notna()]
    pads = dict(zip(placed["parcel_id"], placed.geometry, strict=True))
    for parcel, own in result.contours.groupby("parcel_id"):
        if parcel not in pads:
            continue
        free = own.geometry.difference(pads[parcel].buffer(LETTERED_M))
        near = shapely.shortest_line(free.to_numpy(), pads[parcel])
        order = own.assign(far_m=shapely.length(near), near=near).dropna(subset="far_m")
        order = order.sort_values("far_m", kind="stable").drop_duplicates("elevation_m")
        at = [shapely.get_point(line, 0) for line in order["near"]]
        places = spots(gpd.GeoSeries(at, crs=own.crs).to_crs(DEGREES))
        for height_m, place in zip(order["elevation_m"], places, strict=True):
            words = texts.place(said(partial(contour_text, float(height_m))))
            found[parcel].append([words, *place])
    return found
