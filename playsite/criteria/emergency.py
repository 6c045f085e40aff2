"""Emergency: the way from where a fire engine or ambulance can stop to the play area."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from playsite.criteria._contract import Criterion, Measured, Source
from playsite.criteria._curve import Curve
from playsite.criteria._dashed import far, lines_of, named
from playsite.criteria._service_streets import Demand, service_streets
from playsite.criteria._spoken import Spoken
from playsite.criteria._standing import blocks_of_walks
from playsite.proximity.dash import dash_m
from playsite.units import LENGTHS_M, Unit

if TYPE_CHECKING:
    import geopandas as gpd

    from playsite.site import Site

__all__ = ["CRITERION", "FIRE_ENGINE", "REACH_M"]

REACH_M = 150 * LENGTHS_M["ft"]
"""Reach from the apparatus to all parts of a facility (International Fire Code, 503.1.1)."""

FIRE_ENGINE = Demand(
    weight_t=34.05, height_m=13.5 * LENGTHS_M["ft"], width_m=20 * LENGTHS_M["ft"], grade_pct=10.0
)
"""What the fire code asks of an access road: 75,000 lb, 13 ft 6 in, 20 ft, 10 % (D102.1, 503.2.1, D103.2)."""

_LOOK_M = 150.0
_STRETCHER_M = 0.915
_CODE = Source(
    "International Fire Code, 503.1.1 (150 ft to all portions of a facility), D102.1 (75,000 lb), "
    "D103.2 (10 % of grade): for buildings, borrowed here; the local code and fire chief decide"
)
_WIDTH = Source("International Fire Code, 503.2.1 (20 ft wide, 13 ft 6 in high)", "from memory")


def emergency_way_m(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Way on foot from a street that a fire engine may use to the pad's edge, round what stands.

    Streets narrower than 20 ft, steeper than 10 %, or posted below 75,000 lb or 13 ft 6 in don't
    count, nor do those that are reached only past such a sign. Gates count as open.
    """
    streets = service_streets(site, pads.geometry, FIRE_ENGINE)
    if not len(streets):
        return far(pads, "no street near that is wide, level and strong enough for a fire engine")
    found = dash_m(
        pads.geometry,
        streets.geometry,
        blocks_of_walks(site),
        reach_m=_LOOK_M,
        opening_m=_STRETCHER_M,
    )
    return _told(pads, streets, found.rename(columns={"dash_m": "way_m"}))


def _told(pads: gpd.GeoDataFrame, streets: gpd.GeoDataFrame, found: pd.DataFrame) -> Measured:
    names = named(found["feature"].map(streets["name"]), otherwise="a street without a name")
    grade = found["feature"].map(streets["grade_pct"]).astype(float)
    rows: list[Any] = list(found.assign(grade_pct=grade, name=names).itertuples())
    notes = [_note(row, pad) for row, pad in zip(rows, pads.geometry, strict=True)]
    lines = lines_of(found, "from " + names, pads.crs)
    return Measured(
        found["way_m"],
        note=pd.Series(notes, index=pads.index, dtype=str),
        evidence=replace_empty(lines),
    )


def replace_empty(lines: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Leave out ways that there are none of."""
    return lines[~lines.geometry.is_empty]


def _note(row: Any, pad: Any) -> str:
    if not np.isfinite(row.way_m):
        return f"no way on foot within {_LOOK_M:.0f} m from a street that a fire engine may use"
    farthest_m = row.way_m + float(np.hypot(*np.ptp(np.reshape(pad.bounds, (2, 2)), axis=0)))
    grade = (
        "its grade is not known" if np.isnan(row.grade_pct) else f"its grade {row.grade_pct:.0f} %"
    )
    return (
        f"from {row.name}, {grade}; to the farthest part of the play area {farthest_m:.0f} m at most, "
        f"{REACH_M:.0f} m is the fire code's reach to all parts of a building"
    )


CRITERION = Criterion(
    name="emergency",
    question="Can an ambulance or fire engine get near?",
    plain="way from where a fire engine can stop to the play area",
    unit=Unit.METRE,
    needs=("streets",),
    measure=emergency_way_m,
    curve=Curve.falling(
        ideal=45.0,
        acceptable=90.0,
        poor=150.0,
        unit=Unit.METRE,
        source="45 m: International Fire Code, 503.1.1, borrowed; the rest common practice, no source",
    ),
    weight=1,
    plausible=(0, 100_000),
    group="Getting there and comfort",
    cost="best",
    sources=(_CODE, _WIDTH),
    spoken=Spoken(beside="to walk"),
    field_task="Ask the fire department where it would stop; check the street's address and signs.",
)
