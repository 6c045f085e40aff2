"""Straight distances, edge to edge: how far each shape is from the nearest feature."""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from playsite.engine import in_threads
from playsite.proximity._nearest_search import (
    TIE_M,
    box_tree,
    children,
    nearest_edges,
    packed,
    runs,
    segments,
)
from playsite.proximity.shapes import read_shapes

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from playsite.proximity.shapes import Shapes, ShapesLike


POLYGONS = (3, 6)
"""Types of geometry that are areas and nothing else: polygons, of one part and of several."""
FEW_SHARE = 0.01
"""Fewer shapes than this share of the features don't repay taking all features apart into edges."""
SHARE = 2_000
"""Shapes that a thread is given at a time."""


def clearance_m(shapes: ShapesLike, features: ShapesLike) -> pd.Series[float]:
    """Straight distance from the edge of each shape to the edge of the nearest feature.

    Parameters
    ----------
    shapes, features
        Geometry in projected metres. Roads and streams should come as the surface that matters
        (pavement edge, high-water edge): a centreline is metres wrong.

    Returns
    -------
    Series
        Metres, by the index of ``shapes``: 0 where they touch, overlap or one holds the other;
        NaN where the shape is empty or there is no feature at all.

    Raises
    ------
    ValueError
        A layer is in degrees, or the two are in different systems.

    Examples
    --------
    >>> from shapely import Point, box
    >>> clearance_m([box(0, 0, 10, 10)], [Point(13, 14), Point(40, 5)]).tolist()
    [5.0]
    """
    inside, outside = _read(shapes, features)
    _, distance_m = _nearest(inside, outside)
    return pd.Series(distance_m, index=inside.labels, name="clearance_m")


def nearest(shapes: ShapesLike, features: ShapesLike) -> pd.DataFrame:
    """Nearest feature of each shape, how far it is, and the line between the two edges.

    One row for each shape, always: of features equally near, the one with the lowest label.

    Parameters
    ----------
    shapes, features
        Geometry in projected metres.

    Returns
    -------
    DataFrame
        By the index of ``shapes``: ``distance_m`` (NaN: nothing to measure), ``feature`` (the label
        in the index of ``features``, None if there is none) and ``line``, from shape to feature
        (None if there is none; of no length where they touch).

    Raises
    ------
    ValueError
        A layer is in degrees, or the two are in different systems.
    """
    inside, outside = _read(shapes, features)
    found, distance_m = _nearest(inside, outside)
    has = found >= 0
    feature = np.full(len(inside), None, dtype=object)
    feature[has] = np.asarray(outside.labels, dtype=object)[found[has]]
    line = np.full(len(inside), None, dtype=object)
    line[has] = shapely.shortest_line(inside.geometry[has], outside.geometry[found[has]])
    return pd.DataFrame(
        {
            "distance_m": distance_m,
            "feature": pd.Series(feature, index=inside.labels, dtype=object),
            "line": gpd.GeoSeries(line, index=inside.labels, crs=inside.crs),
        },
        index=inside.labels,
    )


def clearances(shapes: ShapesLike, features: ShapesLike, *, within_m: float) -> pd.DataFrame:
    """All pairs of shape and feature no farther apart than a reach.

    For rules that ask more of one class of feature than of another: an arterial 30 m away may
    govern where a lane 12 m away doesn't.

    Parameters
    ----------
    shapes, features
        Geometry in projected metres.
    within_m
        The reach, included.

    Returns
    -------
    DataFrame
        ``shape`` and ``feature`` (labels), ``distance_m``, in the order of the shapes, nearest
        first, then by label of the feature. A shape with nothing in reach has no row.

    Raises
    ------
    ValueError
        The reach is negative or not finite, a layer is in degrees, or the two are in different systems.
    """
    if not (np.isfinite(within_m) and within_m >= 0):
        raise ValueError(f"The reach must be a distance in metres, 0 or more: {within_m}")
    inside, outside = _read(shapes, features)
    i, j = _in_reach(inside, outside, within_m)
    distance_m = shapely.distance(inside.geometry[i], outside.geometry[j])
    order = np.lexsort((outside.rank[j], distance_m, i))
    i, j = i[order], j[order]
    return pd.DataFrame(
        {"shape": inside.labels[i], "feature": outside.labels[j], "distance_m": distance_m[order]},
    )


def _read(shapes: ShapesLike, features: ShapesLike) -> tuple[Shapes, Shapes]:
    inside = read_shapes(shapes)
    return inside, read_shapes(features, crs=inside.crs)


def _in_reach(
    inside: Shapes,
    outside: Shapes,
    within_m: float,
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Positions of all pairs of usable rows within a distance."""
    rows, columns = np.flatnonzero(inside.usable), np.flatnonzero(outside.usable)
    tree = shapely.STRtree(outside.geometry[columns])
    i, j = tree.query(inside.geometry[rows], predicate="dwithin", distance=within_m)
    return rows[i], columns[j]


def _nearest(inside: Shapes, outside: Shapes) -> tuple[NDArray[np.intp], NDArray[np.float64]]:
    """Position of the nearest feature of each row (-1: none) and the distance to it (NaN: none)."""
    found = np.full(len(inside), -1, dtype=np.intp)
    distance_m = np.full(len(inside), np.nan)
    rows = np.flatnonzero(inside.usable)
    ranked = np.argsort(outside.rank)
    ranked = ranked[outside.usable[ranked]]
    if not (len(rows) and len(ranked)):
        return found, distance_m
    shapes, features = inside.geometry[rows], outside.geometry[ranked]
    if len(shapes) < FEW_SHARE * len(features):
        rank, distance_m[rows] = _of_tree(shapes, features)
        found[rows] = ranked[rank]
        return found, distance_m
    gap_m, rank = _of_edges(shapes, features)
    # Where one lies wholly in the other, no edges are near.
    i, j = _inside(shapes, features)
    rank[i[gap_m[i] > 0]] = len(features)
    gap_m[i] = 0
    np.minimum.at(rank, i, j)
    found[rows], distance_m[rows] = ranked[rank], gap_m
    return found, distance_m


def _of_tree(
    shapes: NDArray[np.object_],
    features: NDArray[np.object_],
) -> tuple[NDArray[np.intp], NDArray[np.float64]]:
    """Position of the nearest feature, the first of those equally near, and the distance to it."""
    tree = shapely.STRtree(features)
    (_, rank), gap_m = tree.query_nearest(shapes, all_matches=False, return_distance=True)
    # what is found is kept: the library's test of a distance denies it now and then
    i, j = tree.query(shapes, predicate="dwithin", distance=gap_m + TIE_M)
    np.minimum.at(rank, i, j)
    return rank, gap_m


def _of_edges(
    shapes: NDArray[np.object_],
    features: NDArray[np.object_],
) -> tuple[NDArray[np.float64], NDArray[np.intp]]:
    """Distance to the nearest edge, 0 where one lies in a polygon, and its feature's position."""
    origin = np.nanmin(shapely.bounds(features)[:, :2], axis=0)
    edges, owner = segments(features, origin)
    order, boxes, first_box = box_tree(edges)
    own, of = segments(shapes, origin)
    first = np.searchsorted(of, np.arange(len(shapes) + 1))
    is_area = np.isin(shapely.get_type_id(shapes), POLYGONS)
    tree = (boxes, first_box, *children(len(edges), len(boxes), first_box))
    out = np.empty(len(shapes)), np.empty(len(shapes), dtype=np.intp)
    # Neighbours come one after the other: each one's nearest bounds the next one's search.
    parts = np.array_split(packed(own[first[:-1], :2]), max(1, len(shapes) // SHARE))
    work = ((own, first, is_area), (edges[order], owner[order]), tree, out)
    for _ in in_threads(lambda rows: nearest_edges(rows, *work), parts):
        pass
    return out


def _inside(
    shapes: NDArray[np.object_],
    features: NDArray[np.object_],
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Pairs of which one holds a part of the other, but for polygons among the shapes."""
    mixed = np.flatnonzero(~np.isin(shapely.get_type_id(shapes), POLYGONS))
    i, j = _held(shapes[mixed], features)
    k, m = _held(features, shapes)
    return np.r_[mixed[i], m], np.r_[j, k]


def _held(
    holders: NDArray[np.object_],
    shapes: NDArray[np.object_],
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Pairs of a shape with an area and one with a part that begins in it."""
    areas = np.flatnonzero(shapely.get_dimensions(holders) == 2)
    if not len(areas):
        return areas, areas
    parts, owner = runs(shapes)
    xy, part = shapely.get_coordinates(parts, return_index=True)
    starts = shapely.points(xy[np.searchsorted(part, np.arange(len(parts)))])
    i, j = shapely.STRtree(starts).query(holders[areas], predicate="intersects")
    return areas[i], owner[j]
