"""Walks against networkx, and noding against GEOS, on random streets."""

import itertools

import geopandas as gpd
import networkx as nx
import numpy as np
import pytest
import shapely
from shapely import LineString, MultiLineString, Point, box

from playsite.proximity.walking import walk_m, walk_network


def town(seed, n=6, spacing_m=60.0):
    """Streets between jittered corners of a lattice, a third of them missing: none cross."""
    rng = np.random.default_rng(seed)
    corner = np.stack(np.meshgrid(*[np.arange(n) * spacing_m] * 2), axis=-1).reshape(-1, 2)
    corner = corner + rng.uniform(-15, 15, corner.shape)
    graph = nx.grid_2d_graph(n, n)
    pairs = [(n * a + b, n * c + d) for (a, b), (c, d) in graph.edges if rng.random() > 0.33]
    return corner, pairs


def as_graph(corner, pairs):
    graph = nx.Graph()
    graph.add_nodes_from(range(len(corner)))
    for i, j in pairs:
        graph.add_edge(i, j, weight=float(np.hypot(*(corner[i] - corner[j]))))
    return graph


@pytest.mark.parametrize("seed", range(10))
def test_corner_to_nearest_of_many_against_networkx(seed):
    corner, pairs = town(seed)
    graph = as_graph(corner, pairs)
    network = walk_network(
        [LineString(corner[[i, j]]) for i, j in pairs], roads=[True] * len(pairs)
    )
    rng = np.random.default_rng(seed)
    goals = rng.choice(len(corner), 5, replace=False)
    table = walk_m(shapely.points(corner), shapely.points(corner[goals]), network, link_m=0)
    # scipy and networkx agree, and a corner without a street has no link
    expected = np.full(len(corner), np.inf)
    for goal in goals:
        for node, length_m in nx.single_source_dijkstra_path_length(graph, int(goal)).items():
            expected[node] = min(expected[node], length_m)
    expected[goals] = 0
    np.testing.assert_allclose(table.walk_m, expected, atol=1e-6)
    found = np.isfinite(expected)
    np.testing.assert_allclose(shapely.length(table.path[found]), expected[found], atol=1e-6)


class EveryWay:
    """Every link of every pair over every edge, one by one."""

    def __init__(self, network, blocked, link_m):
        self.network, self.blocked, self.link_m = network, blocked, link_m
        graph = nx.Graph()
        graph.add_nodes_from(range(network.nodes))
        for i, j, length_m in zip(network.start, network.end, network.length_m, strict=True):
            known = graph.get_edge_data(i, j, {"weight": np.inf})["weight"]
            graph.add_edge(i, j, weight=min(known, length_m))
        self.along = dict(nx.all_pairs_dijkstra_path_length(graph))

    def is_open(self, line):
        walls = any(line.intersects(b.buffer(-0.01)) for b in self.blocked)
        return line.length <= self.link_m and not walls

    def links(self, shape):
        for k, edge in enumerate(self.network.edges):
            link = shapely.shortest_line(shape, edge)
            if self.is_open(link):
                yield k, edge.project(Point(link.coords[-1])), link.length

    def ends(self, k, s):
        yield self.network.start[k], s
        yield self.network.end[k], self.network.length_m[k] - s

    def walk_m(self, origin, target):
        direct = shapely.shortest_line(origin, target)
        ways = [direct.length] if self.is_open(direct) else [np.inf]
        for (k, s, a), (m, t, b) in itertools.product(self.links(origin), self.links(target)):
            if k == m:
                ways.append(a + abs(s - t) + b)
            for (u, du), (v, dv) in itertools.product(self.ends(k, s), self.ends(m, t)):
                ways.append(a + du + self.along[u].get(v, np.inf) + dv + b)
        return min(ways)


@pytest.mark.parametrize("seed", range(4))
def test_pads_to_restrooms_against_every_way(seed):
    rng = np.random.default_rng(seed)
    corner, pairs = town(seed, n=3, spacing_m=40)
    blocked = [box(x, y, x + 12, y + 9) for x, y in rng.uniform(-10, 80, (4, 2))]
    network = walk_network([LineString(corner[[i, j]]) for i, j in pairs], blocked=blocked)
    origins = [Point(p).buffer(4, 2) for p in rng.uniform(-20, 100, (6, 2))]
    origins = [p for p in origins if not any(p.intersects(b) for b in blocked)]
    targets = [Point(p) for p in rng.uniform(-20, 100, (3, 2))]
    targets = [p for p in targets if not any(p.intersects(b) for b in blocked)]
    every = EveryWay(network, blocked, 35)
    expected = [min(every.walk_m(origin, target) for target in targets) for origin in origins]
    table = walk_m(origins, targets, network, link_m=35)
    np.testing.assert_allclose(table.walk_m, expected, atol=1e-6)
    drawn = table[np.isfinite(table.walk_m)]
    np.testing.assert_allclose(shapely.length(drawn.path), drawn.walk_m, atol=1e-6)
    for row in drawn.itertuples():
        assert row.path.distance(origins[row.Index]) < 1e-9
        assert Point(row.path.coords[-1]).distance(targets[row.target]) < 1e-9
        assert not any(
            row.path.difference(shapely.union_all(network.edges).buffer(0.1)).crosses(b)
            for b in blocked
        )


@pytest.mark.parametrize("seed", range(10))
def test_noding_against_geos(seed):
    rng = np.random.default_rng(seed)
    a = rng.uniform(0, 100, (25, 2))
    lines = [LineString([p, p + rng.normal(0, 40, 2)]) for p in a]
    graph = nx.Graph()
    for piece in shapely.get_parts(shapely.union_all(lines)):
        ends = [tuple(np.round(c, 6)) for c in (piece.coords[0], piece.coords[-1])]
        graph.add_edge(*ends, weight=piece.length)
    starts = [tuple(np.round(line.coords[0], 6)) for line in lines]
    lengths = nx.single_source_dijkstra_path_length(graph, starts[0])
    expected = [lengths.get(s, np.inf) for s in starts]
    network = walk_network(lines, roads=[True] * len(lines), snap_m=0)
    table = walk_m([Point(line.coords[0]) for line in lines], [Point(a[0])], network, link_m=0)
    np.testing.assert_allclose(table.walk_m, expected, atol=1e-3)
    assert network.length_m.sum() == pytest.approx(sum(line.length for line in lines))


def test_shapes_of_lines():
    lines = gpd.GeoSeries(
        [
            MultiLineString([[(0, 0), (50, 0)], [(50, 0), (50, 40)]]),
            box(50, 40, 90, 60),
            LineString([(90, 60), (200, 60)]),
            LineString([(200, 60), (200, 60)]),
        ],
        crs=32614,
    )
    network = walk_network(lines)
    assert network.crs == lines.crs
    row = walk_m([Point(0, 0)], [Point(200, 60)], network, link_m=0).iloc[0]
    assert row.walk_m == pytest.approx(50 + 40 + 60 + 110)


def test_overlapping_lines_are_walked_as_one():
    lines = [LineString([(0, 0), (60, 0)]), LineString([(40, 0), (100, 0)])]
    row = walk_m([Point(0, 0)], [Point(100, 0)], walk_network(lines), link_m=0).iloc[0]
    assert row.walk_m == pytest.approx(100)


def test_paths_may_be_left_out():
    network = walk_network([LineString([(0, 0), (60, 0)])])
    table = walk_m([Point(0, 0)], [Point(60, 0)], network, link_m=0, paths=False)
    assert table.walk_m.tolist() == [60]
    assert table.path.isna().all()


def test_more_origins_than_a_batch(monkeypatch):
    from playsite.proximity import _walk_search

    network = walk_network([LineString([(0, 0), (60, 0)])])
    origins = [Point(x, 5) for x in range(0, 60, 7)]
    whole = walk_m(origins, [Point(60, 0)], network, link_m=10)
    monkeypatch.setattr(_walk_search, "BATCH", 2)
    batched = walk_m(origins, [Point(60, 0)], network, link_m=10)
    assert whole.equals(batched)
