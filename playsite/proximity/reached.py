"""Which homes lie within a walk of each place, and how far each is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.sparse.csgraph import reverse_cuthill_mckee

from playsite.proximity._reach_search import nodes_within
from playsite.proximity._walk_search import graph_of
from playsite.proximity.links import Ground, open_links
from playsite.proximity.shapes import read_shapes

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from playsite.proximity.network import WalkNetwork
    from playsite.proximity.shapes import ShapesLike

__all__ = ["Doors", "doors_of", "homes_reached", "reach", "reach_graph"]


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
    graph: ReachGraph | None = None,
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
    graph
        Of `reach_graph`, from the network and the doors, where it is made already.

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
    links = Doors(len(starts), row, edge, along_m, far_m)
    place, node, walk_m = reach(links, graph or reach_graph(network, doors), within_m)
    at_home = node >= network.nodes
    place, home, walk_m = place[at_home], node[at_home] - network.nodes, walk_m[at_home]
    order = np.lexsort((home, place))
    return place[order], home[order], walk_m[order]


def _ground(network: WalkNetwork) -> Ground:
    roads = network.edges[network.road & (network.side >= 0)]
    return Ground(shapely.STRtree(network.blocked), shapely.STRtree(np.r_[roads, network.walls]))


@dataclass(frozen=True, eq=False)
class ReachGraph:
    """Streets and paths made ready for many searches: neighbours have near numbers.

    Parameters
    ----------
    network
        Streets and paths.
    first, to, step_m
        Edges by node, in the graph's own numbers.
    order
        Node of the network, or home behind them, of each of these numbers.
    number
        The other way round.
    """

    network: WalkNetwork
    first: NDArray[np.intp]
    to: NDArray[np.intp]
    step_m: NDArray[np.float64]
    order: NDArray[np.intp]
    number: NDArray[np.intp]


def reach_graph(network: WalkNetwork, doors: Doors | None = None) -> ReachGraph:
    """Make a network ready for `reach`.

    Parameters
    ----------
    network
        Streets and paths.
    doors
        Of homes: they count as further nodes, behind those of the network, where walks end.
    """
    i = np.r_[network.start, network.joints[:, 0]]
    j = np.r_[network.end, network.joints[:, 1]]
    step_m = np.r_[network.length_m, network.joint_m]
    i, j, step_m, nodes = np.r_[i, j], np.r_[j, i], np.r_[step_m, step_m], network.nodes
    if doors is not None:  # one way: nobody walks through a home
        node, far_m = _both_ends(doors, network)
        home = nodes + np.r_[doors.home, doors.home]
        i, j, step_m = np.r_[i, node], np.r_[j, home], np.r_[step_m, far_m]
        nodes += doors.count
    if not nodes:
        nothing = np.empty(0, np.intp)
        return ReachGraph(network, np.zeros(1, np.intp), nothing, np.empty(0), nothing, nothing)
    graph = graph_of(i, j, step_m, nodes)
    order = reverse_cuthill_mckee(graph).astype(np.intp)
    graph = graph[order][:, order]
    first, to = (part.astype(np.intp) for part in (graph.indptr, graph.indices))
    return ReachGraph(network, first, to, graph.data, order, np.argsort(order))


def reach(
    links: Doors, graph: ReachGraph, within_m: float
) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.float64]]:
    """Nodes of a network, and homes, within a walk of each of many places.

    Parameters
    ----------
    links
        Of the places: which place, which edge, how far along it, how far off it.
    graph
        Streets and paths, with the homes or without.
    within_m
        Longest walk.

    Returns
    -------
    place, node, walk_m
        One row for each node within reach of a place, by place.
    """
    node, far_m = _both_ends(links, graph.network)
    start, place = graph.number[node], np.r_[links.home, links.home]
    lowest = np.full(links.count, len(graph.order))
    np.minimum.at(lowest, place, start)
    turn = np.argsort(lowest, kind="stable")  # places in the order of their nodes' numbers
    its_turn = np.argsort(turn)
    rows = np.argsort(its_turn[place], kind="stable")
    counts = np.bincount(place, minlength=links.count)[turn]
    begin = np.r_[0, np.cumsum(counts)].astype(np.intp)
    ready = (graph.first, graph.to, graph.step_m)
    found_first, found, walk_m = nodes_within(*ready, begin, start[rows], far_m[rows], within_m)
    counts = np.diff(found_first)[its_turn]
    owner = np.repeat(np.arange(links.count), counts)
    by_place = np.arange(len(owner)) + (found_first[its_turn] - np.cumsum(counts) + counts)[owner]
    return owner, graph.order[found[by_place]], walk_m[by_place]


def _both_ends(links: Doors, network: WalkNetwork) -> tuple[NDArray[np.intp], NDArray[np.float64]]:
    """Nodes at both ends of the edges that links come to, and how far they are by each link."""
    rest_m = network.length_m[links.edge] - links.along_m
    node = np.r_[network.start[links.edge], network.end[links.edge]]
    return node, np.r_[links.far_m + links.along_m, links.far_m + rest_m]
