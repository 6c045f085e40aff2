"""Parts of a walk network that hang loose: nobody can walk from them to the rest of the town."""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import shapely
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from playsite.problems import Finding

if TYPE_CHECKING:
    from playsite.proximity.network import WalkNetwork

__all__ = ["LOOSE_M", "loose_finding", "loose_parts"]

LOOSE_M = 50.0
"""A loose part shorter than this is told in the count only; common practice, no source."""


def loose_parts(network: WalkNetwork) -> gpd.GeoDataFrame:
    """Parts of a network that no way along streets and paths joins to its largest one.

    Parameters
    ----------
    network
        Of `playsite.proximity.walking.walk_network`, with or without rules of crossing.

    Returns
    -------
    GeoDataFrame
        One row a loose part, the longest first: ``length_m`` and its lines; without a row where all
        hangs together or there is no network.

    Examples
    --------
    >>> from shapely import LineString
    >>> from playsite.proximity.walking import walk_network
    >>> town = [LineString([(0, 0), (90, 0)]), LineString([(40, 0), (40, 60)])]
    >>> loose_parts(walk_network([*town, LineString([(0, 9), (20, 9)])])).length_m.tolist()
    [20.0]
    """
    i = np.r_[network.start, network.joints[:, 0]]
    j = np.r_[network.end, network.joints[:, 1]]
    shape = (network.nodes, network.nodes)
    together = coo_array((np.ones(len(i), dtype=np.int8), (i, j)), shape=shape)
    part = connected_components(together, directed=False)[1][network.start] if len(i) else i
    once = np.where(network.side >= 0, network.length_m, 0.0)
    length_m = np.bincount(part, weights=once) if len(part) else np.empty(0)
    order = np.lexsort((np.arange(len(length_m)), -length_m))
    loose = [p for p in order.tolist()[1:] if length_m[p] > 0]
    lines = [shapely.line_merge(shapely.union_all(network.edges[part == p])) for p in loose]
    return gpd.GeoDataFrame({"length_m": length_m[loose]}, geometry=lines, crs=network.crs)


def loose_finding(network: WalkNetwork) -> Finding | None:
    """Say how much of a network hangs loose; None where all hangs together."""
    parts = loose_parts(network)
    if not len(parts):
        return None
    whole_m = float(network.length_m[network.side >= 0].sum())
    long = parts[parts["length_m"] >= LOOSE_M]
    places = (row.geometry.representative_point() for row in long.head(3).itertuples())
    told = "; ".join(f"{p.x:.0f}, {p.y:.0f}" for p in places)
    return Finding(
        f"Parts of the streets and paths that hang loose: {len(parts)}, "
        f"{parts['length_m'].sum() / whole_m:.1%} of their length.",
        "No walk leads from them to the rest: a place there can't be reached.",
        "Look whether a bridge, a crossing or a link is missing from the map, or a gap is too wide.",
        layer="paths",
        where=f"the longest at {told}" if told else "",
        count=len(parts),
        weight="caution" if len(long) else "note",
    )
