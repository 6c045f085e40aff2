"""Children within a walk: placed by homes from areas of a census, less those already served."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from scipy import sparse

from playsite.proximity.reached import Doors, ReachGraph, homes_reached, reach_graph

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from playsite.proximity.network import WalkNetwork
    from playsite.proximity.shapes import ShapesLike

__all__ = ["OLDER_WALK_M", "YOUNG_WALK_M", "Areas", "Counted", "Families", "shares_of_areas"]

YOUNG_WALK_M, OLDER_WALK_M = 400.0, 800.0
"""Longest walk of children of 0 to 4 and of 5 to 12: 5 and 10 minutes. UFC 3-210-04: 5 to 10
minutes on foot; half a mile in 10 minutes is the usual measure of park access."""


@dataclass(frozen=True, eq=False)
class Areas:
    """Children of areas of a census, one entry an area; NaN unknown.

    Parameters
    ----------
    young, older
        Children of 0 to 4 and of 5 to 12.
    young_margin, older_margin
        Margins of these at 90 percent.
    """

    young: NDArray[np.float64]
    older: NDArray[np.float64]
    young_margin: NDArray[np.float64]
    older_margin: NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Counted:
    """Children within a walk of places, one entry a place.

    Parameters
    ----------
    children
        How many.
    margin
        Margin at 90 percent; NaN where that of an area in reach is unknown.
    known_share
        Share of the homes in reach that lie in areas whose children are known; NaN without a home.
    by_home
        (places, homes) sparse, children at each home that are counted.
    """

    children: NDArray[np.float64]
    margin: NDArray[np.float64]
    known_share: NDArray[np.float64]
    by_home: sparse.csr_array


def shares_of_areas(area: NDArray[np.intp], size: NDArray[np.float64]) -> NDArray[np.float64]:
    """Share of its area's children that each home has: that of its floor among the area's homes.

    Parameters
    ----------
    area
        (n,) row of each home's area; -1 in none.
    size
        (n,) floor area, or any measure of how many live there.

    Examples
    --------
    >>> shares_of_areas(np.array([0, 0, 1, -1]), np.array([1.0, 3.0, 2.0, 9.0])).tolist()
    [0.25, 0.75, 1.0, 0.0]
    """
    inside = area >= 0
    whole = np.bincount(area[inside], size[inside], minlength=int(area.max(initial=-1)) + 1)
    share = np.zeros(len(area))
    share[inside] = size[inside] / whole[area[inside]]
    return share


@dataclass(frozen=True, eq=False)
class Families:
    """Homes with their children, and which have a playground within the walk already.

    Parameters
    ----------
    areas
        Children of the areas.
    area, share
        (n,) of each home: row of its area, -1 in none, and its share of the area's children.
    doors, network
        How each home joins streets and paths.
    playgrounds
        Playgrounds that serve children today, as good as the one that is planned.
    """

    areas: Areas
    area: NDArray[np.intp]
    share: NDArray[np.float64]
    doors: Doors
    network: WalkNetwork
    playgrounds: ShapesLike
    _graph: ReachGraph = field(init=False)
    _served: tuple[NDArray[np.bool_], NDArray[np.bool_]] = field(init=False)

    def __post_init__(self) -> None:
        """Find the homes that are served today, of young and of older children."""
        object.__setattr__(self, "_graph", reach_graph(self.network, self.doors))
        _, home, walk_m = self._reach(self.playgrounds)
        served = np.zeros((2, self.doors.count), dtype=np.bool_)
        served[1, home] = True
        served[0, home[walk_m <= YOUNG_WALK_M]] = True
        object.__setattr__(self, "_served", (served[0], served[1]))

    def _reach(
        self, places: ShapesLike
    ) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.float64]]:
        return homes_reached(
            places, self.doors, self.network, within_m=OLDER_WALK_M, graph=self._graph
        )

    def within_walk(self, places: ShapesLike, count: int, *, new_only: bool) -> Counted:
        """Children within the walk of each place.

        Parameters
        ----------
        places
            Pads or playgrounds.
        count
            How many these are.
        new_only
            Whether to leave out those with a playground within their walk today.
        """
        place, home, walk_m = self._reach(places)
        near = walk_m <= YOUNG_WALK_M
        if new_only:
            near &= ~self._served[0][home]
        far = ~self._served[1][home] if new_only else np.ones(len(home), dtype=np.bool_)
        return self._counted((place, home), near, far, count)

    def ages_today(self) -> NDArray[np.int8]:
        """(homes,) 2: all children have a playground within their walk today; 1: the older; 0: none."""
        return self._served[0].astype(np.int8) + self._served[1]

    def ages_with(self, places: ShapesLike, count: int) -> NDArray[np.int8]:
        """(places, homes) The same, with a playground at each of the places beside those of today."""
        place, home, walk_m = self._reach(places)
        ages = np.tile(self.ages_today(), (count, 1))
        reached = np.where(walk_m <= YOUNG_WALK_M, 2, 1)
        np.maximum.at(ages, (place, home), reached.astype(np.int8))
        return ages

    def unserved(self) -> Counted:
        """All children without a playground within their walk today, as of one place."""
        home = np.arange(self.doors.count)
        at = (np.zeros_like(home), home)
        return self._counted(at, ~self._served[0], ~self._served[1], 1)

    def _counted(
        self,
        at: tuple[NDArray[np.intp], NDArray[np.intp]],
        young: NDArray[np.bool_],
        older: NDArray[np.bool_],
        count: int,
    ) -> Counted:
        place, home = at
        shape = (count, len(self.areas.young))
        # The last entry stands for a home in no area.
        is_known = np.append(np.isfinite(self.areas.young) & np.isfinite(self.areas.older), [False])
        known = is_known[self.area[home]]
        at_homes = np.zeros(len(home))
        variance = np.zeros(count)
        bands = (
            (young, self.areas.young, self.areas.young_margin),
            (older, self.areas.older, self.areas.older_margin),
        )
        for which, number, margin in bands:
            own = which & known
            rows = (place[own], self.area[home[own]])
            share = sparse.coo_array((self.share[home[own]], rows), shape=shape).tocsr()
            at_homes[own] += number[rows[1]] * self.share[home[own]]
            # An area that nobody reaches must not make the margin unknown.
            variance += share.power(2) @ np.nan_to_num(margin) ** 2
            unsure = (share != 0).astype(float) @ np.isnan(margin).astype(float)
            variance[unsure > 0] = np.nan
        by_home = sparse.coo_array((at_homes, (place, home)), shape=(count, self.doors.count))
        whole = np.bincount(place, minlength=count)
        with np.errstate(invalid="ignore"):
            share_known = np.bincount(place, known, minlength=count) / whole
        children = np.bincount(place, at_homes, minlength=count).astype(np.float64)
        return Counted(children, np.sqrt(variance), share_known, by_home.tocsr())
