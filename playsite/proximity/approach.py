"""The last stretch of every walk that leads to a pad: which streets and paths, which crossings."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.sparse.csgraph import dijkstra

from playsite.proximity._walk_search import graph_of
from playsite.proximity.links import Ground, open_links
from playsite.proximity.shapes import read_shapes

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from playsite.proximity.network import WalkNetwork
    from playsite.proximity.shapes import ShapesLike

__all__ = ["Approach", "approaches"]

_MOST_CELLS = 20_000_000  # pads times nodes searched at once: bounds the memory


@dataclass(frozen=True, eq=False)
class Approach:
    """The walks that lead to one pad.

    Attributes
    ----------
    edge
        Edges of the network within reach.
    length_m
        How much of each is within reach. Each side of a busy street counts half.
    crossings, marked
        Places where busy streets are crossed by the shortest walks, and how many have a crossing.
    """

    edge: NDArray[np.intp]
    length_m: NDArray[np.float64]
    crossings: int
    marked: int


def approaches(
    origins: ShapesLike,
    network: WalkNetwork,
    *,
    within_m: float = 400.0,
    link_m: float = 150.0,
) -> list[Approach]:
    """Streets and paths within a walk of each pad.

    Parameters
    ----------
    origins
        Pads, projected metres.
    network
        Streets and paths.
    within_m
        Length of the last stretch, from the pad's edge.
    link_m
        Longest straight link from the pad to a street or path; it crosses nothing blocked.

    Returns
    -------
    list of Approach
        One for each pad, in order; without an edge where none can be reached.

    Examples
    --------
    >>> from shapely import LineString, Point
    >>> from playsite.proximity.walking import walk_network
    >>> street = walk_network([LineString([(0, 0), (900, 0)])])
    >>> (one,) = approaches([Point(300, 0)], street, within_m=100)
    >>> float(one.length_m.sum())
    200.0
    """
    pads = read_shapes(origins, crs=network.crs)
    ground = Ground(
        shapely.STRtree(network.blocked),
        shapely.STRtree(np.r_[network.edges[network.road & (network.side >= 0)], network.walls]),
    )
    starts, _ = ground.stand_ins(pads.geometry)
    row, edge, along_m, far_m = open_links(starts, network, ground, min(link_m, within_m))
    batch = max(1, _MOST_CELLS // max(network.nodes, 1))
    out: list[Approach] = []
    for first in range(0, len(pads), batch):
        own = (row >= first) & (row < first + batch)
        rows = min(batch, len(pads) - first)
        links = (row[own] - first, edge[own], along_m[own], far_m[own])
        out += _reached(rows, links, network, within_m)
    return out


def _reached(
    rows: int,
    links: tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.float64], NDArray[np.float64]],
    network: WalkNetwork,
    within_m: float,
) -> Iterator[Approach]:
    row, edge, along_m, far_m = links
    n = network.nodes
    i = np.r_[network.start, network.joints[:, 0]]
    j = np.r_[network.end, network.joints[:, 1]]
    weight_m = np.r_[network.length_m, network.joint_m]
    left, right = network.start[edge], network.end[edge]
    rest_m = network.length_m[edge] - along_m
    graph = graph_of(
        np.r_[i, j, n + row, n + row],
        np.r_[j, i, left, right],
        np.r_[weight_m, weight_m, far_m + along_m, far_m + rest_m],
        n + rows,
    )
    to_m, before = dijkstra(
        graph, indices=n + np.arange(rows), limit=within_m, return_predecessors=True
    )
    half = np.where(network.side == 0, 1.0, 0.5)
    a, b = network.joints[:, 0], network.joints[:, 1]
    for k in range(rows):
        rest_m = np.maximum(within_m - to_m[k], 0.0)
        covered_m = np.minimum(network.length_m, rest_m[network.start] + rest_m[network.end])
        used = np.flatnonzero(covered_m > 0)
        over = (before[k][b] == a) | (before[k][a] == b)
        yield Approach(
            used,
            covered_m[used] * half[used],
            int(over.sum()),
            int((over & network.joint_marked).sum()),
        )
