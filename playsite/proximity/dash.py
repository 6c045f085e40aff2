"""Dash distance: the shortest way a running child could take to a hazard, round every barrier."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from playsite.proximity._dash_search import shortest_way
from playsite.proximity._nearest_search import segments
from playsite.proximity.shapes import read_shapes

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from playsite.proximity.shapes import ShapesLike

WIDTH_M = 0.01
"""Width a fence or wall given as a line is drawn with, so that joints of two pieces are closed."""
CRACK_M = 1e-5
"""Cracks between barriers that touch are no wider: closed even where no opening is to be."""
SPECK_M = 1e-6
"""Corners closer than this are one; one that dents no deeper counts as straight."""


def dash_m(
    shapes: ShapesLike,
    features: ShapesLike,
    barriers: ShapesLike,
    *,
    reach_m: float = 120.0,
    opening_m: float = 0.089,
) -> pd.DataFrame:
    """Find the shortest way from each shape to a feature that goes through no barrier.

    The way may start anywhere on the shape's edge, end anywhere on a feature's, and bend round the
    corners of barriers. Lawns and slopes are free; barriers are thought unclimbable.

    Parameters
    ----------
    shapes, features
        Pads, and hazards as the surface that matters (pavement edge, high-water edge), projected metres.
    barriers
        Fences and walls as lines, with gaps where gates stand open, and buildings as polygons. A
        barrier inside a shape is left out. A fence drawn as the area it encloses would make that
        area solid: give its outline.
    reach_m
        Longest way that is looked for.
    opening_m
        Openings narrower than this are closed to a child. Default 0.089 m (3.5 in), the widest gap
        in fences of child-care guidance (*Caring for Our Children*, national standards, 6.1.0.6).

    Returns
    -------
    DataFrame
        By the index of ``shapes``: ``dash_m`` (0 where they touch; inf: no way within the reach,
        which is not to say none at all; NaN: the shape is empty), ``feature`` (the label reached,
        the lowest where several are equally near; None) and ``path`` (LineString from shape to
        feature, None).

    Raises
    ------
    ValueError
        The reach or opening is no distance, a layer is in degrees, or the layers' systems differ.

    Notes
    -----
    Exact for barriers as drawn, with lines a centimetre wide: a lazy search of the visibility graph,
    whose first and last legs stand square on an edge or end at its corner (Lozano-Perez, Wesley
    1979, "An algorithm for planning collision-free paths among polyhedral obstacles", from memory).

    Examples
    --------
    A pond 15 m off behind a fence, its one gate 40 m along: twice the hypotenuse of 40 and 7.5.

    >>> from shapely import LineString, Point
    >>> fence = [LineString([(-99, 7.5), (40, 7.5)]), LineString([(41, 7.5), (99, 7.5)])]
    >>> float(dash_m([Point(0, 0)], [Point(0, 15)], fence).loc[0, "dash_m"].round(1))
    81.4
    """
    if not (np.isfinite([reach_m, opening_m]).all() and reach_m >= 0 and opening_m >= 0):
        raise ValueError(f"Reach and opening must be distances in metres: {reach_m}, {opening_m}")
    pads = read_shapes(shapes)
    hazards = read_shapes(features, crs=pads.crs)
    walls = read_shapes(barriers, crs=pads.crs)
    # In the order of labels, so that of equally near hazards the first found has the lowest.
    order = np.argsort(hazards.rank)
    order = order[hazards.usable[order]]
    hazard_tree = shapely.STRtree(hazards.geometry[order])
    near = shapely.STRtree(pads.geometry[pads.usable]).query(
        walls.geometry[walls.usable], predicate="dwithin", distance=reach_m
    )[0]
    solid = _solid(walls.geometry[walls.usable][np.unique(near)], max(opening_m, CRACK_M))
    wall_tree = shapely.STRtree(solid)
    length_m = np.full(len(pads), np.nan)
    feature, path = (np.full(len(pads), None, dtype=object) for _ in range(2))
    for row in np.flatnonzero(pads.usable):
        length_m[row], k, path[row] = _dash(pads.geometry[row], hazard_tree, wall_tree, reach_m)
        feature[row] = hazards.labels[order[k]] if k >= 0 else None
    return pd.DataFrame(
        {
            "dash_m": length_m,
            "feature": pd.Series(feature, index=pads.labels, dtype=object),
            "path": gpd.GeoSeries(path, index=pads.labels, crs=pads.crs),
        },
        index=pads.labels,
    )


def _solid(barriers: NDArray[np.object_], opening_m: float) -> NDArray[np.object_]:
    """Polygons apart from each other: lines given their width, narrow openings closed.

    Points stop nobody.
    """
    kind = shapely.get_dimensions(barriers)
    lines = shapely.buffer(barriers[kind == 1], WIDTH_M / 2, cap_style="flat", join_style="mitre")
    drawn = shapely.union_all(np.r_[lines, shapely.make_valid(barriers[kind == 2])])
    wide = shapely.buffer(drawn, opening_m / 2, join_style="mitre", mitre_limit=2)
    closed = shapely.buffer(wide, -opening_m / 2, join_style="mitre", mitre_limit=2)
    solid = shapely.union(closed, drawn)  # sharp corners are cut off on the way out and back
    return np.asarray(shapely.get_parts(solid), dtype=object)


def _dash(
    pad: Any,
    hazards: shapely.STRtree,
    walls: shapely.STRtree,
    reach_m: float,
) -> tuple[float, int, Any]:
    """Length of the way, position of the hazard (-1: none) and the path of one pad."""
    near = np.sort(hazards.query(pad, predicate="dwithin", distance=reach_m))
    if not len(near):
        return np.inf, -1, None
    gap_m = shapely.distance(pad, hazards.geometries[near])
    if gap_m.min() == 0:
        first = near[gap_m.argmin()]
        return 0.0, int(first), shapely.shortest_line(pad, hazards.geometries[first])
    low, high = shapely.bounds(shapely.buffer(pad, reach_m + 1)).reshape(2, 2)
    # Solids are cut off beyond the reach, where no way leads: one may run through the whole town.
    block = walls.geometries[walls.query(pad, predicate="dwithin", distance=reach_m)]
    solid = shapely.difference(shapely.clip_by_rect(block, *low, *high), pad)
    # Near the origin, where a micrometre is far above the rounding of a coordinate.
    origin = np.floor(shapely.get_coordinates(shapely.centroid(pad))[0])
    corner, edge = _corners(solid, origin)
    start, _ = segments(np.array([pad]), origin)
    goal, owner = segments(hazards.geometries[near], origin)
    seen = np.all(goal.reshape(-1, 2, 2).min(axis=1) <= high - origin, axis=1)
    seen &= np.all(goal.reshape(-1, 2, 2).max(axis=1) >= low - origin, axis=1)
    length_m, which, xy = shortest_way(corner, edge, start, goal[seen], reach_m)
    if which < 0:
        return np.inf, -1, None
    return float(length_m), int(near[owner[seen][which]]), shapely.LineString(xy + origin)


def _corners(
    solid: NDArray[np.object_],
    origin: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Corners that stick out, each as before, corner, after; and all edges of the solid's rings."""
    parts = shapely.remove_repeated_points(shapely.get_parts(solid), SPECK_M)
    parts = shapely.orient_polygons(parts[shapely.get_dimensions(parts) == 2])
    rings = shapely.get_rings(parts)
    xy, ring = shapely.get_coordinates(rings, return_index=True)
    xy = xy - origin
    goes_on = np.flatnonzero(ring[1:] == ring[:-1])  # the solid lies to the left of each edge
    edge = np.column_stack([xy[goes_on], xy[goes_on + 1]])
    of = ring[goes_on]
    before = np.arange(len(edge)) - 1
    opens = np.flatnonzero(np.r_[True, of[1:] != of[:-1]][: len(of)])
    before[opens] = np.r_[opens[1:], len(edge)][: len(opens)] - 1
    corner = np.column_stack([edge[before, :2], edge])
    a, b = corner[:, 2:4] - corner[:, :2], corner[:, 4:] - corner[:, 2:4]
    # How far a corner sticks out of the line between its neighbours. One that hardly dents counts
    # too: a line along it would be refused for touching it, and must have it to stop at.
    across = np.hypot(*(a + b).T)
    out = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0] > -SPECK_M * across
    return corner[out], edge
