"""Dash distance: the shortest way a running child could take to a hazard, round every barrier."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from playsite.proximity._dash_ground import CRACK_M, WIDTH_M, around
from playsite.proximity.clearance import nearest
from playsite.proximity.shapes import read_shapes

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from playsite.proximity.shapes import Shapes, ShapesLike

OPENING_M = 0.089
"""Widest gap in a fence that no child fits through: 3.5 in (*Caring for Our Children*, 6.1.0.6)."""
_FIRST_M = 10.0  # beyond half the straight distance more, what the first look takes in


def dash_m(
    shapes: ShapesLike,
    features: ShapesLike,
    barriers: ShapesLike,
    *,
    reach_m: float | NDArray[np.float64] = 120.0,
    opening_m: float = OPENING_M,
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
        Longest way that is looked for: one for all, or one for each shape.
    opening_m
        Openings narrower than this are closed to a child. Default 0.089 m (3.5 in), the widest gap
        in fences of child-care guidance (*Caring for Our Children*, national standards, 6.1.0.6).

    Returns
    -------
    DataFrame
        By the index of ``shapes``: ``dash_m`` (0 where they touch; inf: no way within the reach,
        which is not to say none at all; NaN: the shape is empty), ``at_least_m`` (the dash; where none
        was found the reach or the straight distance, of which no way can be shorter; inf: barriers
        within the reach close the shape in, or off from all features, or there is none), ``feature`` (the label
        reached, the lowest where several are equally near; None) and ``path`` (LineString from shape
        to feature, None).

    Raises
    ------
    ValueError
        The reach or opening is no distance, a layer is in degrees, or the layers' systems differ.

    Notes
    -----
    Exact for barriers as drawn, with lines a centimetre wide: a lazy search of the visibility graph,
    whose first and last legs stand square on an edge or end at its corner (Lozano-Perez, Wesley
    1979, "An algorithm for planning collision-free paths among polyhedral obstacles", from memory).
    Where the straight line to the nearest feature is clear of barriers it is the dash. Else what
    stands within 1.5 times that distance is looked at, then twice as far each time: a way is never
    shortened by what lies farther off than it is long, so the cost is that of a neighbourhood.

    Examples
    --------
    A pond 15 m off behind a fence, its one gate 40 m along: twice the hypotenuse of 40 and 7.5.

    >>> from shapely import LineString, Point
    >>> fence = [LineString([(-99, 7.5), (40, 7.5)]), LineString([(41, 7.5), (99, 7.5)])]
    >>> float(dash_m([Point(0, 0)], [Point(0, 15)], fence).loc[0, "dash_m"].round(1))
    81.4
    """
    check_distances(reach_m, opening_m)
    reach = np.broadcast_to(np.asarray(reach_m, dtype=float), len(shapes))
    pads = read_shapes(shapes)
    hazards = read_shapes(features, crs=pads.crs)
    walls = read_shapes(barriers, crs=pads.crs)
    # In the order of labels, so that of equally near hazards the first found has the lowest.
    order = np.argsort(hazards.rank)
    order = order[hazards.usable[order]]
    hazard_tree = shapely.STRtree(hazards.geometry[order])
    wall_tree = shapely.STRtree(walls.geometry[walls.usable])
    opening_m = max(opening_m, CRACK_M)
    straight = _straight(pads, hazards, order)
    length_m = np.where(pads.usable, np.inf, np.nan)
    least_m = np.where(pads.usable, np.fmax(reach, straight["distance_m"]), np.nan)
    least_m[pads.usable & straight["distance_m"].isna()] = np.inf
    which = np.full(len(pads), -1)
    path = np.full(len(pads), None, dtype=object)
    near = (straight["distance_m"] <= reach).to_numpy()
    is_open = near & _is_clear(straight, wall_tree, opening_m)
    length_m[is_open] = least_m[is_open] = straight["distance_m"][is_open]
    which[is_open], path[is_open] = straight["row"][is_open], straight["line"][is_open]
    for row in np.flatnonzero(near & ~is_open):
        length_m[row], which[row], path[row], least_m[row] = _dash(
            pads.geometry[row],
            hazard_tree,
            wall_tree,
            straight["distance_m"].iloc[row],
            reach[row],
            opening_m,
        )
    feature = np.full(len(pads), None, dtype=object)
    reached = which >= 0
    feature[reached] = np.asarray(hazards.labels, dtype=object)[order[which[reached]]]
    return pd.DataFrame(
        {
            "dash_m": length_m,
            "at_least_m": least_m,
            "feature": pd.Series(feature, index=pads.labels, dtype=object),
            "path": gpd.GeoSeries(path, index=pads.labels, crs=pads.crs),
        },
        index=pads.labels,
    )


def check_distances(*lengths_m: float | NDArray[np.float64]) -> None:
    """Refuse what is no distance.

    Raises
    ------
    ValueError
        A reach or an opening is negative or not finite.
    """
    for length_m in lengths_m:
        if not (np.isfinite(length_m) & (np.asarray(length_m) >= 0)).all():
            raise ValueError(f"Reach and opening must be distances in metres: {length_m}")


def _straight(pads: Shapes, hazards: Shapes, order: NDArray[np.intp]) -> pd.DataFrame:
    """Find the straight way to the nearest hazard; ``row`` is its place in the given order."""
    found = nearest(pads.geometry, hazards.geometry[order])
    found["row"] = found["feature"].fillna(-1).astype(int)
    return found


def _is_clear(
    straight: pd.DataFrame, walls: shapely.STRtree, opening_m: float
) -> NDArray[np.bool_]:
    """Tell which straight ways keep clear of all barriers, and of openings that count as closed."""
    clear = np.ones(len(straight), dtype=bool)
    lines = straight["line"].to_numpy()
    blocked = walls.query(lines, predicate="dwithin", distance=2 * opening_m + WIDTH_M)[0]
    clear[blocked] = False
    # Nothing can stand between what touches.
    touching: NDArray[np.bool_] = (straight["distance_m"] == 0).to_numpy()
    return clear | touching


def _dash(
    pad: Any,
    hazards: shapely.STRtree,
    walls: shapely.STRtree,
    straight_m: float,
    reach_m: float,
    opening_m: float,
) -> tuple[float, int, Any, float]:
    """Length of the way, position of the hazard (-1: none), the path, and the least it can be."""
    look_m = min(reach_m, 1.5 * straight_m + _FIRST_M)
    while True:
        near = around(pad, hazards, walls, reach_m=look_m, opening_m=opening_m)
        length_m, row, path = near.way()
        if row >= 0:
            return length_m, row, path, length_m
        if look_m >= reach_m:
            return np.inf, -1, None, np.inf if near.is_closed_off() else reach_m
        look_m = min(reach_m, 2 * look_m)
