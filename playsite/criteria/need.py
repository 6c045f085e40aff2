"""Need: children within the walk who have no playground within theirs today."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from playsite.criteria._contract import Criterion, Measured, Source
from playsite.criteria._curve import Curve
from playsite.criteria._spoken import Spoken
from playsite.units import Unit

if TYPE_CHECKING:
    import geopandas as gpd
    import numpy.typing as npt

    from playsite.proximity.children import Counted
    from playsite.site import Site

__all__ = ["CRITERION", "LEAST_KNOWN"]

LEAST_KNOWN = 0.8
"""Where less of the homes in reach lie in areas whose children are known, the need is unknown."""


def newly_served_count(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Children within the walk, less those with a public playground within their walk today.

    Ages 0 to 4 within 400 m, 5 to 12 within 800 m, along streets and paths from homes, to which the
    census's areas are spread by floor area. The interval is the census's margin of 90 percent. The
    score reads how many of the town's homes a playground would do less for.
    """
    families = site.families
    unknown = pd.Series(np.nan, index=pads.index)
    if families is None:
        said = (
            "unknown: no dwellings, no areas of population, or no streets and paths to walk along"
        )
        return Measured(unknown, note=pd.Series(said, index=pads.index))
    new = families.within_walk(pads.geometry, len(pads), new_only=True)
    every = families.within_walk(pads.geometry, len(pads), new_only=False)
    # A place that no home reaches serves nobody, and that is known.
    enough = ~(every.known_share < LEAST_KNOWN)
    value = pd.Series(new.children, index=pads.index).where(enough)
    off = pd.Series(new.margin, index=pads.index).fillna(0.0)
    below = np.searchsorted(site.usual_need, value - 1e-9, side="left") / len(site.usual_need)
    return Measured(
        value,
        low=(value - off).clip(lower=0.0),
        high=value + off,
        reads=pd.Series(100 * below, index=pads.index).where(enough),
        note=pd.Series(_told(new, every, enough), index=pads.index, dtype=object),
    )


def _told(new: Counted, every: Counted, enough: npt.NDArray[np.bool_]) -> list[str]:
    notes = []
    for row, known in enumerate(enough):
        if not known:
            share = 100 * every.known_share[row]
            notes.append(f"of the homes in reach only {share:.0f} % lie where children are counted")
            continue
        had = every.children[row] - new.children[row]
        text = f"{every.children[row]:.0f} children within the walk, {had:.0f} of them have a "
        text += "playground within theirs today, taken as equal"
        unsure = np.isnan(new.margin[row])
        notes.append(text + ("; the census's margin is not known" if unsure else ""))
    return notes


CRITERION = Criterion(
    name="need",
    question="How many children gain a playground within their walk?",
    plain="children newly within the walk of a playground",
    unit=Unit.COUNT,
    needs=("population", "buildings", "playgrounds"),
    measure=newly_served_count,
    curve=Curve.rising(
        poor=10.0,
        acceptable=40.0,
        ideal=75.0,
        unit=Unit.PERCENT,
        source="common practice, no source",
        form="more than at {} of homes",
        reads="share of the town's homes where a playground would newly serve fewer children",
    ),
    weight=6,
    plausible=(0, 1_000_000),
    group="Need",
    # Within a parcel it differs by less than the census knows.
    cost="best",
    sources=(
        Source("UFC 3-210-04: 5 to 10 minutes on foot"),
        Source("margin of a sum: U.S. Census Bureau, ACS handbook 2020, ch. 8", "from memory"),
    ),
    spoken=Spoken(form="{} children"),
    field_task="Ask schools and child care near the site how many children live within a 10-minute walk.",
)
