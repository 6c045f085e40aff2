"""Roots: the share of the excavation that lies in the root zones of trees."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from playsite.criteria._contract import Criterion, Measured, Screen, Source
from playsite.criteria._curve import Curve
from playsite.criteria._overlay import pieces, share_pct
from playsite.sun.pad_shade import EXCAVATION_M
from playsite.units import Unit

if TYPE_CHECKING:
    import geopandas as gpd

    from playsite.site import Site

__all__ = ["CRITERION", "MOST_ROOTS_M", "ROOT_DIAMETERS"]

ROOT_DIAMETERS = 12.0
"""Radius of a root zone in diameters of the stem: one foot an inch is the same."""

MOST_ROOTS_M = 15.0  # 707 square metres
_OF_CROWN = 1.5  # roots reach to half as far again as the crown
_USUAL_M = 3.6  # of a stem of 30 cm, where nothing is known of a tree's size
_BS = Source("BS 5837:2012, 4.6: 12 times the stem's diameter, at most 707 square meters")


def in_root_zones_pct(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Share of the pad and 3 m around it within 12 stem diameters of trees, at most 15 m.

    Of a tree without a diameter the crown's radius counts, and in the interval half as much
    again; of one without any size 3.6 m in the interval alone.
    """
    trees = site.layer("trees")
    dug = pads.set_geometry(pads.geometry.buffer(EXCAVATION_M))
    zones = _zones(trees, 1.0)
    value = share_pct(dug, pieces(dug, zones[~zones.is_empty]))
    is_protected = trees["protected"].astype("boolean")
    # Where no tree is said to be protected or not, nothing is known of it.
    silent = not len(trees) or bool(is_protected.isna().all())
    held = share_pct(dug, pieces(dug, zones[is_protected.fillna(value=False) & ~zones.is_empty]))
    note = "" if not silent else "which trees are protected is not known"
    return Measured(
        value,
        low=value,
        high=share_pct(dug, pieces(dug, _zones(trees, _OF_CROWN, _USUAL_M))).clip(lower=value),
        note=pd.Series(note, index=pads.index).where(value > 0, ""),
        also={"protected_pct": held * np.nan if silent else held},
    )


def _zones(trees: gpd.GeoDataFrame, of_crown: float, otherwise_m: float = 0.0) -> gpd.GeoSeries:
    """Root zones: by the stem, else so much of the crown, drawn or round; empty where of no size."""
    by_stem_m = (ROOT_DIAMETERS * trees["diameter_m"].astype(float)).clip(upper=MOST_ROOTS_M)
    crown_m = trees["crown_m"].astype(float)
    round_m = by_stem_m.fillna((of_crown * crown_m).clip(upper=MOST_ROOTS_M)).fillna(otherwise_m)
    zones = trees.geometry.centroid.buffer(round_m)
    drawn = trees.geom_type.str.endswith("Polygon") & by_stem_m.isna()
    wider_m = ((of_crown - 1) * crown_m).fillna(0.0).clip(upper=MOST_ROOTS_M / 2)
    outlines = trees.geometry.buffer(wider_m) if of_crown > 1 else trees.geometry
    return zones.where(~drawn, outlines)


CRITERION = Criterion(
    name="roots",
    question="Would digging cut the roots of trees?",
    plain="share of the excavation in the root zones of trees",
    unit=Unit.PERCENT,
    needs=("trees",),
    measure=in_root_zones_pct,
    curve=Curve.falling(
        ideal=0.0,
        acceptable=10.0,
        poor=25.0,
        unit=Unit.PERCENT,
        source="common practice, no source",
    ),
    weight=3,
    plausible=(0, 100),
    # root zones by the crown, for want of a stem, are one rule's at every site (common practice)
    shared_error=0.5,
    group="Sun and trees",
    cost="quick",
    screens=(
        Screen(
            rule="in the root zone of a protected tree",
            limit=0.0,
            unit=Unit.PERCENT,
            out_when="above",
            source=Source("local protection of trees", "common practice"),
            reads="protected_pct",
            short="protected tree",
        ),
    ),
    sources=(_BS,),
    field_task="Have an arborist measure stems within 15 m of the pad and say which roots may be cut.",
)
