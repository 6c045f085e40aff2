"""Streets that a truck or a fire engine may use: by class, posted limits, width, grade and reach."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from playsite.terrain.along import heights_at

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from playsite.site import Site

__all__ = ["Demand", "service_streets"]

_NEAR_M = 300.0
_PIECE_M = 30.0
_DRIVEWAY_M = 10.0
_TOUCH_M = 1.0  # ends of center lines this near are one junction


@dataclass(frozen=True)
class Demand:
    """What a vehicle needs of a street.

    Parameters
    ----------
    weight_t, height_m
        Least posted limits; a street without a posted limit has none.
    width_m
        Least width of pavement.
    grade_pct
        Steepest grade along it.
    """

    weight_t: float
    height_m: float
    width_m: float
    grade_pct: float


def service_streets(site: Site, near: gpd.GeoSeries, demand: Demand) -> gpd.GeoDataFrame:
    """Pieces of street near some pads on which such a vehicle may stop.

    A street counts if no sign forbids it, and if the busier streets can be reached from it without
    passing one that does: behind a weak bridge there is no truck. Public car parks beside it count.

    Parameters
    ----------
    site
        As every criterion has it.
    near
        Shapes; only pieces close to one of them are given.
    demand
        What the vehicle needs.

    Returns
    -------
    GeoDataFrame
        ``name``, ``grade_pct`` (NaN: not known), ``bridge``, ``line`` (its center line; None for an
        area) and ``geometry``, the pavement of a piece of 30 m at most.
    """
    streets = site.layer("streets").reset_index(drop=True)
    fits = ~(
        streets["trucks"].eq(False).fillna(value=False)  # noqa: FBT003
        | (streets["max_weight_t"].astype(float) < demand.weight_t)
        | (streets["max_height_m"].astype(float) < demand.height_m)
        | (streets["pavement_width_m"].astype(float) < demand.width_m - 0.01)
    )
    streets = streets[fits.to_numpy(bool)]
    streets = streets[_can_be_reached(streets)]
    close = shapely.STRtree(streets.geometry.to_numpy()).query(
        near.to_numpy(), predicate="dwithin", distance=_NEAR_M
    )[1]
    streets = streets.iloc[np.unique(close)]
    pieces = _pieces(streets)
    pieces["grade_pct"] = _grades_pct(pieces["line"], site)
    pieces = pieces[~(pieces["grade_pct"] > demand.grade_pct)]
    return pd.concat([pieces, _car_parks(site, pieces)], ignore_index=True)


def _car_parks(site: Site, pieces: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Public car parks drawn as areas beside such a street: pavement too, of unknown strength."""
    lots = site.layer("parking")
    if not len(lots):
        return pieces.iloc[:0]
    lots = lots[lots["is_public"] & lots.geom_type.str.endswith("Polygon")]
    beside = shapely.STRtree(pieces.geometry.to_numpy()).query(
        lots.geometry.to_numpy(), predicate="dwithin", distance=_DRIVEWAY_M
    )[0]
    lots = lots.iloc[np.unique(beside)]
    name = lots["name"].astype(object)
    columns = {
        "name": "the car park " + name.where(name.notna(), "without a name").astype(str),
        "bridge": False,
        "line": None,
        "grade_pct": np.nan,
    }
    return gpd.GeoDataFrame(columns, geometry=lots.geometry, crs=lots.crs)


def _can_be_reached(streets: gpd.GeoDataFrame) -> NDArray[np.bool_]:
    """Which streets hang together with a busier one, or with the longest net where there is none."""
    shapes = streets.geometry.to_numpy()
    if not len(shapes):
        return np.zeros(0, dtype=bool)
    i, j = shapely.STRtree(shapes).query(shapes, predicate="dwithin", distance=_TOUCH_M)
    graph = coo_array((np.ones(len(i), dtype=np.int8), (i, j)), shape=(len(shapes),) * 2)
    _, net = connected_components(graph, directed=False)
    busy = np.unique(net[(streets["class"] != "local").to_numpy()])
    longest = np.bincount(net, shapely.length(shapes)).argmax()
    return np.isin(net, busy if len(busy) else [longest])


def _pieces(streets: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Pavement cut into pieces; surfaces stay whole and have no line."""
    rows: list[dict[str, Any]] = []
    for row in streets.itertuples():
        own = {"name": row.name, "bridge": bool(row.bridge)}
        if "Polygon" in row.geometry.geom_type:
            rows.append(own | {"line": None, "geometry": row.geometry})
            continue
        for part in shapely.get_parts(row.geometry):
            count = max(1, int(np.ceil(part.length / _PIECE_M)))
            cuts = np.linspace(0, part.length, count + 1)
            for start, end in pairwise(cuts):
                line = shapely.ops.substring(part, start, end)
                wide = shapely.buffer(line, row.pavement_width_m / 2, cap_style="flat")
                rows.append(own | {"line": line, "geometry": wide})
    columns = ["name", "bridge", "line", "geometry"]
    return gpd.GeoDataFrame(pd.DataFrame(rows, columns=columns), crs=streets.crs)


def _grades_pct(lines: pd.Series[Any], site: Site) -> NDArray[np.float64]:
    """Rise between the ends of each piece over its length; a bridge's deck is not in the ground."""
    ground = site.ground
    has = lines.notna().to_numpy()
    grade_pct = np.full(len(lines), np.nan)
    if ground is None or not has.any():
        return grade_pct
    own = lines[has].to_numpy()
    ends = [shapely.get_coordinates(shapely.get_point(own, k)) for k in (0, -1)]
    first, last = (heights_at(ground.elevation, ground.transform, xy) for xy in ends)
    grade_pct[has] = 100 * np.abs(last - first) / np.maximum(shapely.length(own), 1.0)
    return grade_pct
