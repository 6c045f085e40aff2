"""Ground of the foremost pads for drawings: cut and fill, contours, the way that water runs."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import shapely

from playsite.engine import in_threads
from playsite.result import ARROW_COLUMNS, CONTOUR_COLUMNS, GRADING_COLUMNS
from playsite.study.earthworks import finish_of, ground_near, in_the_way
from playsite.study.taking import takers
from playsite.terrain.drawn_ground import contour_lines, cut_and_fill
from playsite.terrain.grade import pad_grade
from playsite.terrain.tie_in import tie_in

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from playsite.settings import Setbacks
    from playsite.site import Site

__all__ = ["arrow_table", "contour_table", "grading_table"]

_AROUND_M = 60.0
_STEP_M = {"feet": 0.3048, "metres": 0.25}
_APART_M, _LONG_M, _PLANE_M = 12.0, 5.0, 8.0


def grading_table(
    earthworks: gpd.GeoDataFrame,
    pads: gpd.GeoDataFrame,
    parcels: gpd.GeoSeries,
    site: Site,
    setbacks: Setbacks,
) -> gpd.GeoDataFrame:
    """Where levelling digs, places and holds back earth, for a plan.

    Parameters
    ----------
    earthworks
        As `playsite.study.earthworks.earthwork_table` gives it, of the same pads.
    pads, parcels, site, setbacks
        As there.

    Returns
    -------
    GeoDataFrame
        ``GRADING_COLUMNS``: kind is ``cut`` or ``fill`` (areas, banks included), or ``wall``
        (lines, with the greatest height).
    """
    outline_of = dict(zip(pads["parcel_id"], pads.geometry, strict=True))
    taken = takers(site, setbacks)
    rows: list[tuple[object, ...]] = []
    for row in earthworks[earthworks["finish_m"].notna()].itertuples():
        pad = outline_of[row.parcel_id]
        part = shapely.get_parts(pad)[row.part - 1]
        near = ground_near(part, site.ground)
        if near is None:
            continue
        finish, blocks = finish_of(row), in_the_way(pad, taken)
        banks = tie_in(*near, part, finish, land=parcels.loc[row.parcel_id], in_the_way=blocks)
        cut, fill = cut_and_fill(*near, part, finish)
        shapes = [
            ("cut", math.nan, shapely.union(cut, banks.cut_shape)),
            ("fill", math.nan, shapely.union(fill, banks.fill_shape)),
            *(("wall", wall.height_m, wall.line) for wall in banks.walls),
        ]
        rows += [(row.parcel_id, row.part, *each) for each in shapes if not each[-1].is_empty]
    return _table(rows, GRADING_COLUMNS, site)


def contour_table(pads: gpd.GeoDataFrame, site: Site, *, units: str) -> gpd.GeoDataFrame:
    """Contours at 1 ft or 0.25 m within 60 m of each pad, smoothed over noise: to look at only.

    Returns
    -------
    GeoDataFrame
        ``CONTOUR_COLUMNS``.
    """

    def of_one(item: tuple[str, BaseGeometry]) -> list[tuple[object, ...]]:
        parcel_id, pad = item
        near = ground_near(pad, site.ground, around_m=_AROUND_M)
        lines = [] if near is None else contour_lines(*near, step_m=_STEP_M[units])
        return [(parcel_id, level, line) for level, line in lines]

    return _table(_all(of_one, pads), CONTOUR_COLUMNS, site)


def arrow_table(pads: gpd.GeoDataFrame, site: Site) -> gpd.GeoDataFrame:
    """Ways that water runs within 60 m of each pad, every 12 m, on the ground with its culverts.

    Each is the fall of a plane through 8 by 8 m; where the noise does not let its fall be told
    from none, or a building stands, there is none.

    Returns
    -------
    GeoDataFrame
        ``ARROW_COLUMNS``: grade of the fall, %, and a line that runs downhill.
    """
    houses = site.layer("buildings").geometry

    def of_one(item: tuple[str, BaseGeometry]) -> list[tuple[object, ...]]:
        parcel_id, pad = item
        ground = site.ground
        near = ground_near(pad, ground, elevation=site.drained, around_m=_AROUND_M)
        if near is None or ground is None:
            return []
        places = _lattice(pad)
        at = shapely.points(places[:, :2])
        built = houses.iloc[np.sort(houses.sindex.query(pad.buffer(_AROUND_M)))].union_all()
        places = places[~shapely.intersects(shapely.union(built, pad), at)]
        found = pad_grade(
            *near, places, length_m=_PLANE_M, width_m=_PLANE_M,
            noise_m=ground.noise_m, noise_length_m=ground.noise_length_m,
        )  # fmt: skip
        turn = np.radians(found.aspect_deg)
        half = _LONG_M / 2 * np.column_stack([np.sin(turn), np.cos(turn)])
        ends = np.stack([places[:, :2] - half, places[:, :2] + half], axis=1)
        told = np.flatnonzero(found.low_pct > 0)
        return [
            (parcel_id, float(found.grade_pct[row]), shapely.LineString(ends[row])) for row in told
        ]

    return _table(_all(of_one, pads), ARROW_COLUMNS, site)


def _lattice(pad: BaseGeometry) -> NDArray[np.float64]:
    """Places round a pad, on lines that all pads share, so that arrows of neighbours agree."""
    west, south, east, north = np.array(pad.buffer(_AROUND_M).bounds) / _APART_M
    x, y = np.meshgrid(
        _APART_M * np.arange(math.ceil(west), math.floor(east) + 1),
        _APART_M * np.arange(math.ceil(south), math.floor(north) + 1),
    )
    near = shapely.dwithin(pad, shapely.points(x, y), _AROUND_M)
    return np.column_stack([x[near], y[near], np.zeros(int(near.sum()))])


def _all(
    of_one: Callable[[tuple[str, BaseGeometry]], list[tuple[object, ...]]], pads: gpd.GeoDataFrame
) -> list[tuple[object, ...]]:
    items = list(zip(pads["parcel_id"], pads.geometry, strict=True))
    return [row for rows in in_threads(of_one, items) for row in rows]


def _table(
    rows: list[tuple[object, ...]], columns: tuple[str, ...], site: Site
) -> gpd.GeoDataFrame:
    return gpd.GeoDataFrame(rows, columns=list(columns), geometry="geometry", crs=site.layers.crs)
