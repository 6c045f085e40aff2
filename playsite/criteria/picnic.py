"""Picnic: the walk from the pad to the nearest table, shelter or seat."""

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


def walk_to_picnic_m(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Walk from the pad along streets and paths to the nearest picnic place."""
    return walk_to_usable(pads, site, "picnic", "picnic place")


CRITERION = Criterion(
    name="picnic",
    question="Is there a table or shelter to sit at?",
    plain="walk to the nearest picnic table or shelter",
    unit=Unit.METRE,
    needs=("picnic",),
    measure=walk_to_picnic_m,
    curve=Curve.falling(
        ideal=40.0,
        acceptable=100.0,
        poor=250.0,
        unit=Unit.METRE,
        source="common practice, no source",
    ),
    weight=1,
    plausible=(0, 100_000),
    group="Getting there and comfort",
    sources=(Source("distances of a short walk with a small child", "common practice"),),
    spoken=Spoken(beside="to walk"),
    field_task="Is the shelter let out on weekends? Does a table have room for a wheelchair?",
)
