"""Which homes lie within a walk of each place, and how far each is."""

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
    from numpy.typing import NDArray

    from playsite.proximity.network import WalkNetwork
    from playsite.proximity.shapes import ShapesLike

__all__ = ["Doors", "doors_of", "homes_reached"]

_MOST_CELLS = 20_000_000  # places times nodes searched at once: bounds the memory


@dataclass(frozen=True, eq=False)
class Doors:
    """Links from homes to the streets and paths of a network: which home, which edge, how far."""

    count: int
    home: NDArray[np.intp]
    edge: NDArray[np.intp]
    along_m: NDArray[np.float64]
    far_m: NDArray[np.float64]


def doors_of(homes: ShapesLike, network: WalkNetwork, *, link_m: float = 60.0) -> Doors:
    """Open straight links of homes to streets and paths.

    Parameters
    ----------
    homes
        Buildings, or points, projected metres.
    network
        Streets and paths.
    link_m
        Longest link: a front yard and a drive; common practice, no source.
    """
    shapes = read_shapes(homes, crs=network.crs)
    ground = _ground(network)
    starts, _ = ground.stand_ins(shapes.geometry)
    return Doors(len(starts), *open_links(starts, network, ground, link_m))


def homes_reached(
    places: ShapesLike,
    doors: Doors,
    network: WalkNetwork,
    *,
    within_m: float,
    link_m: float = 150.0,
) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.float64]]:
    """Homes within a walk of each place, along streets and paths.

    Parameters
    ----------
    places
        Pads or playgrounds, projected metres.
    doors
        Of the homes, on the same network.
    network
        Streets and paths.
    within_m
        Longest walk, edge of the place to the wall of the home.
    link_m
        Longest link from the place to a street or path.

    Returns
    -------
    place, home, walk_m
        One row for each home within reach of a place, by its shortest walk.

    Examples
    --------
    >>> from shapely import LineString, Point
    >>> from playsite.proximity.walking import walk_network
    >>> street = walk_network([LineString([(0, 0), (900, 0)])])
    >>> doors = doors_of([Point(100, 10), Point(800, 10)], street)
    >>> place, home, walk_m = homes_reached([Point(300, 0)], doors, street, within_m=400)
    >>> home.tolist(), walk_m.round().tolist()
    ([0], [201.0])
    """
    shapes = read_shapes(places, crs=network.crs)
    ground = _ground(network)
    starts, _ = ground.stand_ins(shapes.geometry)
    row, edge, along_m, far_m = open_links(starts, network, ground, min(link_m, within_m))
    batch = max(1, _MOST_CELLS // max(network.nodes, 1))
    found: list[tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.float64]]] = []
    for first in range(0, len(starts), batch):
        rows = min(batch, len(starts) - first)
        own = (row >= first) & (row < first + rows)
        links = Doors(rows, row[own] - first, edge[own], along_m[own], far_m[own])
        to_m = _to_nodes_m(links, network, within_m)
        for k in range(rows):
            home, walk_m = _walks(to_m[k], doors, network, within_m)
            found.append((np.full(len(home), first + k), home, walk_m))
    if not found:
        return np.empty(0, np.intp), np.empty(0, np.intp), np.empty(0)
    place, home, walk_m = (np.concatenate(column) for column in zip(*found, strict=True))
    return place, home, walk_m


def _ground(network: WalkNetwork) -> Ground:
    roads = network.edges[network.road & (network.side >= 0)]
    return Ground(shapely.STRtree(network.blocked), shapely.STRtree(np.r_[roads, network.walls]))


def _to_nodes_m(links: Doors, network: WalkNetwork, within_m: float) -> NDArray[np.float64]:
    """Walk from each place to each node; inf beyond reach."""
    n = network.nodes
    i = np.r_[network.start, network.joints[:, 0]]
    j = np.r_[network.end, network.joints[:, 1]]
    step_m = np.r_[network.length_m, network.joint_m]
    left, right = network.start[links.edge], network.end[links.edge]
    rest_m = network.length_m[links.edge] - links.along_m
    graph = graph_of(
        np.r_[i, j, n + links.home, n + links.home],
        np.r_[j, i, left, right],
        np.r_[step_m, step_m, links.far_m + links.along_m, links.far_m + rest_m],
        n + links.count,
    )
    to_m: NDArray[np.float64] = dijkstra(graph, indices=n + np.arange(links.count), limit=within_m)
    return to_m[:, :n]


def _walks(
    to_m: NDArray[np.float64], doors: Doors, network: WalkNetwork, within_m: float
) -> tuple[NDArray[np.intp], NDArray[np.float64]]:
    """Homes within reach, and the shortest walk to each over all of its links."""
    start_m, end_m = to_m[network.start], to_m[network.end]
    near = np.flatnonzero((np.isfinite(start_m) | np.isfinite(end_m))[doors.edge])
    edge, along_m = doors.edge[near], doors.along_m[near]
    rest_m = network.length_m[edge] - along_m
    walk_m = doors.far_m[near] + np.minimum(start_m[edge] + along_m, end_m[edge] + rest_m)
    near, walk_m = near[walk_m <= within_m], walk_m[walk_m <= within_m]
    order = np.lexsort((walk_m, doors.home[near]))
    home, first = np.unique(doors.home[near][order], return_index=True)
    return home, walk_m[order][first]
