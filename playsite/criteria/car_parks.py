"""Car parks: how far a child would run to where cars turn and back out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.criteria._contract import Condition, Criterion, Measured, Source
from playsite.criteria._curve import Curve
from playsite.criteria._dashed import dashed, far, named, way_texts, ways_of, with_gaps_closed
from playsite.criteria._spoken import Spoken
from playsite.units import Unit

if TYPE_CHECKING:
    import geopandas as gpd

    from playsite.site import Site

__all__ = ["CRITERION"]

_DUE_M = 20.0
_REACH_M = 60.0  # twice the ideal
_SOURCE = Source(
    "Camden (Australia), open-space design manual, 2023: under 20 m from a car park needs a barrier; "
    "the other distances are common practice"
)


def car_park_dash_m(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Shortest way of a running child from pad edge to the nearest car park, round barriers.

    Every car park counts, private ones too. The walk from one should be short and the run to it
    barred: both are measured, each for itself. The condition reads the straight distance.
    """
    parks = site.layer("parking")
    if not len(parks):
        return far(pads, "the parking layer holds none near", "straight_m")
    found = dashed(pads, parks.geometry, site, reach_m=_REACH_M)
    names = named(found["feature"].map(parks["name"]), otherwise="a car park without a name")
    drawn = found["feature"].map(parks.geom_type) == "Point"
    closed = with_gaps_closed(pads, parks.geometry, site, found, below_m=_DUE_M)
    said = way_texts(found, site) + closed.said
    said = said.where(~drawn, said + "; the car park is a point: its edge is nearer")
    return Measured(
        found["at_least_m"],
        note=names + ": " + said,
        evidence=ways_of(found, names, site, closed.lines),
        also={"straight_m": found["straight_m"]},
    )


CRITERION = Criterion(
    name="car_parks",
    question="Can a child run in among turning cars?",
    plain="way of a running child to the nearest car park",
    unit=Unit.METRE,
    needs=("parking",),
    measure=car_park_dash_m,
    curve=Curve.rising(
        poor=8.0, acceptable=_DUE_M, ideal=30.0, unit=Unit.METRE, source=str(_SOURCE)
    ),
    weight=2,  # beside the walk from one: that should be short, and the run to it barred
    plausible=(0, 100_000),
    group="Hazards",
    conditions=(
        Condition(
            rule="nearer to a car park than 20 m",
            limit=_DUE_M,
            unit=Unit.METRE,
            needs="a barrier between the play area and the car park",
            source=_SOURCE,
            reads="straight_m",
            takes_worse=True,
        ),
    ),
    sources=(_SOURCE,),
    spoken=Spoken(beside="to run"),
    field_task="Look for drives and aisles on no map; watch where cars back out.",
)
