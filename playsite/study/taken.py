"""What each rule took of each parcel, as shapes to draw: the ledger has the areas."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import geopandas as gpd

from playsite.result import TAKEN_COLUMNS

if TYPE_CHECKING:
    from collections.abc import Mapping

    from playsite.study.searching import ParcelSearch

__all__ = ["taken_table"]

_MOST_DRAWN = 4_000
_TOLERANCE_M = 0.2


def taken_table(searches: Mapping[str, ParcelSearch], crs: Any) -> gpd.GeoDataFrame:
    """Shapes of what was taken, ``TAKEN_COLUMNS``; empty where parcels are too many to be drawn."""
    rows = [
        (parcel_id, row.rule, shape.simplify(_TOLERANCE_M))
        for parcel_id, each in searches.items()
        for row, shape in zip(each.ledger, each.taken, strict=True)
        if row.removed_m2 > 0 and len(searches) <= _MOST_DRAWN
    ]
    return gpd.GeoDataFrame(rows, columns=list(TAKEN_COLUMNS), geometry="geometry", crs=crs)
