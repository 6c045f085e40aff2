"""How far it is on foot: over open ground to a street or path, along it, and off it at the other end."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra
from shapely.ops import substring

from playsite.proximity.clearance import clearance_m
from playsite.proximity.links import Ground, first_open
from playsite.proximity.network import WalkNetwork, read_blocked, walk_network
from playsite.proximity.shapes import read_shapes

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from playsite.proximity.shapes import Shapes, ShapesLike

__all__ = ["WalkNetwork", "walk_m", "walk_network"]

BATCH = 2_000
"""Origins worked on at once: bounds the memory for their links."""
TIE_M = 1e-6
"""Targets whose walks differ by less are equally near."""


@dataclass(frozen=True)
class _Scene:
    """What every walk of one call shares; geometry is what links start from."""

    network: WalkNetwork
    tree: shapely.STRtree
    ground: Ground
    link_m: float
    goals: NDArray[np.object_]
    rank: NDArray[np.intp]


@dataclass(frozen=True)
class _Reach:
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
class _Walks:
    """For each origin: the walk, its target (-1: none), and where it joins the network (-1: not)."""

    walk_m: NDArray[np.float64]
    goal: NDArray[np.intp]
    edge: NDArray[np.intp]
    along_m: NDArray[np.float64]
    mark: NDArray[np.intp]
    linked: NDArray[np.bool_]


def walk_m(
    origins: ShapesLike,
    targets: ShapesLike,
    network: WalkNetwork,
    *,
    blocked: ShapesLike | None = None,
    link_m: float = 150.0,
    paths: bool = True,
) -> pd.DataFrame:
    """Walk from each origin to the nearest target, nearest on foot.

    A walk is a straight link from the origin's edge to a street or path, the way along streets and
    paths, and a straight link to the target's edge. No link crosses blocked ground, or a line marked
    as a road (it may end on one). Every stretch of 10 m within reach of a link is tried, at its
    nearest point, and the least total counts: links cut corners over whatever is not blocked, so put
    private land among the blocked shapes or shorten ``link_m`` where that is wrong. Where no blocked
    ground and no road lies between, and the target is within reach of a link, the straight way over
    open ground counts too. An origin or target inside blocked ground (a toilet in a building) is
    linked from that ground's edge.

    A road of the network may be crossed anywhere, by one link that ends on it and another from it. A
    road that nobody can cross belongs among the blocked shapes, as a polygon.

    Parameters
    ----------
    origins, targets
        Points, lines or polygons (a pad, a restroom, a parking lot), projected metres.
    network
        Of :func:`walk_network`.
    blocked
        Polygons no link may cross, besides those of the network.
    link_m
        Longest link.
    paths
        Whether to draw the ways: without, the column ``path`` holds None.

    Returns
    -------
    DataFrame
        By the index of ``origins``: ``walk_m`` (inf: can't be reached; NaN: unknown, because there
        is no network or the origin is empty), ``straight_m`` (edge to edge, to that target or the
        edge of the building it lies in, so never more than the walk; to the nearest one where none
        can be reached; NaN where there is none), ``target`` (label, the
        lowest where several are equally near to a micrometre; None), ``path`` (LineString from
        origin to target, None) and ``note`` (why there is no walk, or what was assumed; else "").

    Raises
    ------
    ValueError
        The reach is no distance, a blocked shape is no polygon, a layer is in degrees, or the
        layers' systems differ.

    Notes
    -----
    One search from all targets (Dijkstra 1959, "A note on two problems in connexion with graphs")
    serves every origin.

    Examples
    --------
    >>> from shapely import LineString, Point, box
    >>> street = walk_network([LineString([(0, 0), (400, 0)])], roads=[True])
    >>> row = walk_m([box(0, 10, 30, 30)], [Point(330, -5)], street, link_m=10).loc[0]
    >>> float(row["walk_m"]), row["target"]
    (315.0, 0)
    """
    if not (np.isfinite(link_m) and link_m >= 0):
        raise ValueError(f"The longest link must be a distance in metres, 0 or more: {link_m}")
    pads = read_shapes(origins, crs=network.crs)
    goals = read_shapes(targets, crs=pads.crs)
    ground = Ground(
        shapely.STRtree(np.r_[network.blocked, read_blocked(blocked, crs=pads.crs)]),
        shapely.STRtree(network.edges[network.road]),
    )
    starts, _ = ground.stand_ins(pads.geometry)
    stops, inside = ground.stand_ins(goals.geometry)
    scene = _Scene(network, shapely.STRtree(network.edges), ground, link_m, stops, goals.rank)
    reach = _search(scene)
    walks = _walks(starts, scene, reach)
    has = walks.goal >= 0
    straight_m = clearance_m(starts, stops).to_numpy(copy=True)
    straight_m[has] = shapely.distance(starts[has], stops[walks.goal[has]])
    target = np.full(len(pads), None, dtype=object)
    target[has] = np.asarray(goals.labels, dtype=object)[walks.goal[has]]
    path = _paths(starts, scene, reach, walks) if paths else np.full(len(pads), None, dtype=object)
    return pd.DataFrame(
        {
            "walk_m": np.where(pads.usable, walks.walk_m, np.nan),
            "straight_m": straight_m,
            "target": pd.Series(target, index=pads.labels, dtype=object),
            "path": gpd.GeoSeries(path, index=pads.labels, crs=pads.crs),
            "note": _notes(pads, goals, inside, scene, reach, walks),
        },
        index=pads.labels,
    )


def _search(scene: _Scene) -> _Reach:
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
    i, j, step_m = mark_node[k], mark_node[k + 1], mark_along_m[k + 1] - mark_along_m[k]
    extra_m = TIE_M * scene.rank / max(t, 1)
    graph = _graph(
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
        )
    reached = np.isfinite(to_goal_m)
    nearest_goal = np.full(nodes + n + t, -1, dtype=np.intp)
    nearest_goal[reached] = source[reached] - nodes - n if n else goal
    to_goal_m[reached] -= extra_m[nearest_goal[reached]]
    return _Reach(
        mark_edge,
        mark_along_m,
        mark_node,
        to_goal_m,
        nearest_goal,
        np.asarray(before, dtype=np.intp),
        link_edge=edge,
        link_goal=goal,
    )


def _graph(
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
    scene: _Scene,
) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.float64], NDArray[np.float64]]:
    """All open links of some targets: target, edge, how far along it, length."""
    goal, edge, along_m, links = _nearby(scene.goals[rows], scene)
    is_open = scene.ground.is_open(links)
    return rows[goal[is_open]], edge[is_open], along_m[is_open], shapely.length(links[is_open])


def _nearby(
    shapes: NDArray[np.object_],
    scene: _Scene,
) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.float64], NDArray[np.object_]]:
    """Edges within a link of each shape, the place nearest to it, and the straight line there."""
    i, edge = scene.tree.query(shapes, predicate="dwithin", distance=scene.link_m)
    links = np.asarray(shapely.shortest_line(shapes[i], scene.network.edges[edge]), dtype=object)
    along_m = shapely.line_locate_point(scene.network.edges[edge], shapely.get_point(links, -1))
    return i, edge, np.asarray(along_m, dtype=np.float64), links


def _walks(starts: NDArray[np.object_], scene: _Scene, reach: _Reach) -> _Walks:
    """Shortest walk of each origin: along the network, or straight where that is open and shorter."""
    parts = [_along_network(starts[rows], scene, reach) for rows in _batches(len(starts))]
    walk_m, goal, edge, along_m, mark, linked = (
        np.concatenate(c) for c in zip(*parts, strict=True)
    )
    if not len(scene.network.edges):
        walk_m[:] = np.nan
    i, near = shapely.STRtree(scene.goals).query(starts, predicate="dwithin", distance=scene.link_m)
    direct_m = shapely.distance(starts[i], scene.goals[near])
    order = np.lexsort((scene.rank[near], direct_m, i))
    i, near, direct_m = i[order], near[order], direct_m[order]
    k = first_open(scene.ground, starts[i], scene.goals[near], i, len(starts))
    straight = np.flatnonzero(k >= 0)
    straight = straight[~(walk_m[straight] < direct_m[k[straight]])]
    walk_m[straight], goal[straight] = direct_m[k[straight]], near[k[straight]]
    edge[straight] = -1
    return _Walks(walk_m, goal, edge, along_m, mark, linked)


def _along_network(starts: NDArray[np.object_], scene: _Scene, reach: _Reach) -> tuple[Any, ...]:
    """Find walks along the network only, field by field as in ``_Walks``."""
    i, edge, along_m, links = _nearby(starts, scene)
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
    k = first_open(scene.ground, starts[i], scene.network.edges[edge], i, len(starts))
    linked = k >= 0
    walk_m = np.full(len(starts), np.inf)
    walk_m[linked] = total_m[k[linked]]
    goal, on, to = (np.full(len(starts), -1, dtype=np.intp) for _ in range(3))
    goal[linked] = reach.goal[reach.mark_node[mark[k[linked]]]]
    on[linked], to[linked] = edge[k[linked]], mark[k[linked]]
    place_m = np.zeros(len(starts))
    place_m[linked] = along_m[k[linked]]
    return walk_m, goal, on, place_m, to, linked


def _paths(
    starts: NDArray[np.object_],
    scene: _Scene,
    reach: _Reach,
    walks: _Walks,
) -> NDArray[np.object_]:
    """Draw each walk, from the origin's edge to the target's."""
    edges, nodes = scene.network.edges, scene.network.nodes
    first_goal = nodes + len(reach.link_goal)
    stretch: dict[tuple[int, int], tuple[float, int, int]] = {}
    for k in np.flatnonzero(reach.mark_edge[1:] == reach.mark_edge[:-1]).tolist():
        i, j = int(reach.mark_node[k]), int(reach.mark_node[k + 1])
        step_m = float(reach.mark_along_m[k + 1] - reach.mark_along_m[k])
        for pair, one in (((i, j), (step_m, k, k + 1)), ((j, i), (step_m, k + 1, k))):
            stretch[pair] = min(stretch.get(pair, one), one)

    def piece(edge: int, from_m: float, to_m: float) -> NDArray[np.float64]:
        return shapely.get_coordinates(substring(edges[edge], from_m, to_m))

    out = np.full(len(starts), None, dtype=object)
    for row in np.flatnonzero(walks.goal >= 0).tolist():
        goal, edge = scene.goals[walks.goal[row]], walks.edge[row]
        if edge < 0:
            out[row] = shapely.shortest_line(starts[row], goal)
            continue
        mark = walks.mark[row]
        way = [
            shapely.get_coordinates(shapely.shortest_line(starts[row], edges[edge])),
            piece(edge, walks.along_m[row], reach.mark_along_m[mark]),
        ]
        node = int(reach.mark_node[mark])
        while (after := int(reach.before[node])) < first_goal:
            _, a, b = stretch[node, after]
            way.append(piece(reach.mark_edge[a], reach.mark_along_m[a], reach.mark_along_m[b]))
            node = after
        link = shapely.shortest_line(edges[reach.link_edge[node - nodes]], goal)
        way.append(shapely.get_coordinates(link))
        xy = np.concatenate(way)
        moves = np.r_[True, np.any(xy[1:] != xy[:-1], axis=1)]
        moves[-1] |= moves.sum() == 1  # a walk of no length still has two points
        out[row] = shapely.LineString(xy[moves])
    return out


def _notes(
    pads: Shapes,
    goals: Shapes,
    inside: NDArray[np.bool_],
    scene: _Scene,
    reach: _Reach,
    walks: _Walks,
) -> pd.Series[str]:
    """Say why there is no walk, or what was assumed for one."""
    link = f"crosses no water, building or road within {scene.link_m:g} m"
    no_walk = walks.goal < 0
    note = np.full(len(pads), "", dtype=object)
    indoors = ~no_walk
    indoors[~no_walk] = inside[walks.goal[~no_walk]]
    note[indoors] = "the target lies in a building or water: taken at its edge"
    note[no_walk] = "no way along streets and paths"
    if not len(reach.link_goal):
        note[no_walk] = f"no link from any target to a street or path that {link}"
    note[no_walk & ~walks.linked] = f"no link from the pad to a street or path that {link}"
    if not len(scene.network.edges):
        note[no_walk] = "no streets or paths to walk along"
    if not goals.usable.any():
        note[:] = "nothing to walk to"
    note[~pads.usable] = "no shape to walk from"
    return pd.Series(note, index=pads.labels, dtype=object)
