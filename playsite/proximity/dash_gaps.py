"""Gaps on a child's way: where fences leave one, and how far the dash is once it is closed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from playsite.proximity._dash_ground import CRACK_M, around
from playsite.proximity.dash import OPENING_M, check_distances
from playsite.proximity.shapes import read_shapes

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from playsite.proximity.shapes import ShapesLike

__all__ = ["WIDEST_M", "bearing_word", "dash_again_m", "gaps", "seconds_text"]

WIDEST_M = 6.0
"""Widest opening between two fences that is told as a gap in one: room for a truck's gate (common
practice, no source)."""

_POINTS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")


def gaps(
    barriers: ShapesLike, *, widest_m: float = WIDEST_M, opening_m: float = OPENING_M
) -> gpd.GeoSeries:
    """Find the openings that the loose ends of fences leave.

    Parameters
    ----------
    barriers
        Fences and walls as lines, buildings as polygons, projected metres.
    widest_m
        Wider openings are no gap in a fence.
    opening_m
        Openings narrower than this are closed to a child.

    Returns
    -------
    GeoSeries
        The straight line across each gap, widest last; from a loose end to the nearest other loose
        end, else to the nearest other barrier.

    Examples
    --------
    >>> from shapely import LineString
    >>> fence = [LineString([(0, 0), (40, 0)]), LineString([(44, 0), (90, 0)])]
    >>> gaps(fence).length.tolist()
    [4.0]
    """
    check_distances(widest_m, opening_m)
    given = read_shapes(barriers)
    parts = shapely.get_parts(given.geometry[given.usable])
    thin = shapely.get_dimensions(parts) == 1
    own = np.flatnonzero(thin & ~shapely.is_closed(parts))
    ends = shapely.get_point(np.repeat(parts[own], 2), np.tile([0, -1], len(own)))
    owner = np.repeat(own, 2)
    tree = shapely.STRtree(parts)
    i, k = tree.query(ends, predicate="dwithin", distance=opening_m)
    touches = k != owner[i]
    loose = np.setdiff1d(np.arange(len(ends)), i[touches])
    if not len(loose):
        return gpd.GeoSeries([], crs=given.crs)
    found = _across(ends, owner, loose, tree, widest_m)
    # Two loose ends that face each other give the same gap twice.
    _, first = np.unique(shapely.to_wkb(shapely.normalize(found)), return_index=True)
    found = found[first]
    return gpd.GeoSeries(found[np.argsort(shapely.length(found), kind="stable")], crs=given.crs)


def _across(
    ends: NDArray[np.object_],
    owner: NDArray[np.intp],
    loose: NDArray[np.intp],
    tree: shapely.STRtree,
    widest_m: float,
) -> NDArray[np.object_]:
    """Lines from loose ends to the nearest other loose end, else to the nearest other barrier."""
    i, j = shapely.STRtree(ends[loose]).query(ends[loose], predicate="dwithin", distance=widest_m)
    other = i != j
    i, j = i[other], j[other]
    near = np.lexsort((shapely.distance(ends[loose[i]], ends[loose[j]]), i))
    _, first = np.unique(i[near], return_index=True)
    i, j = i[near][first], j[near][first]
    between = shapely.linestrings(
        np.stack([shapely.get_coordinates(ends[loose[k]]) for k in (i, j)], axis=1)
    )
    alone = np.setdiff1d(loose, loose[i])
    k, wall = tree.query(ends[alone], predicate="dwithin", distance=widest_m)
    others = wall != owner[alone[k]]
    k, wall = k[others], wall[others]
    line = shapely.shortest_line(ends[alone[k]], tree.geometries[wall])
    near = np.lexsort((shapely.length(line), k))
    _, first = np.unique(k[near], return_index=True)
    return np.asarray(np.r_[between, line[near][first]], dtype=object)


def dash_again_m(
    shapes: ShapesLike,
    features: ShapesLike,
    barriers: ShapesLike,
    openings: ShapesLike,
    paths: ShapesLike,
    *,
    reach_m: float = 120.0,
    opening_m: float = OPENING_M,
) -> pd.DataFrame:
    """Measure again with each gap closed that a child's way leads through.

    Only gaps on the present way can matter: closing another changes nothing. What stands round a
    pad is drawn once, and each gap closed joins only the barriers that it touches.

    Parameters
    ----------
    shapes, features, barriers, reach_m, opening_m
        As for :func:`playsite.proximity.dash.dash_m`.
    openings
        Lines across gaps and gates, from post to post: of :func:`gaps`, or mapped gates.
    paths
        The present ways, one for each shape, as ``dash_m`` gives them; None where there is none.

    Returns
    -------
    DataFrame
        A row for each gap on each way, in the order of the shapes: ``shape`` and ``gap`` (labels),
        ``dash_m`` (inf: no way within the reach), ``at_least_m`` (as ``dash_m`` gives it) and
        ``path``.

    Raises
    ------
    ValueError
        The reach or opening is no distance, a layer is in degrees, or the layers' systems differ.
    """
    check_distances(reach_m, opening_m)
    pads = read_shapes(shapes)
    hazards = read_shapes(features, crs=pads.crs)
    walls = read_shapes(barriers, crs=pads.crs)
    closed = read_shapes(openings, crs=pads.crs)
    order = np.argsort(hazards.rank)
    hazard_tree = shapely.STRtree(hazards.geometry[order[hazards.usable[order]]])
    wall_tree = shapely.STRtree(walls.geometry[walls.usable])
    way = read_shapes(paths, crs=pads.crs).geometry
    row, gap = shapely.STRtree(closed.geometry).query(way, predicate="intersects")
    rows: list[tuple[Any, ...]] = []
    near = None
    for i, k in sorted(zip(row.tolist(), gap.tolist(), strict=True)):
        if near is None or near.pad is not pads.geometry[i]:
            near = around(
                pads.geometry[i],
                hazard_tree,
                wall_tree,
                reach_m=reach_m,
                opening_m=max(opening_m, CRACK_M),
            )
        again = near.with_closed(closed.geometry[k])
        length_m, _, path = again.way()
        least_m = length_m
        if path is None:
            least_m = np.inf if again.is_closed_off() else reach_m
        rows.append((pads.labels[i], closed.labels[k], length_m, least_m, path))
    return pd.DataFrame(rows, columns=["shape", "gap", "dash_m", "at_least_m", "path"])


def seconds_text(length_m: float, speed_m_s: tuple[float, float]) -> str:
    """Seconds of a running child, as a range from its slow and its fast speed.

    Examples
    --------
    >>> seconds_text(24, (3, 4))
    '6 to 8 s'
    >>> seconds_text(2, (3, 4))
    'under 1 s'
    """
    slow, fast = (round(length_m / speed) for speed in speed_m_s)
    if fast < 1:
        return "under 1 s"
    return f"{fast} s" if slow == fast else f"{fast} to {slow} s"


def bearing_word(start: Any, end: Any) -> str:
    """Point of the compass from one shape's middle to another's.

    Examples
    --------
    >>> from shapely import Point
    >>> bearing_word(Point(0, 0), Point(5, 6))
    'north-east'
    """
    a, b = (shapely.get_coordinates(shapely.centroid(each))[0] for each in (start, end))
    turn = np.degrees(np.arctan2(*(b - a)))
    return _POINTS[round(float(turn) / 45) % 8]
