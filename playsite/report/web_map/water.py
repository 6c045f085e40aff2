"""Where water stands and which way it runs round the foremost pads, ready for the page to draw."""

from __future__ import annotations

from collections import defaultdict
from functools import partial
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import shapely

from playsite.report.low_spots import low_spot_text, short_text, step_of, texts_near
from playsite.report.people_units import UNITS, contour_text
from playsite.report.web_map.shapes import DEGREES, lines, polygons, spots
from playsite.report.web_map.texts import said
from playsite.report.wording import records

if TYPE_CHECKING:
    from playsite.report.web_map.texts import Said, Texts
    from playsite.result import Result

__all__ = ["contour_heights", "flow_arrows", "low_spots", "low_spots_near"]

SMOOTHED_M = 0.8
LETTERED_M = 10.0
"""How far off a pad heights are written on the contours."""


def low_spots(frame: gpd.GeoDataFrame) -> list[list[Any]]:
    """Give each low spot that is drawn: a few words, all of them, polygons, and its step.

    The step is its place in ``SURE_PCT``, or ``UNTOLD``; those less sure are listed on the cards.
    """
    rows = records(frame.drop(columns=frame.geometry.name)) if len(frame) else []
    steps = [step_of(row) for row in rows]
    kept = [place for place, step in enumerate(steps) if step is not None]
    if not kept:
        return []
    # Hollows come as cells: their corners are rounded off, as far as a drawing may.
    smooth = frame.geometry.iloc[kept].buffer(SMOOTHED_M).buffer(-SMOOTHED_M).simplify(SMOOTHED_M)
    return [
        [
            said(partial(short_text, rows[place])),
            said(partial(low_spot_text, rows[place])),
            polygons(shape),
            steps[place],
        ]
        for place, shape in zip(kept, smooth.to_crs(DEGREES), strict=True)
    ]


def low_spots_near(result: Result) -> dict[str, list[Said]]:
    """Give each parcel the low spots near its play area, in words, those not drawn among them."""
    feet, metres = (texts_near(result, units) for units in UNITS)
    return {
        parcel: [
            text if text == other else [text, other]
            for text, other in zip(own, metres[parcel], strict=True)
        ]
        for parcel, own in feet.items()
    }


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
