"""Concept layouts for the page: each once, in its own metres, and where each pad has it."""

from __future__ import annotations

from collections import defaultdict
from functools import partial
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import shapely

from playsite.report.binding import room_texts
from playsite.report.layouts import concept_shapes
from playsite.report.people_units import distance_text
from playsite.report.web_map.shapes import DEGREES, lines
from playsite.report.web_map.texts import said
from playsite.report.wording import plain_cell, records

if TYPE_CHECKING:
    from playsite.program.layout import PlacedShape
    from playsite.report.web_map.texts import Texts
    from playsite.report.wording import Row
    from playsite.result import Result

__all__ = ["frames", "plans", "rooms"]

_REACH_M = 50.0
_ROLES = ("pad", "surfacing", "strip", "use zone", "equipment", "route", "gate", "seat")


def plans(result: Result) -> list[list[Any]]:
    """Give each concept as ``[role, label, rings]``, in whole centimetres of its own frame."""
    return [
        [_drawn(shape) for shape in concept_shapes(concept) if shape.role in _ROLES]
        for shape in result.pad.shapes
        for concept in shape.concepts
    ]


def _drawn(shape: PlacedShape) -> list[Any]:
    parts = shapely.get_parts(shape.geometry)
    simple = [part.simplify(0.02) if part.length else part for part in parts]
    rings = [
        np.rint(100 * shapely.get_coordinates(part)).astype(int).ravel().tolist() for part in simple
    ]
    return [_ROLES.index(shape.role), plain_cell(shape.label), rings]


def frames(result: Result) -> dict[Any, list[list[int]]]:
    """Give each parcel's frames: number of the plan, then where a metre of it leads.

    Origin in ten-millionths of a degree, x and y; a metre along and a metre across in
    ten-thousand-millionths.
    """
    table = result.frames
    if not len(table):
        return {}
    of_shape = np.cumsum([0, *(len(shape.concepts) for shape in result.pad.shapes)])
    origin = table[["easting", "northing"]].to_numpy(float)
    angle = np.radians(table["rotation_deg"].to_numpy(float))
    along = _REACH_M * np.column_stack([np.cos(angle), np.sin(angle)])
    across = np.column_stack([-along[:, 1], along[:, 0]])
    start, first, second = (
        _degrees(points, result) for points in (origin, origin + along, origin + across)
    )
    steps = np.hstack([first - start, second - start]) * 1e10 / _REACH_M
    numbers = np.rint(np.hstack([start * 1e7, steps])).astype(np.int64)
    found: dict[Any, list[list[int]]] = defaultdict(list)
    plan = of_shape[table["shape"].to_numpy(int)] + table["concept"].to_numpy(int)
    for parcel, number, row in zip(table["parcel_id"], plan, numbers, strict=True):
        found[parcel].append([int(number), *row.tolist()])
    return found


def _degrees(points: np.ndarray[Any, Any], result: Result) -> np.ndarray[Any, Any]:
    series = gpd.GeoSeries(gpd.points_from_xy(*points.T), crs=result.study.crs).to_crs(DEGREES)
    degrees: np.ndarray[Any, Any] = shapely.get_coordinates(series.to_numpy())
    return degrees


def rooms(result: Result, texts: Texts) -> dict[Any, list[list[Any]]]:
    """Give each parcel's room at the sides of its pad: words, length alone, line; tightest first."""
    found: dict[Any, list[list[Any]]] = defaultdict(list)
    if not len(result.rooms):
        return found
    table = result.rooms.sort_values("distance_m", kind="stable").to_crs(DEGREES)
    for row, line in zip(records(table.drop(columns="geometry")), table.geometry, strict=True):
        words = texts.place(said(partial(_side, row)))
        length = texts.place(said(partial(distance_text, row["distance_m"])))
        found[row["parcel_id"]].append([words, length, lines(line)])
    return found


def _side(row: Row, units: str) -> str:
    return room_texts([row], units)[0]
