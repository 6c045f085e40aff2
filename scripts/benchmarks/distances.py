"""Clearance, dash and walk against named libraries."""

import time

import networkx as nx
import numpy as np
import shapely
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra

from benchmarks.timing import timed, told
from playsite.proximity.network import WalkNetwork, walk_network
from playsite.proximity.walking import walk_m


def clearance() -> None:
    """Clearances against shapely's tree alone, which gives no ties and no lines."""
    from playsite.proximity.clearance import clearance_m

    rng = np.random.default_rng(1)
    ends = rng.uniform(0, 20_000, (100_000, 2))
    streets = shapely.linestrings(np.stack([ends, ends + rng.normal(0, 60, ends.shape)], axis=1))
    for count in (1_000, 10_000, 100_000):
        corner = rng.uniform(0, 20_000, (count, 2))
        pads = shapely.box(corner[:, 0], corner[:, 1], corner[:, 0] + 30, corner[:, 1] + 20)
        work = {
            "ours": lambda p=pads: clearance_m(p, streets),
            "shapely STRtree.query_nearest": lambda p=pads: shapely.STRtree(streets).query_nearest(
                p, return_distance=True
            ),
        }
        seconds = timed(work, 3, time.process_time)
        told(f"Clearance, {count} pads, 100,000 streets, processor", seconds, ours="ours")


def obstacles(count: int) -> np.ndarray:
    """Houses and fences at random, one each 484 square metres."""
    rng = np.random.default_rng(5)
    side = 22 * np.sqrt(count)
    corner, turn = rng.uniform(0, side, (count, 2)), rng.uniform(0, np.pi, count)
    half = rng.uniform(3, 7, (count, 2))
    houses = shapely.box(*(corner - half).T, *(corner + half).T)[::2]
    houses = [
        shapely.affinity.rotate(house, angle, use_radians=True)
        for house, angle in zip(houses, turn[::2], strict=True)
    ]
    along = (
        2 * half[1::2].sum(axis=1)[:, None] * np.column_stack([np.cos(turn), np.sin(turn)])[1::2]
    )
    fences = shapely.linestrings(np.stack([corner[1::2], corner[1::2] + along], axis=1))
    return np.r_[houses, fences]


def dash() -> None:
    """Dash distances of 1,000 pads in towns of any size, and one gap closed again."""
    from playsite.proximity.dash import dash_m
    from playsite.proximity.dash_gaps import dash_again_m, gaps

    for count in (5_000, 50_000):
        rng = np.random.default_rng(6)
        side = 22 * np.sqrt(count)
        corner = rng.uniform(60, side - 60, (1000, 2))
        some = shapely.box(*corner.T, *(corner + np.array([31.6, 22.7])).T)
        ponds = shapely.buffer(shapely.points(rng.uniform(0, side, (int(side**2 / 4e4), 2))), 8)
        walls = obstacles(count)
        seconds = timed({"ours": lambda p=some, h=ponds, w=walls: dash_m(p, h, w)}, 1)["ours"]
        print(f"Dash, 1,000 pads, {count} obstacles: {seconds:.1f} s")
    holes, paths = gaps(walls), dash_m(some, ponds, walls)["path"]
    again = dash_again_m(some, ponds, walls, holes, paths)
    work = {"ours": lambda: dash_again_m(some, ponds, walls, holes, paths)}
    each_ms = 1000 * timed(work, 1)["ours"] / max(len(again), 1)
    print(
        f"{len(again)} gaps on their ways, each closed again, what stands round it drawn: {each_ms:.1f} ms"
    )


def graph_of(network: WalkNetwork) -> csr_array:
    """Graph of a network's edges, both ways, as scipy wants it."""
    ends = (np.r_[network.start, network.end], np.r_[network.end, network.start])
    return csr_array((np.tile(network.length_m, 2), ends), shape=(network.nodes, network.nodes))


def walk() -> None:
    """Walks of 1,000 pads to the nearest of 50 targets, against the bare search on the same graph.

    Ours links pads and targets to the streets over open ground, and tells the way; the others
    are given a graph and nodes.
    """
    rng = np.random.default_rng(8)
    for blocks in (30, 100):
        length_m = 80.0 * blocks
        at = 80.0 * np.arange(blocks + 1) + rng.uniform(-20, 20, blocks + 1)
        across = [[(at[0], y), (at[-1], y)] for y in at]
        network = walk_network(shapely.linestrings(across + [[p[::-1] for p in c] for c in across]))
        graph = graph_of(network)
        edges = zip(network.start, network.end, network.length_m, strict=True)
        by_networkx = nx.Graph()
        by_networkx.add_weighted_edges_from(edges)
        corner = rng.uniform(0, length_m - 30, (1000, 2))
        some = shapely.box(*corner.T, *(corner + np.array([30, 20])).T)
        goals = shapely.points(rng.uniform(0, length_m, (50, 2)))
        nodes = rng.choice(network.nodes, 50, replace=False)
        work = {
            "ours, links and all": lambda p=some, g=goals, n=network: walk_m(
                p, g, n, link_m=60, paths=False
            ),
            "scipy dijkstra, graph built anew": lambda n=network, k=nodes: dijkstra(
                graph_of(n), indices=k, min_only=True
            ),
            "scipy dijkstra alone": lambda g=graph, k=nodes: dijkstra(g, indices=k, min_only=True),
            "networkx dijkstra alone": lambda g=by_networkx, k=nodes: (
                nx.multi_source_dijkstra_path_length(g, set(k))
            ),
        }
        told(
            f"Walks of 1,000 pads to 50 targets, {network.nodes} nodes, processor",
            timed(work, 3, time.process_time),
            ours="ours, links and all",
        )


def reach() -> None:
    """Nodes within 800 m of 1,000 places, in street grids of corners alone.

    Ours gives back what it found in one table.
    """
    from playsite.proximity.reached import Doors, reach_graph
    from playsite.proximity.reached import reach as reached

    rng = np.random.default_rng(9)
    for side in (100, 316):
        lines = 80.0 * np.arange(side) + rng.uniform(-20, 20, side)
        x, y = np.meshgrid(lines, lines)
        corner = np.arange(side**2).reshape(side, side)
        ends = np.r_[
            np.column_stack([corner[:, :-1].ravel(), corner[:, 1:].ravel()]),
            np.column_stack([corner[:-1].ravel(), corner[1:].ravel()]),
        ]
        xy = np.column_stack([x.ravel(), y.ravel()])
        edges = shapely.linestrings(xy[ends])
        streets = len(edges)
        network = WalkNetwork(
            edges=edges,
            start=ends[:, 0],
            end=ends[:, 1],
            length_m=shapely.length(edges),
            road=np.zeros(streets, dtype=bool),
            nodes=side**2,
            blocked=np.empty(0, dtype=object),
            crs=None,
            line=np.arange(streets),
            side=np.zeros(streets, dtype=np.int8),
            joins_busy=np.zeros((streets, 2), dtype=bool),
        )
        edge = rng.integers(0, streets, 1000)
        links = Doors(1000, np.arange(1000), edge, np.zeros(1000), np.zeros(1000))
        by_networkx, graph = nx.Graph(), graph_of(network)
        by_networkx.add_weighted_edges_from(zip(*ends.T, network.length_m, strict=True))
        ready = reach_graph(network)
        work = {
            "ours": lambda g=ready, k=links: reached(k, g, 800),
            "ours, graph made anew": lambda n=network, k=links: reached(k, reach_graph(n), 800),
            "scipy dijkstra, dense": lambda g=graph, k=ends[edge, 0]: dijkstra(
                g, indices=k, limit=800
            ),
            "networkx dijkstra, one by one": lambda g=by_networkx, k=ends[edge, 0]: [
                nx.single_source_dijkstra_path_length(g, each, cutoff=800) for each in k
            ],
        }
        told(
            f"Reach of 1,000 places within 800 m, {network.nodes} corners, processor",
            timed(work, 2, time.process_time),
            ours="ours",
        )
