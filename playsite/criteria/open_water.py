"""Open water: how far a child would run to the nearest pond, stream or basin."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.criteria._contract import Condition, Criterion, Measured, Screen, Source
from playsite.criteria._curve import Curve
from playsite.criteria._dashed import dashed, far, named, way_texts, ways_of, with_gaps_closed
from playsite.criteria._spoken import Spoken
from playsite.units import Unit

if TYPE_CHECKING:
    import geopandas as gpd

    from playsite.site import Site

__all__ = ["CRITERION"]

_TOO_NEAR_M = 6.0
_REACH_M = 120.0  # ways longer than twice the ideal are not looked for
_IDEAL_M = 60.0
_SOURCE = Source(
    "Caring for Our Children, standards 6.1.0.6 and 6.1.0.8: no unfenced ponds, ditches, basins "
    "beside a play area; the distances are common practice"
)


def water_dash_m(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Shortest way of a running child from the pad's edge to the high-water edge, round barriers.

    Fences, walls and buildings stop a child, open gates and gaps don't. Where no way is found
    within 120 m, that or the straight distance counts. A fence raises the value and never lifts the
    condition: that one reads the straight distance.
    """
    water = site.layer("water")
    if not len(water):
        return far(pads, "the water layer holds none near", "open_m", "straight_m")
    found = dashed(pads, water.geometry, site, reach_m=_REACH_M, over_water=True)
    names = named(found["feature"].map(water["name"]), otherwise="water without a name")
    dry = found["feature"].map(water["intermittent"].fillna(value=False)).astype(bool)
    names = names.where(~dry, names + " (dry at times)")
    closed = with_gaps_closed(pads, water.geometry, site, found, below_m=_IDEAL_M, over_water=True)
    return Measured(
        found["at_least_m"],
        note=names + ": " + way_texts(found, site) + closed.said,
        evidence=ways_of(found, names, site, closed.lines),
        also={"open_m": found["dash_m"], "straight_m": found["straight_m"]},
    )


CRITERION = Criterion(
    name="open_water",
    question="Can a child reach open water?",
    plain="way of a running child to the nearest open water",
    unit=Unit.METRE,
    needs=("water",),
    measure=water_dash_m,
    curve=Curve.rising(
        poor=10.0,
        acceptable=30.0,
        ideal=_IDEAL_M,
        unit=Unit.METRE,
        source="common practice, no source",
    ),
    weight=6,
    plausible=(0, 100_000),
    group="Hazards",
    cost="quick",
    screens=(
        Screen(
            rule="6 m or less from open water with nothing between",
            limit=_TOO_NEAR_M,
            unit=Unit.METRE,
            out_when="at or below",
            source=_SOURCE,
            reads="open_m",
            takes_worse=True,
            short="near water",
        ),
    ),
    conditions=(
        Condition(
            rule="nearer to open water than 30 m",
            limit=30.0,
            unit=Unit.METRE,
            needs="a barrier between the play area and the water",
            source=_SOURCE,
            reads="straight_m",
            takes_worse=True,
        ),
    ),
    sources=(_SOURCE,),
    spoken=Spoken(beside="to run"),
    field_task="Look for water that is on no map: ditches, basins that fill after rain; measure to its bank.",
)
