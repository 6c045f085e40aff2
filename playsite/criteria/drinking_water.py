"""Drinking water: the walk from the pad to the nearest fountain or tap."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.criteria._contract import Criterion, Measured, Source
from playsite.criteria._curve import Curve
from playsite.criteria._nearest_public import walk_to_usable
from playsite.criteria._spoken import Spoken
from playsite.units import Unit

if TYPE_CHECKING:
    import geopandas as gpd

    from playsite.site import Site

__all__ = ["CRITERION"]


def walk_to_drinking_water_m(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Walk from the pad along streets and paths to the nearest drinking fountain."""
    return walk_to_usable(pads, site, "drinking_water", "drinking fountain")


CRITERION = Criterion(
    name="drinking_water",
    question="Is drinking water near?",
    plain="walk to the nearest drinking fountain",
    unit=Unit.METRE,
    needs=("drinking_water",),
    measure=walk_to_drinking_water_m,
    curve=Curve.falling(
        ideal=30.0,
        acceptable=60.0,
        poor=150.0,
        unit=Unit.METRE,
        source="common practice, no source",
    ),
    weight=1,
    plausible=(0, 100_000),
    group="Getting there and comfort",
    sources=(Source("distances of a short walk with a small child", "common practice"),),
    spoken=Spoken(beside="to walk"),
    field_task="Try the fountain: does it run, at a height for a child and for a wheelchair?",
)
