"""Straight links over open ground: which ones cross no water, building or road."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from playsite.proximity.network import SHAVED_M

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from playsite.proximity.network import WalkNetwork


@dataclass(frozen=True)
class Ground:
    """What a straight link may not cross: polygons, already shaved, and lines of roads."""

    blocked: shapely.STRtree
    roads: shapely.STRtree

    def is_open(self, links: NDArray[np.object_]) -> NDArray[np.bool_]:
        """Tell which links cross nothing; one that ends on a road doesn't cross it."""
        is_open = np.ones(len(links), dtype=np.bool_)
        is_open[self.blocked.query(links, predicate="intersects")[0]] = False
        length_m = shapely.length(links)
        inner = np.flatnonzero(is_open & (length_m > 2 * SHAVED_M))
        start = shapely.line_interpolate_point(links[inner], SHAVED_M)
        stop = shapely.line_interpolate_point(links[inner], length_m[inner] - SHAVED_M)
        xy = np.stack([shapely.get_coordinates(start), shapely.get_coordinates(stop)], axis=1)
        trimmed = np.asarray(shapely.linestrings(xy), dtype=object).reshape(-1)
        is_open[inner[self.roads.query(trimmed, predicate="intersects")[0]]] = False
        return is_open

    def stand_ins(
        self,
        geometry: NDArray[np.object_],
    ) -> tuple[NDArray[np.object_], NDArray[np.bool_]]:
        """Shapes to start a link from, where the given ones lie in what is blocked.

        A toilet is often a point in a building, or the building itself: links then start at the
        building's edge. Of a shape partly in a blocked one, the part outside is taken.

        Returns
        -------
        geometry, inside
            The shapes, and which lie wholly in blocked ground.
        """
        out, inside = geometry.copy(), np.zeros(len(geometry), dtype=np.bool_)
        row, block = self.blocked.query(geometry, predicate="intersects")
        for i in np.unique(row):
            of = self.blocked.geometries[block[row == i]]
            grown = shapely.union_all(shapely.buffer(of, 2 * SHAVED_M, join_style="mitre"))
            outside = shapely.difference(geometry[i], grown)
            inside[i] = outside.is_empty
            out[i] = grown if outside.is_empty else outside
        return out, inside


@dataclass(frozen=True)
class Land:
    """The land round each origin that its links may cross at will, and how far they may go off it.

    ``goal_m``: longest link of each target, whose land nobody knows.
    """

    shapes: NDArray[np.object_]
    off_m: NDArray[np.float64]
    goal_m: NDArray[np.float64]

    def keeps(self, links: NDArray[np.object_], row: NDArray[np.intp]) -> NDArray[np.bool_]:
        """Tell which links keep to the land of their row, but for so many metres."""
        off_m = shapely.length(shapely.difference(links, self.shapes[row]))
        return np.asarray(off_m <= self.off_m[row] + SHAVED_M, dtype=np.bool_)

    def of(self, rows: NDArray[np.intp]) -> Land:
        """Land of some of the origins."""
        return Land(self.shapes[rows], self.off_m[rows], self.goal_m)


def on_its_side(
    links: NDArray[np.object_],
    network: WalkNetwork,
    edge: NDArray[np.intp],
    along_m: NDArray[np.float64],
) -> NDArray[np.bool_]:
    """Tell which links come to a busy street from the side that their edge stands for.

    Parameters
    ----------
    links
        Straight links, each ending on its edge.
    network
        Streets and paths.
    edge, along_m
        Which edge, and how far along it.

    Returns
    -------
    ndarray
        True too where a link is shorter than a centimetre: it begins on the street. False where a
        path or another street is met just where it joins a busy one: the busy one's sides are.
    """
    fits = np.ones(len(links), dtype=np.bool_)
    far = shapely.length(links) > SHAVED_M
    at_end = np.column_stack([along_m, network.length_m[edge] - along_m]) <= SHAVED_M
    fits[far & (at_end & network.joins_busy[edge]).any(axis=1)] = False
    one = np.flatnonzero((network.side[edge] != 0) & far)
    if len(one):
        street, side = network.edges[edge[one]], network.side[edge[one]]
        near_m = np.stack([along_m[one] - SHAVED_M, along_m[one] + SHAVED_M])
        at = shapely.line_interpolate_point(street, np.clip(near_m, 0, shapely.length(street)))
        ahead = np.subtract(*shapely.get_coordinates(at[::-1].ravel()).reshape(2, -1, 2))
        start, stop = (shapely.get_coordinates(shapely.get_point(links[one], i)) for i in (0, -1))
        back = start - stop
        left = ahead[:, 0] * back[:, 1] - ahead[:, 1] * back[:, 0]
        fits[one] = left * side >= 0
    return fits


def open_links(
    starts: NDArray[np.object_], network: WalkNetwork, ground: Ground, link_m: float
) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.float64], NDArray[np.float64]]:
    """All open straight links from shapes to streets and paths.

    Returns
    -------
    row, edge, along_m, far_m
        Which shape, which edge, how far along it the link ends, and the link's length.
    """
    row, edge = shapely.STRtree(network.edges).query(starts, predicate="dwithin", distance=link_m)
    links = np.asarray(shapely.shortest_line(starts[row], network.edges[edge]), dtype=object)
    along_m = np.asarray(
        shapely.line_locate_point(network.edges[edge], shapely.get_point(links, -1)), dtype=float
    )
    sound = on_its_side(links, network, edge, along_m)
    sound[sound] = ground.is_open(links[sound])
    return row[sound], edge[sound], along_m[sound], np.asarray(shapely.length(links[sound]))


def first_open(
    ground: Ground,
    one: NDArray[np.object_],
    other: NDArray[np.object_],
    group: NDArray[np.intp],
    groups: int,
    land: Land | None = None,
) -> NDArray[np.intp]:
    """Position of the first pair of each group with an open straight link between its two shapes.

    Tests as few links as it can: the first of each group, then the next two, four, ...

    Parameters
    ----------
    one, other
        The pairs of shapes, best first within each group.
    group
        Group of each pair, in rising order.
    groups
        Number of groups.
    land
        Of each group, and how far its links may lead off it; None: as far as they like.

    Returns
    -------
    ndarray
        For each group the position of the pair; -1 where every link is crossed or there is none.
    """
    found = np.full(groups, -1, dtype=np.intp)
    place = np.arange(len(group)) - np.searchsorted(group, group)
    low, width = 0, 1
    while np.any(left := (place >= low) & (found[group] < 0)):
        pick = np.flatnonzero(left & (place < low + width))
        links = shapely.shortest_line(one[pick], other[pick])
        is_open = ground.is_open(links)
        if land is not None:
            is_open[is_open] = land.keeps(links[is_open], group[pick[is_open]])
        pick = pick[is_open]
        owner, first = np.unique(group[pick], return_index=True)
        found[owner] = pick[first]
        low, width = low + width, 2 * width
    return found
