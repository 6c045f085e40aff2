"""Walks drawn: from the origin's edge to the target's, with what was crossed on the way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np
import shapely
from shapely.ops import substring

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from playsite.proximity._walk_search import Reach, Scene, Walks

__all__ = ["Drawn", "draw"]


@dataclass(frozen=True)
class Drawn:
    """Walks as lines, what each is made of off the network, and how often a busy street is crossed."""

    path: NDArray[np.object_]
    from_link_m: NDArray[np.float64]
    to_link_m: NDArray[np.float64]
    crossings: NDArray[np.float64]
    marked: NDArray[np.float64]

    @classmethod
    def nothing(cls, rows: int) -> Drawn:
        """No walk drawn: nothing is known of any."""
        return cls(np.full(rows, None, dtype=object), *np.full((4, rows), np.nan))


@dataclass(frozen=True)
class _Steps:
    """From node to node: the stretch of an edge (from and to which mark), and what joints count."""

    stretch: dict[tuple[int, int], tuple[float, int, int]]
    joint: dict[tuple[int, int], tuple[float, bool]]


def draw(
    starts: NDArray[np.object_],
    scene: Scene,
    reach: Reach,
    walks: Walks,
) -> Drawn:
    """Draw each walk, from the origin's edge to the target's."""
    steps = _steps(scene, reach)
    drawn = Drawn.nothing(len(starts))
    for row in np.flatnonzero(walks.goal >= 0).tolist():
        goal = scene.goals[walks.goal[row]]
        if walks.edge[row] < 0:
            drawn.path[row] = shapely.shortest_line(starts[row], goal)
            drawn.from_link_m[row] = drawn.path[row].length
            drawn.to_link_m[row] = drawn.crossings[row] = drawn.marked[row] = 0
            continue
        first, way, last, crossed = _way(row, starts[row], scene, reach, walks, steps)
        xy = np.concatenate([first, *way, last])
        moves = np.r_[True, np.any(xy[1:] != xy[:-1], axis=1)]
        moves[-1] |= moves.sum() == 1  # a walk of no length still has two points
        drawn.path[row] = shapely.LineString(xy[moves])
        drawn.from_link_m[row] = np.hypot(*(first[-1] - first[0]))
        drawn.to_link_m[row] = np.hypot(*(last[-1] - last[0]))
        drawn.crossings[row], drawn.marked[row] = len(crossed), sum(crossed)
    return drawn


def _steps(scene: Scene, reach: Reach) -> _Steps:
    stretch: dict[tuple[int, int], tuple[float, int, int]] = {}
    for k in np.flatnonzero(reach.mark_edge[1:] == reach.mark_edge[:-1]).tolist():
        i, j = int(reach.mark_node[k]), int(reach.mark_node[k + 1])
        step_m = float(reach.mark_along_m[k + 1] - reach.mark_along_m[k])
        for pair, one in (((i, j), (step_m, k, k + 1)), ((j, i), (step_m, k + 1, k))):
            stretch[pair] = min(stretch.get(pair, one), one)
    network = scene.network
    rows = zip(
        network.joints.tolist(),
        network.joint_m.tolist(),
        network.joint_marked.tolist(),
        strict=True,
    )
    joint = {}
    for (i, j), counts_m, marked in rows:
        joint[i, j] = joint[j, i] = (counts_m, marked)
    return _Steps(stretch, joint)


Points: TypeAlias = "NDArray[np.float64]"


def _way(
    row: int, start: Any, scene: Scene, reach: Reach, walks: Walks, steps: _Steps
) -> tuple[Points, list[Points], Points, list[bool]]:
    """First link, stretches, last link of one walk, and for each crossing whether it is marked."""
    edges, nodes = scene.network.edges, scene.network.nodes
    first_goal = nodes + len(reach.link_goal)

    def piece(edge: int, from_m: float, to_m: float) -> Points:
        return np.asarray(shapely.get_coordinates(substring(edges[edge], from_m, to_m)))

    edge, mark = walks.edge[row], walks.mark[row]
    first = shapely.get_coordinates(shapely.shortest_line(start, edges[edge]))
    way = [piece(edge, walks.along_m[row], reach.mark_along_m[mark])]
    crossed: list[bool] = []
    node = int(reach.mark_node[mark])
    while (after := int(reach.before[node])) < first_goal:
        along = steps.stretch.get((node, after))
        over = steps.joint.get((node, after))
        if over is not None and (along is None or over[0] < along[0]):
            crossed.append(over[1])
        elif along is not None:
            _, a, b = along
            way.append(piece(reach.mark_edge[a], reach.mark_along_m[a], reach.mark_along_m[b]))
        node = after
    goal = scene.goals[walks.goal[row]]
    last = shapely.get_coordinates(
        shapely.shortest_line(edges[reach.link_edge[node - nodes]], goal)
    )
    return first, way, last, crossed
