"""Who may walk and cross where: streets nobody walks along, busy ones with two sides, rails."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from playsite.proximity.shapes import read_shapes

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd
    from numpy.typing import NDArray

    from playsite.proximity.network import WalkNetwork
    from playsite.proximity.shapes import ShapesLike

    Marks = Sequence[Any] | NDArray[Any] | pd.Series[Any] | None

__all__ = ["CROSSING_NEAR_M", "by_rules"]

CROSSING_NEAR_M = 10.0
"""A mapped crossing is taken for one of the street this near; common practice, no source."""

_LOOK_M = 1.0  # how far along a street its direction at a node is taken


@dataclass(frozen=True)
class _Ends:
    """Both ends of every edge, in turn round their nodes (counter-clockwise)."""

    node: NDArray[np.intp]
    edge: NDArray[np.intp]
    last: NDArray[np.bool_]
    """Whether it is the edge's last point."""
    busy: NDArray[np.bool_]
    path: NDArray[np.bool_]
    after: NDArray[np.intp]
    """Sector that follows the end; for an end that isn't busy, the one it lies in."""
    before: NDArray[np.intp]
    """Sector before a busy end."""
    sectors: NDArray[np.intp]
    """Number of sectors of the end's node: of its busy ends, at least 1."""
    on_busy: NDArray[np.bool_]
    joins: NDArray[np.bool_]
    """Whether anything but one busy street passes the node."""


def by_rules(
    network: WalkNetwork,
    *,
    closed: Marks = None,
    busy: Marks = None,
    never: Marks = None,
    crossings: ShapesLike | None = None,
    walls: ShapesLike | None = None,
    junction_m: float = 0.0,
    elsewhere_m: float = np.inf,
) -> WalkNetwork:
    """Keep people off some streets, and let them cross busy ones only where that is done.

    A busy street has two sides. People walk along either and step over where a path goes across,
    where a crossing is mapped, at the end of the street, where another street or path joins it, or
    elsewhere, each at what it counts for. A bridge or tunnel doesn't join and so needs no crossing.

    Parameters
    ----------
    network
        Of `playsite.proximity.walking.walk_network`.
    closed, busy
        For each line that the network was made of, whether nobody walks along it (a motorway; also
        steps, for a way without steps), and whether it may be crossed only at places. No link over
        open ground crosses either, where it is a road.
    never
        For each line, whether it is a busy street that is not crossed anywhere; a bridge or tunnel
        still leads over or under it, and people still walk round its end.
    crossings
        Mapped crossings, points or lines.
    walls
        Lines that no link crosses: rails. A street or path drawn over one is a way across.
    junction_m, elsewhere_m
        Metres that are added to a walk for each time it crosses where a street or path joins and no
        crossing is mapped, and where nothing is; inf: nobody crosses there. A place with a mapped
        crossing counts for nothing.

    Returns
    -------
    WalkNetwork
        With edges of busy streets twice, one for each side.

    Raises
    ------
    ValueError
        A column doesn't reach the last line, something counts for less than nothing, or two layers'
        systems differ.

    Examples
    --------
    >>> from shapely import LineString, Point
    >>> from playsite.proximity.walking import walk_m, walk_network
    >>> lines = [LineString([(0, 0), (400, 0)]), LineString([(300, -20), (300, 20)])]
    >>> town = by_rules(walk_network(lines, roads=[True, False]), busy=[True, False])
    >>> float(walk_m([Point(0, 5)], [Point(0, -5)], town, link_m=10).walk_m[0])
    10.0
    >>> float(walk_m([Point(200, 5)], [Point(200, -5)], town, link_m=10).walk_m[0])
    210.0
    """
    if not (junction_m >= 0 and elsewhere_m >= 0):
        raise ValueError("What a crossing counts for must be 0 m or more.")
    shut = _marked(network, closed)
    kept = np.flatnonzero(~shut)
    more = [network.walls, network.edges[shut & network.road]]
    if walls is not None:
        rails = read_shapes(walls, crs=network.crs)
        more.append(rails.geometry[rails.usable])
    open_to_all = replace(
        network,
        **{name: getattr(network, name)[kept] for name in _BY_EDGE},
        walls=np.concatenate(more),
    )
    is_busy = _marked(open_to_all, busy)
    if not is_busy.any():
        return open_to_all
    is_busy = _with_gaps(open_to_all, is_busy)
    ends = _ends(open_to_all, is_busy)
    uncrossed = _with_gaps(open_to_all, _marked(open_to_all, never))
    counts_m = (junction_m, elsewhere_m)
    return _two_sided(open_to_all, is_busy, ends, uncrossed, crossings, counts_m)


_BY_EDGE = ("edges", "start", "end", "length_m", "road", "line", "side", "joins_busy")


def _marked(network: WalkNetwork, marks: Marks) -> NDArray[np.bool_]:
    """Marks of edges from marks of lines; a connector has none."""
    if marks is None:
        return np.zeros(len(network.edges), dtype=np.bool_)
    of_line = np.asarray(marks, dtype=np.bool_)
    if network.line.max(initial=-1) >= len(of_line):
        raise ValueError("One mark for each line of the network is due, in the order of the lines.")
    known = network.line >= 0
    out = np.zeros(len(network.edges), dtype=np.bool_)
    out[known] = of_line[network.line[known]]
    return out


def _with_gaps(network: WalkNetwork, busy: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Count a connector between two busy streets as busy: a gap in digitising is no crossing."""
    at_busy = np.zeros(network.nodes, dtype=np.bool_)
    at_busy[network.start[busy]] = at_busy[network.end[busy]] = True
    gap = (network.line < 0) & at_busy[network.start] & at_busy[network.end]
    return np.asarray(busy | gap, dtype=np.bool_)


def _ends(network: WalkNetwork, busy: NDArray[np.bool_]) -> _Ends:
    n = len(network.edges)
    edge, last = np.tile(np.arange(n), 2), np.repeat([False, True], n)
    node = np.r_[network.start, network.end]
    look_m = np.minimum(_LOOK_M, network.length_m / 2)
    at = shapely.get_coordinates(shapely.get_point(network.edges[edge], np.where(last, -1, 0)))
    along_m = np.where(last, network.length_m[edge] - look_m[edge], look_m[edge])
    on = shapely.get_coordinates(shapely.line_interpolate_point(network.edges[edge], along_m))
    angle = np.arctan2(*(on - at).T[::-1])
    order = np.lexsort((edge, last, angle, node))
    node, edge, last = node[order], edge[order], last[order]
    is_busy = busy[edge]
    count = np.bincount(node, weights=is_busy, minlength=network.nodes).astype(np.intp)
    every = np.bincount(node, minlength=network.nodes)
    run = np.cumsum(is_busy)
    first = np.searchsorted(node, node)
    rank = run - run[first] + is_busy[first]  # busy ends of this node up to this one
    sectors = np.maximum(count[node], 1)
    return _Ends(
        node=node,
        edge=edge,
        last=last,
        busy=is_busy,
        path=~network.road[edge] & ~is_busy,
        after=(rank - 1) % sectors,
        before=(rank - 2) % sectors,
        sectors=sectors,
        on_busy=count[node] > 0,
        joins=(every[node] > count[node]) | (count[node] > 2),
    )


def _two_sided(
    network: WalkNetwork,
    busy: NDArray[np.bool_],
    ends: _Ends,
    never: NDArray[np.bool_],
    crossings: ShapesLike | None,
    counts_m: tuple[float, float],
) -> WalkNetwork:
    """Split nodes of busy streets into sectors, and each busy edge into its two sides."""
    extra = np.zeros(network.nodes, dtype=np.intp)
    extra[ends.node] = ends.sectors - 1
    base = network.nodes + extra.cumsum() - extra

    def number(sector: NDArray[np.intp]) -> NDArray[np.intp]:
        return np.where(sector == 0, ends.node, base[ends.node] + sector - 1)

    after, before = number(ends.after), number(ends.before)
    # Left of an edge is after its first end, and before its last one, which looks backwards.
    sides = (np.where(ends.last, before, after), np.where(ends.last, after, before))
    n = len(network.edges)
    start, end = np.empty((2, n), dtype=np.intp), np.empty((2, n), dtype=np.intp)
    for right, of_busy in enumerate(sides):
        one = np.where(ends.busy, of_busy, after)
        start[right, ends.edge[~ends.last]] = one[~ends.last]
        end[right, ends.edge[ends.last]] = one[ends.last]
    twice = np.r_[np.arange(n), np.flatnonzero(busy)]
    is_right = (np.arange(len(twice)) >= n).astype(np.intp)
    side = np.asarray(np.where(is_right, -1, busy[twice]), dtype=np.int8)
    joins_busy = np.zeros((n, 2), dtype=np.bool_)
    joins_busy[ends.edge, ends.last.astype(np.intp)] = ~ends.busy & ends.on_busy
    joints, joint_m, marked = _joints(network, ends, after, before, never, crossings, counts_m)
    return replace(
        network,
        edges=network.edges[twice],
        length_m=network.length_m[twice],
        road=network.road[twice],
        line=network.line[twice],
        start=start[is_right, twice],
        end=end[is_right, twice],
        side=side,
        joins_busy=joins_busy[twice],
        nodes=network.nodes + int(extra.sum()),
        joints=joints,
        joint_m=joint_m,
        joint_marked=marked,
    )


def _joints(
    network: WalkNetwork,
    ends: _Ends,
    after: NDArray[np.intp],
    before: NDArray[np.intp],
    never: NDArray[np.bool_],
    crossings: ShapesLike | None,
    counts_m: tuple[float, float],
) -> tuple[NDArray[np.intp], NDArray[np.float64], NDArray[np.bool_]]:
    """Places where a busy street is crossed: across each of its ends at a node."""
    across = np.flatnonzero(ends.busy & (ends.sectors > 1) & ~never[ends.edge])
    pairs = np.sort(np.column_stack([before[across], after[across]]), axis=1)
    has_path = np.unique(after[ends.path])  # a path that comes in on both sides goes across
    marked = np.asarray(np.isin(pairs, has_path).all(axis=1), dtype=np.bool_)
    if crossings is not None and len(across):
        given = read_shapes(crossings, crs=network.crs)
        edge, point = ends.edge[across], np.where(ends.last[across], -1, 0)
        at = shapely.get_point(network.edges[edge], point)
        near = shapely.STRtree(given.geometry[given.usable]).query(
            at, predicate="dwithin", distance=CROSSING_NEAR_M
        )
        marked[near[0]] = True
    junction_m, elsewhere_m = counts_m
    counts = np.where(marked, 0.0, np.where(ends.joins[across], junction_m, elsewhere_m))
    order = np.lexsort((~marked, counts, pairs[:, 1], pairs[:, 0]))
    order = order[np.isfinite(counts[order])]
    first = np.r_[True, np.any(pairs[order][1:] != pairs[order][:-1], axis=1)][: len(order)]
    kept = order[first]
    return pairs[kept], counts[kept], marked[kept]
