"""The way of a truck from the street to a pad: shortest corridor, its narrowest place, what is opened."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
import shapely

from playsite.proximity.clearance import nearest
from playsite.proximity.dash import dash_m

if TYPE_CHECKING:
    from collections.abc import Collection

    import geopandas as gpd
    from numpy.typing import NDArray

__all__ = ["CORRIDOR_M", "WIDE_M", "TruckWay", "clear_ways", "truck_way", "widest_m"]

CORRIDOR_M = 3.7
"""Clear width of a straight corridor for trucks: 12 ft, one lane (common practice)."""

WIDE_M = 7.3
"""From this width on a single-unit truck turns a right angle anyhow; nothing wider is looked for."""

_REACH_M = 200.0
_SHARPEST_M = 0.02
_ARC = 8  # pieces of a quarter circle: a corridor round a post is wrong by less than 1 cm


@dataclass(frozen=True)
class TruckWay:
    """A way for trucks.

    Parameters
    ----------
    length_m
        From street to pad; inf: there is none even if all is opened that can be.
    path
        Middle of the corridor, from the pad to the street; None where there is no way.
    street
        Label of the street that it comes from; None.
    untouched_m
        Length of the shortest way on which nothing is opened; inf: none within the reach.
    widest_m
        Width of the narrowest place on the widest way on which nothing is opened, up to 7.3 m.
    opened
        What stands in the corridor, a row each: ``kind``, ``metres`` of the way's middle in it.
    """

    length_m: float
    path: Any
    street: Any
    untouched_m: float
    widest_m: float
    opened: pd.DataFrame


def truck_way(
    pad: Any,
    streets: gpd.GeoSeries,
    standing: gpd.GeoDataFrame,
    *,
    width_m: float = CORRIDOR_M,
    reach_m: float = _REACH_M,
) -> TruckWay:
    """Find the way for trucks that costs least: its length, and what sparing each thing is worth.

    Parameters
    ----------
    pad
        Polygon, projected metres; a truck may stand on it.
    streets
        Pavement that trucks may use.
    standing
        What stands in the way: ``kind``, ``worth_m`` (detour in metres that is made rather than
        take one such thing away; inf: it stays), ``worth_per_m`` (the same for each metre of way in
        it) and ``geometry``. Gates are holes.
    width_m
        Clear width that is needed.
    reach_m
        Longest way that is looked for.

    Returns
    -------
    TruckWay
        The cheapest of the shortest ways on which nothing is opened, then the kinds of least worth
        and so on, up to all that can be.

    Notes
    -----
    Exact: the middle of a corridor of width w keeps w / 2 from all that stands (Lozano-Perez, Wesley
    1979, "An algorithm for planning collision-free paths among polyhedral obstacles", from memory),
    so it is the dash distance (`playsite.proximity.dash`) round everything widened by w / 2. Slope,
    height and turning are not its matter.

    Examples
    --------
    A wall with one gate, first 3.8 m and then 3.6 m wide, between a pad and a street 20 m off:

    >>> import geopandas as gpd
    >>> from shapely import LineString, box
    >>> def through(gate_m):
    ...     ends = [(-400, 10), (40, 10)], [(40 + gate_m, 10), (400, 10)]
    ...     rows = {"kind": "wall", "worth_m": np.inf, "worth_per_m": 0.0}
    ...     walls = [LineString(each) for each in ends]
    ...     standing = gpd.GeoDataFrame(rows, geometry=walls, index=[0, 1])
    ...     street = gpd.GeoSeries([box(-80, 20, 290, 27)])
    ...     return truck_way(box(-10, -10, 10, 0), street, standing)
    >>> [round(through(gate_m).length_m, 1) for gate_m in (3.8, 3.6)]
    [44.0, inf]
    >>> round(through(3.6).widest_m, 1)
    3.6
    """
    near = standing[standing.dwithin(pad, reach_m + width_m)]
    worth = near.groupby("kind")[["worth_m", "worth_per_m"]].max()
    kinds = worth[np.isfinite(worth["worth_m"])].sort_values(["worth_m", "worth_per_m"]).index
    best = _corridor(pad, streets, near, set(), width_m, reach_m)
    best_cost = untouched_m = best.length_m
    straight_m = float(shapely.distance(pad, streets.to_numpy()).min(initial=np.inf))
    for count, kind in enumerate(kinds, start=1):
        # No way that opens more can be cheaper than the straight line and one such thing.
        if best_cost <= straight_m + worth["worth_m"][kind]:
            break
        found = _corridor(pad, streets, near, set(kinds[:count]), width_m, reach_m)
        cost = found.length_m + _worth(found.opened, worth)
        if cost < best_cost:
            best, best_cost = found, cost
    return replace(
        best,
        untouched_m=untouched_m,
        widest_m=widest_m(pad, streets, near.geometry, reach_m=reach_m),
    )


def clear_ways(
    pads: gpd.GeoSeries,
    streets: gpd.GeoSeries,
    standing: NDArray[np.object_],
    *,
    reach_m: float = _REACH_M,
) -> list[TruckWay | None]:
    """Give the ways that need no search: what `truck_way` finds, for all pads at once.

    Parameters
    ----------
    pads, streets
        As for `truck_way`.
    standing
        Shapes of all that stands in the way of trucks.
    reach_m
        Longest way that is looked for.

    Returns
    -------
    list
        One entry a pad: the straight way to the nearest street where nothing stands within half of
        7.3 m of it, and none where no street is in reach; None where it has to be searched.
    """
    found = nearest(pads, streets)
    lines, length_m = found["line"].to_numpy(), found["distance_m"].to_numpy(float)
    is_clear = (length_m > 0) & (length_m <= reach_m)
    beside = shapely.STRtree(standing).query(lines, predicate="dwithin", distance=WIDE_M / 2)[0]
    is_clear[beside] = False
    nothing = pd.DataFrame({"kind": pd.Series(dtype=object), "metres": np.zeros(0)})
    ways: list[TruckWay | None] = [None] * len(length_m)
    for row in np.flatnonzero(is_clear):
        far_m = float(length_m[row])
        ways[row] = TruckWay(far_m, lines[row], found["feature"].iloc[row], far_m, WIDE_M, nothing)
    for row in np.flatnonzero(~(length_m <= reach_m)):
        ways[row] = TruckWay(np.inf, None, None, np.inf, 0.0, nothing)
    return ways


def _worth(opened: pd.DataFrame, worth: pd.DataFrame) -> float:
    each = worth.loc[opened["kind"]]
    return float((each["worth_m"] + opened["metres"].to_numpy() * each["worth_per_m"]).sum())


def _corridor(
    pad: Any,
    streets: gpd.GeoSeries,
    standing: gpd.GeoDataFrame,
    opened: Collection[str],
    width_m: float,
    reach_m: float,
) -> TruckWay:
    """Give the shortest corridor if some kinds of things may be opened, and which of them it meets."""
    stays = standing[~standing["kind"].isin(opened)]
    walls = _widened(stays.geometry.to_numpy(), width_m)
    found = dash_m([pad], streets, walls, reach_m=reach_m, opening_m=0.0).iloc[0]
    path = found["path"]
    met = standing.iloc[:0]
    if path is not None:
        corridor = shapely.buffer(path, width_m / 2, cap_style="flat")
        met = standing[standing["kind"].isin(opened) & standing.intersects(corridor)]
    metres = met.intersection(path).length if len(met) else np.zeros(0)
    table = pd.DataFrame({"kind": met["kind"], "metres": np.asarray(metres)}, index=met.index)
    length_m = float(found["dash_m"])
    return TruckWay(length_m, path, found["feature"], np.nan, np.nan, table)


def _widened(shapes: NDArray[np.object_], width_m: float) -> NDArray[np.object_]:
    """What the middle of a corridor may not enter; what covers another is joined with it."""
    grown = shapely.buffer(shapes, width_m / 2 - 1e-3, quad_segs=_ARC)
    return np.asarray(shapely.get_parts(shapely.union_all(grown)), dtype=object)


def widest_m(
    pad: Any,
    streets: gpd.GeoSeries,
    standing: gpd.GeoSeries,
    *,
    most_m: float = WIDE_M,
    reach_m: float = _REACH_M,
) -> float:
    """Width of the narrowest place on the widest way from a pad to a street, to 2 cm.

    Parameters
    ----------
    pad, streets, standing
        As for `truck_way`; everything that is given stands.
    most_m
        Greatest width that matters.
    reach_m
        How far from the pad ways are looked at.

    Returns
    -------
    float
        Metres: ``most_m`` where the way is at least so wide, 0 where there is none.

    Notes
    -----
    By halving: pad and street lie in one piece of what is left of the ground when all that stands
    is widened by half the width.

    Examples
    --------
    >>> import geopandas as gpd
    >>> from shapely import box
    >>> posts = gpd.GeoSeries([box(-99, 5, -2, 6), box(2, 5, 99, 6)])
    >>> street = gpd.GeoSeries([box(-99, 10, 99, 16)])
    >>> round(widest_m(box(-5, -9, 5, 0), street, posts, reach_m=60), 1)
    4.0
    """
    around = shapely.buffer(pad, reach_m, quad_segs=2)
    road = shapely.union_all(shapely.intersection(streets[streets.intersects(around)], around))
    shapes = standing[standing.intersects(around)].to_numpy()
    if shapely.is_empty(road):
        return 0.0
    shapes = shapely.intersection(shapes, around)

    def is_open(width_m: float) -> bool:
        grown = shapely.union_all(shapely.buffer(shapes, width_m / 2, quad_segs=_ARC))
        free = shapely.get_parts(shapely.difference(around, shapely.difference(grown, pad)))
        own = free[shapely.intersects(free, pad)]
        return bool(shapely.intersects(own, road).any())

    if is_open(most_m):
        return most_m
    low, high = 0.0, most_m
    while high - low > _SHARPEST_M:
        middle = (low + high) / 2
        low, high = (middle, high) if is_open(middle) else (low, middle)
    return low
