"""Reach of many places at once against networkx."""

import networkx as nx
import numpy as np
import pytest
from shapely import LineString, Point

from playsite.proximity.network import walk_network
from playsite.proximity.reached import Doors, doors_of, homes_reached, reach, reach_graph


def town(seed, count=12):
    rng = np.random.default_rng(seed)
    at = np.cumsum(rng.uniform(30, 120, count))
    lines = [LineString([(at[0], y), (at[-1], y)]) for y in at]
    lines += [LineString([(x, at[0]), (x, at[-1])]) for x in at[:: 1 + seed % 2]]
    return rng, at, walk_network(lines)


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("within_m", [0.0, 250.0, 800.0])
def test_nodes_within_a_walk_are_those_of_networkx(seed, within_m):
    rng, _, network = town(seed)
    edge = rng.integers(0, len(network.edges), 30)
    along_m = rng.uniform(0, network.length_m[edge])
    place = np.sort(rng.integers(0, 10, 30))  # some have several links, some none
    links = Doors(10, place, edge, along_m, rng.uniform(0, 60, 30))
    graph = nx.Graph()
    ends = zip(network.start, network.end, network.length_m, strict=True)
    graph.add_weighted_edges_from(sorted(ends, key=lambda end: -end[2]))  # the shortest counts
    expected = {}
    for k in range(30):
        name = ("place", int(place[k]))
        for node, on_m in (
            (network.start[edge[k]], along_m[k]),
            (network.end[edge[k]], network.length_m[edge[k]] - along_m[k]),
        ):
            graph.add_edge(("link", k), int(node), weight=links.far_m[k] + on_m)
        tree = nx.single_source_dijkstra_path_length(graph, ("link", k), cutoff=within_m)
        graph.remove_node(("link", k))
        for node, far_m in tree.items():
            if not isinstance(node, tuple):
                key = (name[1], node)
                expected[key] = min(expected.get(key, np.inf), far_m)
    found = reach(links, reach_graph(network), within_m)
    got = {(int(p), int(n)): m for p, n, m in zip(*found, strict=True)}
    assert got.keys() == expected.keys()
    for key, far_m in expected.items():
        assert got[key] == pytest.approx(far_m, abs=1e-9)


def test_nobody_walks_through_a_home():
    streets = [LineString([(0, 0), (0, 300)]), LineString([(40, 0), (40, 300)])]
    network = walk_network(streets)
    doors = doors_of([Point(20, 150), Point(60, 150)], network, link_m=25)
    place, home, walk_m = homes_reached([Point(-5, 150)], doors, network, within_m=400, link_m=10)
    assert (place.tolist(), home.tolist()) == ([0], [0])  # the other street is a walk of its own
    assert walk_m[0] == pytest.approx(25, abs=1e-6)


def test_without_streets_nobody_reaches_anything():
    network = walk_network([])
    nothing = Doors(2, *(np.empty(0, np.intp),) * 2, *(np.empty(0),) * 2)
    assert [len(column) for column in reach(nothing, reach_graph(network), 800)] == [0, 0, 0]
