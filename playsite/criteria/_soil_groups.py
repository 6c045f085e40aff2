"""Hydrologic group and depth to water under each pad, as far as a soil survey tells."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from playsite.criteria._overlay import pieces

if TYPE_CHECKING:
    import geopandas as gpd

__all__ = ["soil_groups"]

_LEAST_KNOWN = 0.5


def soil_groups(pads: gpd.GeoDataFrame, soils: gpd.GeoDataFrame) -> pd.DataFrame:
    """Group under most of each pad whose soil is known, and the least depth to water.

    Parameters
    ----------
    pads
        As criteria get them.
    soils
        As the layer is read: ``group, water_table_m, part, is_made``; may be empty.

    Returns
    -------
    DataFrame
        By pad: ``group`` (dual ones as they are; None where less than half of the pad has a known
        one) and ``water_table_m`` (NaN where not known).
    """
    found = pd.DataFrame({"group": None, "water_table_m": np.nan}, index=pads.index, dtype=object)
    if not len(soils):
        return found
    on = pieces(pads, soils.geometry).join(
        soils[["group", "water_table_m", "part", "is_made"]], on="feature"
    )
    on = on[~on["is_made"].astype(bool)]
    on["share"] = on["area_m2"] * on["part"] / on["pad_id"].map(pads.area)
    for pad_id, own in on.groupby("pad_id"):
        shares = own.dropna(subset="group").groupby("group")["share"].sum()
        if shares.sum() >= _LEAST_KNOWN:
            found.loc[pad_id, "group"] = shares.idxmax()
        found.loc[pad_id, "water_table_m"] = own["water_table_m"].astype(float).min()
    return found
