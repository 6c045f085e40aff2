"""Restroom: the walk from the pad to the nearest public restroom."""

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


def walk_to_restroom_m(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Walk from the pad along streets and paths to the nearest public, open, accessible restroom.

    Open: in three quarters of play hours on every day of the week. A restroom of unknown hours or
    access counts, and that is told.
    """
    return walk_to_usable(pads, site, "restrooms", "restroom")


CRITERION = Criterion(
    name="restroom",
    question="Is a restroom within a short walk?",
    plain="walk to the nearest public restroom that is open",
    unit=Unit.METRE,
    needs=("restrooms",),
    measure=walk_to_restroom_m,
    curve=Curve.falling(
        ideal=60.0,
        acceptable=120.0,
        poor=200.0,
        unit=Unit.METRE,
        source="common practice, no source",
    ),
    weight=5,
    plausible=(0, 100_000),
    group="Getting there and comfort",
    sources=(Source("distances of a short walk with a small child", "common practice"),),
    spoken=Spoken(beside="to walk"),
    field_task="Try the door: open in play hours and season, accessible? Time the walk with a small child.",
)
