"""Transit: the walk from the pad to the nearest stop."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.criteria._contract import Criterion, Measured, Source
from playsite.criteria._curve import Curve
from playsite.criteria._nearest_public import walk_to_public
from playsite.criteria._spoken import Spoken
from playsite.units import Unit

if TYPE_CHECKING:
    import geopandas as gpd

    from playsite.site import Site

__all__ = ["CRITERION"]


def walk_to_transit_m(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Walk from the pad along streets and paths to the nearest transit stop."""
    return walk_to_public(pads, site, "transit_stops", "transit stop")


CRITERION = Criterion(
    name="transit",
    question="Can families come by bus or train?",
    plain="walk to the nearest transit stop",
    unit=Unit.METRE,
    needs=("transit_stops",),
    measure=walk_to_transit_m,
    curve=Curve.falling(
        ideal=150.0,
        acceptable=400.0,
        poor=800.0,
        unit=Unit.METRE,
        source="common practice, no source",
    ),
    weight=0,
    plausible=(0, 100_000),
    group="Getting there and comfort",
    sources=(Source("distances of a short walk with a small child", "common practice"),),
    spoken=Spoken(beside="to walk"),
    field_task="Look at the times of the bus on a Saturday, and whether the stop has a curb ramp.",
)
