"""A network to walk along with its stretches joined from crossing to crossing: small enough to carry."""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import shapely

if TYPE_CHECKING:
    from playsite.proximity.network import WalkNetwork

__all__ = ["thinned"]

TOLERANCE_M = 1.0
"""How far the drawn line may lie off the true one; lengths are those of the true one."""


def thinned(network: WalkNetwork) -> gpd.GeoDataFrame:
    """Join stretches of 10 m to ways from node to node; no walk gets longer or shorter.

    Parameters
    ----------
    network
        As `playsite.proximity.network.walk_network` or `by_rules` gives it.

    Returns
    -------
    GeoDataFrame
        ``start, end`` (numbers of nodes), ``length_m``, ``side`` (1 the left side of a busy street
        along the line, -1 the right side, 0 both) and ``geometry``: a line, or a point where a
        busy street is crossed from one side to the other.

    Examples
    --------
    >>> from playsite.proximity.network import walk_network
    >>> ways = thinned(walk_network([shapely.LineString([(0, 0), (100, 0), (100, 50)])]))
    >>> len(ways), float(ways["length_m"].iloc[0])
    (1, 150.0)
    """
    ways = _Ways(network)
    rows = [ways.follow(edge, node) for edge, node in ways.beginnings() if not ways.seen[edge]]
    for (one, other), across_m in zip(network.joints, network.joint_m, strict=True):
        if np.isfinite(across_m):
            at = shapely.Point(ways.place[int(one)])
            rows.append((int(one), int(other), float(across_m), 0, at))
    columns = ["start", "end", "length_m", "side", "geometry"]
    return gpd.GeoDataFrame(
        [dict(zip(columns, row, strict=True)) for row in rows], columns=columns, crs=network.crs
    )


class _Ways:
    """Which edges meet at each node, and which have been gone along."""

    def __init__(self, network: WalkNetwork) -> None:
        self.start, self.end = network.start.tolist(), network.end.tolist()
        self.side, self.length_m = network.side.tolist(), network.length_m
        self.points = [shapely.get_coordinates(edge) for edge in network.edges]
        self.seen = [False] * len(self.points)
        self.meets: dict[int, list[int]] = {}
        self.place: dict[int, np.ndarray] = {}
        for edge, (first, last) in enumerate(zip(self.start, self.end, strict=True)):
            for node, at in ((first, 0), (last, -1)):
                self.meets.setdefault(node, []).append(edge)
                self.place[node] = self.points[edge][at]
        joints = set(network.joints.ravel().tolist())
        self.stops = {n for n, edges in self.meets.items() if len(edges) != 2 or n in joints}

    def beginnings(self) -> list[tuple[int, int]]:
        """Every edge from an end where ways meet; then any edge, for rings and where sides change."""
        both = [(e, n) for e in range(len(self.seen)) for n in (self.start[e], self.end[e])]
        return [pair for pair in both if pair[1] in self.stops] + both

    def follow(self, edge: int, node: int) -> tuple[int, int, float, int, shapely.LineString]:
        """Go along from a node until ways meet, a side changes or the ring is closed."""
        begun, side, parts, length_m = node, self._side(edge, node), [], 0.0
        while True:
            forward = self.start[edge] == node
            parts.append(self.points[edge] if forward else self.points[edge][::-1])
            length_m += float(self.length_m[edge])
            self.seen[edge] = True
            node = self.end[edge] if forward else self.start[edge]
            further = [each for each in self.meets[node] if not self.seen[each]]
            if node in self.stops or not further or self._side(further[0], node) != side:
                break
            edge = further[0]
        line = shapely.LineString(np.vstack(parts))
        thin = line if begun == node else line.simplify(TOLERANCE_M)
        return begun, node, length_m, side, thin

    def _side(self, edge: int, node: int) -> int:
        return int(self.side[edge]) * (1 if self.start[edge] == node else -1)
