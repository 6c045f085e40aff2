"""Parking: the walk from the pad to the nearest public parking."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.criteria._contract import Criterion, Measured, Source
from playsite.criteria._curve import Curve
from playsite.criteria._nearest_public import walk_to_public
from playsite.units import Unit

if TYPE_CHECKING:
    import geopandas as gpd

    from playsite.site import Site

__all__ = ["CRITERION"]


def walk_to_parking_m(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Walk from the pad along streets and paths to the nearest public parking."""
    return walk_to_public(pads, site, "parking", "parking")


CRITERION = Criterion(
    name="parking",
    question="Can families park within a short walk?",
    plain="walk to the nearest public parking",
    unit=Unit.METRE,
    needs=("parking",),
    measure=walk_to_parking_m,
    curve=Curve.falling(
        ideal=60.0,
        acceptable=120.0,
        poor=200.0,
        unit=Unit.METRE,
        source="common practice, no source",
    ),
    weight=3,
    plausible=(0, 100_000),
    group="Getting there and comfort",
    sources=(Source("distances of a short walk with a small child", "common practice"),),
    field_task="Count free spaces at the busiest hour, and accessible ones.",
)
