"""Standing water: the share of the pad and its surroundings that lies in closed hollows."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from playsite.criteria._contract import Criterion, Measured, Source
from playsite.criteria._curve import Curve
from playsite.criteria._hollows import AROUND_M, hollows_at
from playsite.pads.pad_rectangles import rectangles_of_pads
from playsite.terrain.low_spots import low_spot_share_pct
from playsite.units import Unit

if TYPE_CHECKING:
    import geopandas as gpd

    from playsite.site import Site

__all__ = ["CRITERION"]

_HANDBOOK = (
    "U.S. Consumer Product Safety Commission, Public Playground Safety Handbook, Pub. 325, 2.1: "
    "slope and drainage are siting factors, no figure given"
)


def low_spot_share_of_pad_pct(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Share of the pad and 3 m around it inside closed low spots, as a first filter."""
    spots, ground = site.low_spots, site.ground
    if spots is None or ground is None:
        why = "" if ground is None else f"not assessed: cells of {ground.cell_m:g} m are too coarse"
        return Measured(
            pd.Series(float("nan"), index=pads.index), note=pd.Series(why, index=pads.index)
        )
    rectangles = rectangles_of_pads(pads)
    share = np.full(len(rectangles.pad), np.nan)
    for rows, length_m, width_m in rectangles.by_size():
        share[rows] = low_spot_share_pct(
            spots.labels,
            ground.transform,
            rectangles.places[rows],
            length_m=length_m,
            width_m=width_m,
            margin_m=AROUND_M,
        )
    around_m2 = (rectangles.sides_m + 2 * AROUND_M).prod(axis=1)
    value = pd.Series(rectangles.mean(share, around_m2), index=pads.index)
    note = value.map(
        lambda pct: "a closed hollow touches the pad: look after rain" if pct > 0 else ""
    )
    return Measured(value, note=note)


def credible_share_of_pad_pct(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Share of the pad and 3 m around it inside low spots that are real with 60 % or more.

    By conditional simulation in a window round the pad (docs/low_spots.md). The interval reaches
    from spots that are real with 95 % to those to be looked at in the field, 20 %.
    """
    if site.low_spots is None or site.ground is None:
        return low_spot_share_of_pad_pct(pads, site)
    found = [hollows_at(pad, site) for pad in pads.geometry]
    shares = np.array([each.share_pct for each in found]).reshape(-1, 3)
    return Measured(
        value=pd.Series(shares[:, 0], index=pads.index),
        low=pd.Series(shares[:, 1], index=pads.index),
        high=pd.Series(shares[:, 2], index=pads.index),
        note=pd.Series([each.note for each in found], index=pads.index, dtype=str),
    )


CRITERION = Criterion(
    name="standing_water",
    question="Will water stand on the play area?",
    plain="share of the play area and 3 m around it in closed hollows",
    unit=Unit.PERCENT,
    needs=("elevation",),
    measure=low_spot_share_of_pad_pct,
    curve=Curve.falling(
        ideal=0.0, acceptable=5.0, poor=20.0, unit=Unit.PERCENT, source="common practice, no source"
    ),
    weight=6,
    plausible=(0, 100),
    group="Ground and water",
    cost="quick",
    refine=credible_share_of_pad_pct,
    sources=(Source(_HANDBOOK),),
    field_task="After rain, look for standing water, moss, cracked mud and inlets; ask the mowing crew.",
)
