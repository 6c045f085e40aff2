"""Who would gain: of new playgrounds, of better ones where they are, and of doing nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from playsite.layers.population import SHARES
from playsite.result import HOME_COLUMNS, NEED_COLUMNS

if TYPE_CHECKING:
    from collections.abc import Iterator

    import geopandas as gpd
    from numpy.typing import NDArray

    from playsite.proximity.children import Counted, Families
    from playsite.site import Site

__all__ = ["home_table", "need_table"]

NEW, IMPROVE, NOTHING = "new playground", "improve an existing one", "do nothing"
_NEAR_M = 2_000.0
"""Playgrounds within it of the foremost pads are told as ones that may be improved."""
_AROUND_M = 1_500.0
"""Homes within it of a pad are drawn: more than the walk, to the corners of a picture."""


def need_table(pads: gpd.GeoDataFrame, site: Site) -> pd.DataFrame:
    """Children within the walk of each option, who of them is newly served, and who is left.

    Shares of people of low income, with a disability and of homes without a yard stand beside the
    scores and never in them: what they count is for a council to say.

    Parameters
    ----------
    pads
        As criteria get them.
    site
        Gives homes with children, playgrounds of today, and districts.

    Returns
    -------
    DataFrame
        ``NEED_COLUMNS``. One row for all of an option, ``district`` empty, and one for each
        district that it reaches. ``plus_minus`` is at 90 percent, of all alone. The shares are those
        of the areas where the newly served live; of a better playground of those within its walk;
        of doing nothing of those who stay without. Empty where the study can't tell, as without a
        layer of playgrounds.
    """
    families = site.families
    if families is None or not site.has("playgrounds"):
        return pd.DataFrame(columns=list(NEED_COLUMNS))
    told = _Told(site, families)
    rows = [*told.of_new(pads), *told.of_better(pads), *told.of_nothing()]
    return pd.DataFrame(rows, columns=list(NEED_COLUMNS))


def home_table(pads: gpd.GeoDataFrame, site: Site) -> pd.DataFrame:
    """Homes round each pad that have a playground within the walk today, and with one there.

    Returns
    -------
    DataFrame
        ``HOME_COLUMNS`` as `Result` tells them; empty where the study can't tell.
    """
    families = site.families
    if families is None or not site.has("playgrounds") or not len(pads):
        return pd.DataFrame(columns=list(HOME_COLUMNS))
    homes = site.dwellings.representative_point()
    today, then = families.ages_today(), families.ages_with(pads.geometry, len(pads))
    pad, home = homes.sindex.query(pads.geometry, predicate="dwithin", distance=_AROUND_M)
    order = np.lexsort((home, pad))
    pad, home = pad[order], home[order]
    return pd.DataFrame(
        {
            "parcel_id": pads["parcel_id"].to_numpy()[pad],
            "easting": homes.x.to_numpy()[home].round(1),
            "northing": homes.y.to_numpy()[home].round(1),
            "today": today[home],
            "then": then[pad, home],
        }
    )


class _Told:
    """Rows of the table, option by option."""

    def __init__(self, site: Site, families: Families) -> None:
        self.site, self.families = site, families
        areas = site.layer("population")
        # The last entry stands for homes in no area.
        self.shares = [np.append(areas[name].to_numpy(float), [np.nan]) for name in SHARES]
        self.district = site.area_of_homes("districts") if site.has("districts") else None
        unserved = families.unserved()
        self.left = unserved.by_home.toarray()[0]
        self.left_margin = float(unserved.margin[0])

    def of_new(self, pads: gpd.GeoDataFrame) -> Iterator[tuple[object, ...]]:
        """New playgrounds at pads."""
        count = len(pads)
        every = self.families.within_walk(pads.geometry, count, new_only=False)
        new = self.families.within_walk(pads.geometry, count, new_only=True)
        for row, parcel_id in enumerate(pads["parcel_id"]):
            head = (NEW, parcel_id, "")
            gains = _at_homes(new, row)
            yield from self._rows(head, _at_homes(every, row), gains, new.margin[row], gains)

    def of_better(self, pads: gpd.GeoDataFrame) -> Iterator[tuple[object, ...]]:
        """Playgrounds of today near the pads: nobody is newly served there."""
        given = self.site.layer("playgrounds")
        given = given[given["is_public"].astype(bool)]
        near = np.unique(
            given.sindex.query(pads.geometry, predicate="dwithin", distance=_NEAR_M)[1]
        )
        given = given.iloc[near]
        every = self.families.within_walk(given.geometry, len(given), new_only=False)
        for row, name in enumerate(given["name"].fillna("a playground without a name")):
            within = _at_homes(every, row)
            yield from self._rows((IMPROVE, "", name), within, 0 * within, np.nan, within)

    def of_nothing(self) -> Iterator[tuple[object, ...]]:
        """Everybody who has no playground within the walk today stays so."""
        nobody = 0 * self.left
        yield from self._rows((NOTHING, "", ""), nobody, nobody, np.nan, self.left)

    def _rows(
        self,
        head: tuple[object, ...],
        within: NDArray[np.float64],
        gains: NDArray[np.float64],
        margin: float,
        of_whom: NDArray[np.float64],
    ) -> Iterator[tuple[object, ...]]:
        yield (*head, "", *self._counts(within, gains), margin, *self._percent(of_whom))
        if self.district is None:
            return
        names = self.site.layer("districts")["name"].fillna("without a name").to_numpy()
        for district in np.unique(self.district[self.district >= 0]):
            here = self.district == district
            if (within[here].sum() or of_whom[here].sum()) > 0:
                own = self._counts(within, gains, here)
                yield (*head, names[district], *own, np.nan, *self._percent(of_whom * here))

    def _counts(
        self,
        within: NDArray[np.float64],
        gains: NDArray[np.float64],
        here: NDArray[np.bool_] | None = None,
    ) -> tuple[float, float, float]:
        where = slice(None) if here is None else here
        left = self.left[where].sum() - gains[where].sum()
        return within[where].sum(), gains[where].sum(), max(left, 0.0)

    def _percent(self, children: NDArray[np.float64]) -> list[float]:
        """Mean share of the areas where some children live; NaN where none is known."""
        found = []
        for share in self.shares:
            at_home = share[self.families.area]
            known = np.isfinite(at_home) & (children > 0)
            whole = children[known].sum()
            found.append(float(children[known] @ at_home[known] / whole) if whole else np.nan)
        return found


def _at_homes(counted: Counted, row: int) -> NDArray[np.float64]:
    children: NDArray[np.float64] = counted.by_home[[row]].toarray()[0]
    return children
