"""What stands round one pad, made ready for the search: barriers as solid ground, hazards as edges."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from playsite.proximity._dash_search import shortest_way
from playsite.proximity._nearest_search import segments

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Shapes = NDArray[np.object_]
    Array = NDArray[np.float64]

WIDTH_M = 0.01
"""Width a fence or wall given as a line is drawn with, so that joints of two pieces are closed."""
CRACK_M = 1e-5
"""Cracks between barriers that touch are no wider: closed even where no opening is to be."""
SPECK_M = 1e-6
"""Corners closer than this are one; one that dents no deeper counts as straight."""


@dataclass(frozen=True)
class Around:
    """One pad, the solid ground within a reach of it, and the hazards there.

    Parameters
    ----------
    solid
        Polygons apart from each other, cut off beyond the reach, without the pad.
    hazards
        Rows of the hazards within the reach, in the order of their labels.
    """

    pad: Any
    reach_m: float
    solid: Shapes
    hazards: NDArray[np.intp]
    tree: shapely.STRtree

    def with_closed(self, gap: Any) -> Around:
        """Give the same with one gap closed: only the solids that it touches are joined anew."""
        plug = shapely.buffer(gap, WIDTH_M / 2, cap_style="square", join_style="mitre")
        plug = shapely.difference(plug, self.pad)
        touched = shapely.intersects(self.solid, plug)
        joined = shapely.union_all(np.r_[self.solid[touched], plug])
        return replace(self, solid=np.r_[self.solid[~touched], shapely.get_parts(joined)])

    def way(self) -> tuple[float, int, Any]:
        """Length of the shortest way (inf: none), the hazard it ends at (-1) and its path."""
        # Near the origin, where a micrometre is far above the rounding of a coordinate.
        origin = np.floor(shapely.get_coordinates(shapely.centroid(self.pad))[0])
        corner, edge = _corners(self.solid, origin)
        start, _ = segments(np.array([self.pad]), origin)
        goal, owner = segments(self.tree.geometries[self.hazards], origin)
        low, high = window(self.pad, self.reach_m) - origin
        seen = np.all(goal.reshape(-1, 2, 2).min(axis=1) <= high, axis=1)
        seen &= np.all(goal.reshape(-1, 2, 2).max(axis=1) >= low, axis=1)
        length_m, which, xy = shortest_way(corner, edge, start, goal[seen], self.reach_m)
        if which < 0:
            return np.inf, -1, None
        row = int(self.hazards[owner[seen][which]])
        return float(length_m), row, shapely.LineString(xy + origin)

    def is_closed_off(self) -> bool:
        """Tell whether barriers within the reach close the pad in, or off from every hazard."""
        low, high = window(self.pad, self.reach_m)
        whole = shapely.box(*low, *high)
        free = shapely.get_parts(shapely.difference(whole, shapely.union_all(self.solid)))
        own = shapely.dwithin(free, self.pad, SPECK_M)
        outer = shapely.dwithin(free, shapely.get_exterior_ring(whole), SPECK_M)
        if np.any(own & outer):
            # A way may lead out and in again, and to whatever lies beyond.
            own |= outer
            if not shapely.within(self.tree.geometries, whole).all():
                return False
        return not len(self.tree.query(free[own], predicate="dwithin", distance=SPECK_M)[0])


def around(
    pad: Any,
    hazards: shapely.STRtree,
    walls: shapely.STRtree,
    *,
    reach_m: float,
    opening_m: float,
) -> Around:
    """Draw what stands within the reach of one pad.

    Parameters
    ----------
    hazards, walls
        Trees of the hazards, in the order of their labels, and of barriers as given.
    reach_m
        Longest way that matters.
    opening_m
        Openings narrower than this are closed.
    """
    near = np.sort(hazards.query(pad, predicate="dwithin", distance=reach_m))
    beside_m = reach_m + 2 * opening_m
    pieces = walls.geometries[walls.query(pad, predicate="dwithin", distance=beside_m)]
    low, high = window(pad, beside_m)
    # A barrier may run through the whole town: it is cut off beyond the reach, where no way leads.
    solid = _solid(shapely.clip_by_rect(pieces, *low, *high), opening_m)
    return Around(pad, reach_m, shapely.difference(solid, pad), near, hazards)


def window(pad: Any, reach_m: float) -> Array:
    """Lower left and upper right corner of all that can lie on a way within the reach."""
    bounds: Array = shapely.bounds(pad).reshape(2, 2)
    return bounds + (reach_m + 1) * np.array([[-1.0], [1.0]])


def _solid(barriers: Shapes, opening_m: float) -> Shapes:
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


def _corners(solid: Shapes, origin: Array) -> tuple[Array, Array]:
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
