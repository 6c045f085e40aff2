"""A town's streets and paths as people on foot use them: which are walked, which are busy."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from playsite.proximity.network import walk_network
from playsite.proximity.streets_to_cross import by_rules

if TYPE_CHECKING:
    import geopandas as gpd
    from numpy.typing import NDArray

    from playsite.proximity.network import WalkNetwork
    from playsite.proximity.shapes import ShapesLike

__all__ = ["BUSY", "ELSEWHERE_M", "town_network", "town_ways"]

BUSY = ("collector", "arterial")
"""Classes of streets that a child doesn't cross just anywhere; common practice, no source."""

ELSEWHERE_M = np.inf
"""What crossing a busy street elsewhere counts for: nobody does."""


def town_network(
    streets: gpd.GeoDataFrame, paths: gpd.GeoDataFrame, *, blocked: ShapesLike | None = None
) -> WalkNetwork:
    """Join a town's streets and paths, before any rule of who walks where.

    Parameters
    ----------
    streets, paths
        With ``bridge``; a frame without that column has none.
    blocked
        Water and buildings, which no link crosses.

    Returns
    -------
    WalkNetwork
        Of all streets and then all paths, in their order; for `town_ways`.
    """
    parts = [part for part in (streets, paths) if len(part)]
    lines = (
        pd.concat([part.geometry for part in parts], ignore_index=True)
        if parts
        else streets.geometry
    )
    bridges = np.concatenate([_bridges(part) for part in (streets, paths)])
    roads = np.repeat([True, False], [len(streets), len(paths)])
    return walk_network(lines, bridges=bridges, roads=roads, blocked=blocked)


def _bridges(frame: gpd.GeoDataFrame) -> NDArray[np.bool_]:
    if "bridge" not in frame:
        return np.zeros(len(frame), dtype=np.bool_)
    return np.asarray(frame["bridge"].fillna(value=False).to_numpy(dtype=bool))


def town_ways(
    network: WalkNetwork,
    streets: gpd.GeoDataFrame,
    paths: gpd.GeoDataFrame,
    *,
    crossings: ShapesLike | None = None,
    rails: ShapesLike | None = None,
    crossed: bool | tuple[str, ...] = True,
    unmarked_m: float = 0.0,
    step_free: bool = False,
) -> WalkNetwork:
    """Walk where the public walks, and cross busy streets only where that is done.

    Parameters
    ----------
    network
        Made of all streets and then all paths, in their order.
    streets
        With ``class``, ``is_walked`` and ``name``.
    paths
        With ``is_public`` and ``is_step_free``; a column that is lacking keeps nobody out.
    crossings
        Mapped crossings that are of use.
    rails
        Rails: crossed only by a street or path.
    crossed
        Whether busy streets are crossed at all but by bridge and tunnel; or the names of those that are.
    unmarked_m
        What crossing one where another way joins counts for, with no crossing mapped.
    step_free
        Whether steps, and paths that no wheelchair can use, are left out.

    Returns
    -------
    WalkNetwork
        As `playsite.proximity.streets_to_cross.by_rules` makes it.
    """
    shut = ~_flags(paths, "is_public")
    if step_free:
        shut = shut | ~_flags(paths, "is_step_free")
    kinds = streets["class"] if "class" in streets else pd.Series(index=streets.index, dtype=str)
    busy = kinds.isin(BUSY).to_numpy()
    never = busy & ~crossed if isinstance(crossed, bool) else busy & ~_named(streets, crossed)
    none = np.zeros(len(paths), dtype=bool)
    return by_rules(
        network,
        closed=np.r_[~_flags(streets, "is_walked"), shut],
        busy=np.r_[busy, none],
        never=np.r_[never, none],
        crossings=crossings,
        walls=rails,
        junction_m=unmarked_m,
        elsewhere_m=ELSEWHERE_M,
    )


def _named(streets: gpd.GeoDataFrame, names: tuple[str, ...]) -> NDArray[np.bool_]:
    own = streets["name"].astype("object").fillna("").astype(str).str.strip().str.lower()
    return np.asarray(own.isin([name.strip().lower() for name in names]).to_numpy(dtype=bool))


def _flags(frame: gpd.GeoDataFrame, name: str) -> NDArray[np.bool_]:
    if name not in frame:
        return np.ones(len(frame), dtype=np.bool_)
    return np.asarray(frame[name].to_numpy(dtype=bool))
