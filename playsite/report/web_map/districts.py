"""Districts on the page: whose each parcel is, and where children of each would be newly served."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np

from playsite.report.web_map.shapes import DEGREES, as_area, polygons
from playsite.report.wording import records

if TYPE_CHECKING:
    from playsite.result import Result

__all__ = ["districts"]

NEW = "new playground"
_NAMELESS = "without a name"


def districts(result: Result) -> dict[str, Any]:
    """Give names and shapes, the place of each parcel's district in them, and who gains there.

    ``of`` has a row a parcel, in the order of ``result.sites``; -1: in none, or on no map. A parcel
    lies where its pad does; without one, where its own middle does. ``gains`` has a row a district:
    numbers of sites and children newly served, the most first. Empty where the study has no districts.
    """
    frame = result.base_map.get("districts")
    if frame is None or frame.empty:
        return {}
    named = frame.assign(name=frame["name"].fillna(_NAMELESS) if "name" in frame else _NAMELESS)
    areas = as_area(named[["name", "geometry"]].dissolve("name", as_index=False))
    names = [str(name) for name in areas["name"]]
    shapes = areas.to_crs(DEGREES).geometry
    return {
        "names": names,
        "shapes": [polygons(shape) for shape in shapes],
        "of": [int(place) for place in _places(result, areas)],
        "gains": [_gains(result, name) for name in names],
    }


def _places(result: Result, areas: gpd.GeoDataFrame) -> np.ndarray[Any, Any]:
    sites = result.sites
    middle = result.parcels.geometry.representative_point()
    middle = (
        middle.groupby(result.parcels["parcel_id"].to_numpy()).first().reindex(sites["parcel_id"])
    )
    x = sites["pad_easting"].fillna(gpd.GeoSeries(middle).x.reset_index(drop=True))
    y = sites["pad_northing"].fillna(gpd.GeoSeries(middle).y.reset_index(drop=True))
    points = gpd.points_from_xy(x, y)
    row, area = areas.sindex.query(points, predicate="intersects")
    places = np.full(len(sites), -1)
    places[row[::-1]] = area[::-1]  # on a shared line the first one
    return places


def _gains(result: Result, name: str) -> list[list[int]]:
    need = result.need[(result.need["option"] == NEW) & (result.need["district"] == name)]
    numbers = result.ranked.set_index("parcel_id")["site_no"]
    rows = [
        [int(numbers[row["parcel_id"]]), round(float(row["newly_served"]))]
        for row in records(need)
        if row["parcel_id"] in numbers.index and row["newly_served"] >= 0.5
    ]
    return sorted(rows, key=lambda row: (-row[1], row[0]))
