"""Wetland: how far the pad lies from the nearest mapped wetland."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from playsite.criteria._contract import Criterion, Measured, Screen, Source
from playsite.criteria._curve import Curve
from playsite.criteria._dashed import lines_of, named
from playsite.criteria._overlay import extent_of, pieces, reach_m
from playsite.criteria._spoken import Spoken
from playsite.proximity.clearance import nearest
from playsite.units import Unit

if TYPE_CHECKING:
    import geopandas as gpd

    from playsite.site import Site

__all__ = ["CRITERION", "hydric_pct"]

_BUFFER_M = 15.0
_IDEAL_M = 30.0
_SOURCE = Source("local buffers are 15 to 30 m; common practice, no source", "common practice")
_LIMITS = "photo-interpreted: small ones are missed, and it draws no legal line"


def wetland_clearance_m(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Pad edge to the nearest mapped wetland, straight.

    Unknown where the layer's extent doesn't hold the pad; its interval ends where the extent does.
    """
    layer = site.layer("wetlands")
    hydric = _hydric_text(pads, site)
    if not len(layer):
        value = pd.Series(np.nan, index=pads.index)
        return Measured(value, note="unknown: the layer of wetlands holds nothing near" + hydric)
    wet = layer[~layer["searched"]]
    found = nearest(pads.geometry, wet.geometry)
    mapped_m = found["distance_m"].fillna(np.inf)
    beyond_m = reach_m(pads, extent_of(layer, layer["searched"]))
    held = beyond_m.notna()
    names = named(found["feature"].map(wet["name"]), otherwise="wetland without a name")
    far = mapped_m.map(lambda m: f": {m:.0f} m" if np.isfinite(m) else "")
    told = (names + far).where(np.isfinite(mapped_m), "none is mapped near")
    blind = "unknown: the layer's extent doesn't reach here"
    return Measured(
        mapped_m.where(held),
        low=mapped_m.clip(upper=beyond_m).where(held),
        high=mapped_m.where(held),
        note=told.where(held, blind + "; the nearest, " + told) + f" ({_LIMITS})" + hydric,
        evidence=lines_of(found.rename(columns={"line": "path"}), names, pads.crs),
        also={"mapped_m": mapped_m},
    )


def hydric_pct(pads: gpd.GeoDataFrame, soils: gpd.GeoDataFrame) -> pd.Series[float]:
    """Percent of each pad on soil that the survey calls hydric; what it doesn't say counts as none."""
    found = pieces(pads, soils.geometry)
    share = found["feature"].map(soils["part"] * soils["hydric_pct"].fillna(0))
    area_m2 = (found["area_m2"] * share).groupby(found["pad_id"]).sum()
    pct: pd.Series[float] = area_m2.reindex(pads.index).fillna(0.0) / pads.area
    return pct.clip(upper=100)


def _hydric_text(pads: gpd.GeoDataFrame, site: Site) -> pd.Series[str]:
    none: pd.Series[str] = pd.Series("", index=pads.index)
    if not site.has("soils"):
        return none
    hydric = hydric_pct(pads, site.layer("soils"))
    said = "; most of it is hydric soil: ask for a wetland determination"
    return none.where(hydric <= 50, said)


CRITERION = Criterion(
    name="wetland",
    question="Is a wetland near?",
    plain="distance to the nearest mapped wetland",
    unit=Unit.METRE,
    needs=("wetlands",),
    measure=wetland_clearance_m,
    curve=Curve.rising(
        poor=_BUFFER_M, acceptable=22.5, ideal=_IDEAL_M, unit=Unit.METRE, source=str(_SOURCE)
    ),
    weight=1,
    plausible=(0, 100_000),
    group="Ground and water",
    cost="quick",
    screens=(
        Screen(
            rule="15 m or less from a mapped wetland",
            limit=_BUFFER_M,
            unit=Unit.METRE,
            out_when="at or below",
            source=_SOURCE,
            reads="mapped_m",
            takes_worse=True,
            short="near wetland",
        ),
    ),
    sources=(_SOURCE,),
    spoken=Spoken(beside="off"),
    field_task="Ask for the local wetland buffer; look for wet-loving plants and soil wet near the surface.",
)
