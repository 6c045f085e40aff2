"""Approach: whether the last stretch of the walks that lead to the pad is safe on foot."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import shapely

from playsite.criteria._contract import Criterion, Measured, Source
from playsite.criteria._curve import Curve
from playsite.layers.streets import SIDEWALK
from playsite.proximity.approach import approaches
from playsite.proximity.town_ways import BUSY
from playsite.units import Unit

if TYPE_CHECKING:
    import geopandas as gpd
    from numpy.typing import NDArray

    from playsite.proximity.approach import Approach
    from playsite.proximity.network import WalkNetwork
    from playsite.site import Site

__all__ = ["BESIDE_M", "CRITERION", "LAST_M", "LEAST_KNOWN"]

LAST_M = 400.0
"""The last stretch of a walk: five minutes; common practice, no source."""

BESIDE_M = 5.0
"""A path this near the pavement is the street's sidewalk; common practice, no source."""

LEAST_KNOWN = 0.5
"""Where less of the length is known, so is nothing of the whole; common practice, no source."""

_WITH, _WITHOUT, _UNKNOWN = 0, 1, 2


def safe_approach_pct(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Of streets and paths within a 400 m walk, the share that is path, low-speed or has a sidewalk.

    A street has a sidewalk where its data say so or a path runs within 5 m of its pavement. Where
    neither is said, it is not known: the interval counts it as without, and as with; the value is its
    middle, and unknown where less than half the length is known.
    """
    ways = site.ways
    if ways is None:
        nowhere = "unknown: the study has neither streets nor paths to walk along"
        return Measured(pd.Series(np.nan, index=pads.index), note=pd.Series(nowhere, pads.index))
    kind = _kinds(ways, site)
    found = approaches(pads.geometry, ways, within_m=LAST_M)
    lengths_m = np.array(
        [np.bincount(kind[a.edge], weights=a.length_m, minlength=3) for a in found]
    ).reshape(-1, 3)
    whole_m, known_m = lengths_m.sum(axis=1), lengths_m[:, :_UNKNOWN].sum(axis=1)
    with np.errstate(invalid="ignore", divide="ignore"):
        low = np.round(100 * lengths_m[:, _WITH] / whole_m, 9)
        high = np.round(100 * lengths_m[:, [_WITH, _UNKNOWN]].sum(axis=1) / whole_m, 9)
    value = np.where(known_m >= LEAST_KNOWN * whole_m, (low + high) / 2, np.nan)
    return Measured(
        pd.Series(value, index=pads.index),
        low=pd.Series(low, index=pads.index),
        high=pd.Series(high, index=pads.index),
        note=pd.Series([_told(*one) for one in zip(found, lengths_m, strict=True)], pads.index),
    )


def _kinds(ways: WalkNetwork, site: Site) -> NDArray[np.intp]:
    """Whether each edge is safe to walk along, not, or nobody knows."""
    streets = site.layer("streets")
    kind = np.full(len(ways.edges), _WITH, dtype=np.intp)
    of_street = np.flatnonzero((ways.line >= 0) & (ways.line < len(streets)))
    if not len(of_street):
        return kind
    own = streets.iloc[ways.line[of_street]]
    said, slow = own["sidewalk"], ~own["class"].isin(BUSY).to_numpy()
    has = said.isin(SIDEWALK).to_numpy() | slow
    half_m = own["pavement_width_m"].fillna(0.0).to_numpy() / 2
    middles = shapely.line_interpolate_point(ways.edges[of_street], 0.5, normalized=True)
    paths = shapely.STRtree(ways.edges[ways.line >= len(streets)])
    beside = np.zeros(len(of_street), dtype=bool)
    beside[paths.query(middles, predicate="dwithin", distance=half_m + BESIDE_M)[0]] = True
    kind[of_street] = np.select(
        [has | beside, said.eq("no").fillna(value=False).to_numpy()], [_WITH, _WITHOUT], _UNKNOWN
    )
    return kind


def _told(approach: Approach, lengths_m: NDArray[np.float64]) -> str:
    whole_m = lengths_m.sum()
    if not whole_m:
        return "no street or path can be reached from the play area"
    parts = [f"{whole_m:.0f} m of streets and paths within a walk of {LAST_M:.0f} m"]
    if lengths_m[_UNKNOWN]:
        parts.append(f"sidewalk not known along {lengths_m[_UNKNOWN]:.0f} m")
    if approach.crossings:
        parts.append(
            f"busy streets are crossed at {approach.crossings} places, "
            f"{approach.marked} with a mapped crossing"
        )
    return "; ".join(parts)


CRITERION = Criterion(
    name="approach",
    question="Can children walk there safely?",
    plain="share of the last stretch with a sidewalk or slow traffic",
    unit=Unit.PERCENT,
    needs=("streets",),
    measure=safe_approach_pct,
    curve=Curve.rising(
        poor=30.0,
        acceptable=60.0,
        ideal=90.0,
        unit=Unit.PERCENT,
        source="common practice, no source",
    ),
    weight=3,
    plausible=(0, 100),
    # what a map means by not naming a sidewalk it means everywhere (common practice)
    shared_error=0.5,
    group="Getting there and comfort",
    sources=(
        Source("a five-minute walk of 400 m; sidewalks and marked crossings", "common practice"),
    ),
    field_task="Walk the last 400 m from each side at a child's pace: sidewalks, sight, signals.",
)
