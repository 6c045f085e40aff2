"""Duplication: the walk to the nearest playground there is today."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.criteria._contract import Criterion, Source
from playsite.criteria._curve import Curve
from playsite.criteria._nearest_public import walk_to_public
from playsite.criteria._spoken import Spoken
from playsite.units import Unit

if TYPE_CHECKING:
    import geopandas as gpd

    from playsite.criteria._contract import Measured
    from playsite.site import Site

__all__ = ["CRITERION"]


def playground_walk_m(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Walk along streets and paths to the nearest public playground there is today."""
    return walk_to_public(pads, site, "playgrounds", "playground")


CRITERION = Criterion(
    name="duplication",
    question="Is there a playground nearby already?",
    plain="walk to the nearest playground there is today",
    unit=Unit.METRE,
    needs=("playgrounds",),
    measure=playground_walk_m,
    curve=Curve.rising(
        poor=200.0,
        acceptable=400.0,
        ideal=800.0,
        unit=Unit.METRE,
        source="common practice, no source",
    ),
    # The children that it would serve twice are left out of the need already.
    weight=0,
    plausible=(0, 100_000),
    group="Need",
    cost="best",
    sources=(Source("a walk of 5 to 10 minutes between playgrounds", "common practice"),),
    spoken=Spoken(beside="to walk"),
    field_task="Visit the nearest playground: is it open to all, and as good as the one planned?",
)
