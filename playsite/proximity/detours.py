"""Why a walk is so much longer than the straight line: what lies in between."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
import shapely

if TYPE_CHECKING:
    from collections.abc import Mapping

    import geopandas as gpd

__all__ = ["DETOUR", "DETOUR_M", "detour_reasons"]

DETOUR = 1.5
"""A walk this many times the straight line is a detour; common practice, no source."""

DETOUR_M = 50.0
"""A walk is no detour where it is longer by less than this; common practice, no source."""


def detour_reasons(
    found: pd.DataFrame,
    origins: gpd.GeoSeries,
    targets: gpd.GeoSeries,
    between: Mapping[str, gpd.GeoSeries],
) -> pd.Series[Any]:
    """Say what the straight line crosses where the walk is a detour.

    Parameters
    ----------
    found
        Of `playsite.proximity.walking.walk_m`.
    origins, targets
        As given to it.
    between
        What may lie in between, by its name in words; the first that does is named first.

    Returns
    -------
    Series
        By the index of ``found``: "3.2 times the straight line, which crosses open water"; empty
        where the walk is no detour, or there is none.
    """
    out: pd.Series[Any] = pd.Series("", index=found.index, dtype=object)
    long = (found["walk_m"] > DETOUR * found["straight_m"]) & (
        found["walk_m"] > found["straight_m"] + DETOUR_M
    )
    rows = found.index[long & np.isfinite(found["walk_m"])]
    if not len(rows):
        return out
    aims = [targets[found["target"][row]] for row in rows]
    lines = np.asarray(shapely.shortest_line(origins.loc[rows].to_numpy(), np.array(aims)))
    crossed: list[list[str]] = [[] for _ in rows]
    for name, shapes in between.items():
        hit = shapely.STRtree(shapes.to_numpy()).query(lines, predicate="intersects")[0]
        for k in np.unique(hit).tolist():
            crossed[k].append(name)
    for row, names in zip(rows, crossed, strict=True):
        ratio = found["walk_m"][row] / max(found["straight_m"][row], 1.0)
        what = f"which crosses {' and '.join(names)}" if names else "along which no way is mapped"
        out[row] = f"{ratio:.1f} times the straight line, {what}"
    return out
