"""For people who add a criterion of their own: one call that holds it to the contract."""

from __future__ import annotations

from types import SimpleNamespace
from typing import TYPE_CHECKING, Any, cast

import geopandas as gpd
import numpy as np
import shapely

from playsite.criteria._contract import Criterion, measured
from playsite.errors import ContractError

if TYPE_CHECKING:
    from playsite.site import Site

__all__ = ["check_criterion", "made_up_pads"]


def made_up_pads(count: int = 4) -> gpd.GeoDataFrame:
    """Pads of 32 by 22 m in a row, with all columns that a criterion is given."""
    easting = 500_016.0 + 60 * np.arange(count)
    table = {
        "parcel_id": [f"P{number}" for number in range(count)],
        "easting": easting,
        "northing": 4_500_011.0,
        "rotation_deg": 0.0,
        "length_m": 32.0,
        "width_m": 22.0,
        "largest_scale": 1.2,
    }
    shapes = shapely.box(easting - 16, 4_500_000, easting + 16, 4_500_022)
    return gpd.GeoDataFrame(table, geometry=shapes, crs="EPSG:26918").rename_axis("pad_id")


def check_criterion(criterion: Criterion, *, pads: gpd.GeoDataFrame, site: Site) -> None:
    """Hold a criterion to its contract on pads and a site of your own.

    Parameters
    ----------
    criterion
        Yours.
    pads
        What it is to measure; ``made_up_pads()`` gives some.
    site
        A site that holds the layers it needs.

    Raises
    ------
    ContractError
        If it is no criterion, says too little of itself, depends on the order or the number of
        pads, gives a value where its layer is absent, or breaks the contract otherwise.
    """
    if not isinstance(criterion, Criterion):
        raise ContractError(f"a Criterion is due, not {type(criterion).__name__}")
    for said in ("name", "question", "plain", "method", "group"):
        if not str(getattr(criterion, said)).strip():
            raise ContractError(f'criterion "{criterion.name}" says nothing under {said}')
    if not criterion.sources:
        raise ContractError(
            f'criterion "{criterion.name}" cites no source: "common practice" is one too'
        )
    whole = measured(criterion, pads, site).value
    turned = measured(criterion, pads.iloc[::-1], site).value
    if not np.allclose(whole, turned.loc[whole.index], equal_nan=True):
        raise ContractError(f'criterion "{criterion.name}" depends on the order of the pads')
    alone = measured(criterion, pads.iloc[:1], site).value
    if not np.allclose(whole.iloc[:1], alone, equal_nan=True):
        raise ContractError(f'criterion "{criterion.name}" depends on which other pads there are')
    nothing = cast("Any", SimpleNamespace(has=lambda kind: False))  # noqa: ARG005
    if criterion.needs and measured(criterion, pads, nothing).value.notna().any():
        raise ContractError(f'criterion "{criterion.name}" gives a value without its layers')
