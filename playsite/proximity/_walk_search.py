"""The search behind walks: links to streets and paths, and one search from all targets at once."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra

from playsite.proximity.links import Ground, Land, first_open, on_its_side

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from playsite.proximity.network import WalkNetwork

__all__ = ["BATCH", "Reach", "Scene", "Walks", "graph_of", "search", "shortest"]

BATCH = 2_000
"""Origins worked on at once: bounds the memory for their links."""
TIE_M = 1e-6
"""Targets whose walks differ by less are equally near."""


@dataclass(frozen=True)
class Scene:
    """What every walk of one call shares; geometry is what links start from."""

    network: WalkNetwork
    tree: shapely.STRtree
    ground: Ground
    link_m: float
    goals: NDArray[np.object_]
    rank: NDArray[np.intp]
    reach_m: float
    goal_m: NDArray[np.float64]


@dataclass(frozen=True)
class Reach:
    """The walk from every node to its nearest target.

    Nodes: those of the network, then one for each place where a target is linked to an edge, then
    the targets. Marks are the nodes in their order along each edge.
    """

    mark_edge: NDArray[np.intp]
    mark_along_m: NDArray[np.float64]
    mark_node: NDArray[np.intp]
    to_goal_m: NDArray[np.float64]
    goal: NDArray[np.intp]
    before: NDArray[np.intp]
    link_edge: NDArray[np.intp]
    link_goal: NDArray[np.intp]


@dataclass(frozen=True)
class Walks:
    """For each origin: the walk, its target (-1: none), and where it joins the network (-1: not)."""

    walk_m: NDArray[np.float64]
    goal: NDArray[np.intp]
    edge: NDArray[np.intp]
    along_m: NDArray[np.float64]
    mark: NDArray[np.intp]
    linked: NDArray[np.bool_]


def search(scene: Scene) -> Reach:
    """Link the targets to the network and search from all of them at once."""
    edges = scene.network.edges
    links = [_goal_links(rows, scene) for rows in _batches(len(scene.goals))]
    goal, edge, along_m, link_m = (np.concatenate(column) for column in zip(*links, strict=True))
    nodes, n, t = scene.network.nodes, len(goal), len(scene.goals)
    every = np.arange(len(edges))
    mark_edge = np.r_[every, every, edge]
    mark_along_m = np.r_[np.zeros(len(edges)), scene.network.length_m, along_m]
    mark_node = np.r_[scene.network.start, scene.network.end, nodes + np.arange(n)]
    order = np.lexsort((mark_along_m, mark_edge))
    mark_edge, mark_along_m, mark_node = mark_edge[order], mark_along_m[order], mark_node[order]

    k = np.flatnonzero(mark_edge[1:] == mark_edge[:-1])
    joints = scene.network.joints
    i, j = np.r_[mark_node[k], joints[:, 0]], np.r_[mark_node[k + 1], joints[:, 1]]
    step_m = np.r_[mark_along_m[k + 1] - mark_along_m[k], scene.network.joint_m]
    extra_m = TIE_M * scene.rank / max(t, 1)
    graph = graph_of(
        np.r_[i, j, nodes + n + goal],
        np.r_[j, i, nodes + np.arange(n)],
        np.r_[step_m, step_m, link_m + extra_m[goal]],
        nodes + n + t,
    )
    to_goal_m, before, source = np.full(nodes + n + t, np.inf), np.full(nodes + n + t, -1), goal
    if n:
        to_goal_m, before, source = dijkstra(
            graph,
            indices=nodes + n + np.unique(goal),
            min_only=True,
            return_predecessors=True,
            limit=scene.reach_m,
        )
    reached = np.isfinite(to_goal_m)
    nearest_goal = np.full(nodes + n + t, -1, dtype=np.intp)
    nearest_goal[reached] = source[reached] - nodes - n if n else goal
    to_goal_m[reached] -= extra_m[nearest_goal[reached]]
    return Reach(
        mark_edge,
        mark_along_m,
        mark_node,
        to_goal_m,
        nearest_goal,
        np.asarray(before, dtype=np.intp),
        link_edge=edge,
        link_goal=goal,
    )


def graph_of(
    i: NDArray[np.intp],
    j: NDArray[np.intp],
    weight_m: NDArray[np.float64],
    nodes: int,
) -> csr_array:
    """Build a sparse matrix of the shortest of parallel edges: scipy would add them up.

    Zeros (a link of no length) are stored: scipy keeps stored zeros as edges, and drops them as soon
    as the matrix is added to another or made dense.
    """
    order = np.lexsort((weight_m, j, i))
    i, j, weight_m = i[order], j[order], weight_m[order]
    first = np.r_[True, (i[1:] != i[:-1]) | (j[1:] != j[:-1])][: len(i)]
    return csr_array((weight_m[first], (i[first], j[first])), shape=(nodes, nodes))


def _batches(rows: int) -> list[NDArray[np.intp]]:
    return np.array_split(np.arange(rows), max(1, -(-rows // BATCH)))


def _goal_links(
    rows: NDArray[np.intp],
    scene: Scene,
) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.float64], NDArray[np.float64]]:
    """All open links of some targets: target, edge, how far along it, length."""
    goal, edge, along_m, links = _nearby(scene.goals[rows], scene, scene.goal_m[rows])
    is_open = scene.ground.is_open(links)
    return rows[goal[is_open]], edge[is_open], along_m[is_open], shapely.length(links[is_open])


def _nearby(
    shapes: NDArray[np.object_],
    scene: Scene,
    link_m: float | NDArray[np.float64],
) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.float64], NDArray[np.object_]]:
    """Edges within a link of each shape, the place nearest to it, and the straight line there."""
    i, edge = scene.tree.query(shapes, predicate="dwithin", distance=link_m)
    links = np.asarray(shapely.shortest_line(shapes[i], scene.network.edges[edge]), dtype=object)
    along_m = shapely.line_locate_point(scene.network.edges[edge], shapely.get_point(links, -1))
    own = on_its_side(links, scene.network, edge, np.asarray(along_m))
    return i[own], edge[own], np.asarray(along_m[own], dtype=np.float64), links[own]


def shortest(
    starts: NDArray[np.object_], scene: Scene, reach: Reach, land: Land | None = None
) -> Walks:
    """Shortest walk of each origin: along the network, or straight where that is open and shorter."""
    parts = [
        _along_network(starts[rows], scene, reach, None if land is None else land.of(rows))
        for rows in _batches(len(starts))
    ]
    walk_m, goal, edge, along_m, mark, linked = (
        np.concatenate(c) for c in zip(*parts, strict=True)
    )
    if not len(scene.network.edges):
        walk_m[:] = np.nan
    i, near = shapely.STRtree(scene.goals).query(starts, predicate="dwithin", distance=scene.link_m)
    direct_m = shapely.distance(starts[i], scene.goals[near])
    order = np.lexsort((scene.rank[near], direct_m, i))
    i, near, direct_m = i[order], near[order], direct_m[order]
    k = first_open(scene.ground, starts[i], scene.goals[near], i, len(starts), land)
    straight = np.flatnonzero(k >= 0)
    straight = straight[~(walk_m[straight] < direct_m[k[straight]])]
    walk_m[straight], goal[straight] = direct_m[k[straight]], near[k[straight]]
    edge[straight] = -1
    far = (goal >= 0) & (walk_m > scene.reach_m)
    walk_m[far], goal[far] = np.inf, -1
    return Walks(walk_m, goal, edge, along_m, mark, linked)


def _along_network(
    starts: NDArray[np.object_], scene: Scene, reach: Reach, land: Land | None
) -> tuple[Any, ...]:
    """Find walks along the network only, field by field as in ``Walks``."""
    i, edge, along_m, links = _nearby(starts, scene, scene.link_m)
    # The marks on either side, found by edge and share of its length in one number.
    length_m = scene.network.length_m
    key = reach.mark_edge + reach.mark_along_m / (2 * length_m[reach.mark_edge])
    left = np.searchsorted(key, edge + along_m / (2 * length_m[edge]), side="right") - 1
    left = np.clip(left, *(np.searchsorted(reach.mark_edge, edge + k) - 2 * k for k in (0, 1)))
    sides = np.stack([left, left + 1])
    rest_m = np.abs(along_m - reach.mark_along_m[sides]) + reach.to_goal_m[reach.mark_node[sides]]
    mark = np.where(rest_m[1] < rest_m[0], sides[1], sides[0])
    total_m = shapely.length(links) + rest_m.min(axis=0)
    order = np.lexsort((edge, total_m, i))
    i, edge, mark = i[order], edge[order], mark[order]
    along_m, total_m = along_m[order], total_m[order]
    k = first_open(scene.ground, starts[i], scene.network.edges[edge], i, len(starts), land)
    linked = k >= 0
    walk_m = np.full(len(starts), np.inf)
    walk_m[linked] = total_m[k[linked]]
    goal, on, to = (np.full(len(starts), -1, dtype=np.intp) for _ in range(3))
    goal[linked] = reach.goal[reach.mark_node[mark[k[linked]]]]
    on[linked], to[linked] = edge[k[linked]], mark[k[linked]]
    place_m = np.zeros(len(starts))
    place_m[linked] = along_m[k[linked]]
    return walk_m, goal, on, place_m, to, linked
