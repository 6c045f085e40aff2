"""Overhead: how far the pad lies from power lines, and from the land kept for them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from playsite.criteria._contract import Condition, Criterion, Measured, Screen, Source
from playsite.criteria._curve import Curve
from playsite.criteria._dashed import far, lines_of, named
from playsite.proximity.clearance import clearance_m, nearest
from playsite.units import LENGTHS_M, Unit

if TYPE_CHECKING:
    import geopandas as gpd
    import numpy.typing as npt

    from playsite.site import Site

__all__ = ["CRANE_M", "CRITERION", "SCHOOL_M", "crane_m", "school_m"]

_FT = LENGTHS_M["ft"]
CRANE_M = {50.0: 10 * _FT, 200.0: 15 * _FT, 350.0: 20 * _FT, 500.0: 25 * _FT, 750.0: 35 * _FT}
"""Least distance of a crane and its load from a live line, by the highest kV it holds for."""

SCHOOL_M = {(50.0, 133.0): 100 * _FT, (220.0, 230.0): 150 * _FT, (500.0, 550.0): 350 * _FT}
"""Distance of a school from the edge of a line's right-of-way, by kV: a precedent, no rule for parks."""

_UNDER_M = 5.0
_BOOM_M = 12.0
"""How far a crane that sets play equipment reaches beyond the pad (common practice, no source)."""

_CRANE = Source("29 CFR 1926.1408, table A", "from memory")
_PRACTICE = Source("common practice, no source", "common practice")
_SCHOOL = Source(
    "Cal. Code Regs. tit. 5 sec. 14010(c), for school sites only: a published precedent, no rule for parks"
)


def crane_m(voltage_kv: npt.ArrayLike) -> npt.NDArray[np.float64]:
    """Least distance of equipment from a live line, m; the largest where the voltage is unknown.

    Above 750 kV the utility decides: NaN.

    Examples
    --------
    >>> [round(float(m) / 0.3048) for m in crane_m([12, 50, 138, 345, 500, 700])]
    [10, 10, 15, 20, 25, 35]
    """
    kv = np.nan_to_num(np.asarray(voltage_kv, dtype=float), nan=max(CRANE_M))
    steps = np.array([*CRANE_M.values(), np.nan])
    least_m: npt.NDArray[np.float64] = steps[np.searchsorted(list(CRANE_M), kv, side="left")]
    return least_m


def school_m(voltage_kv: float) -> float:
    """Setback of school sites from the right-of-way, m; NaN where the rule names none.

    Examples
    --------
    >>> round(school_m(115) / 0.3048), school_m(345)
    (100, nan)
    """
    own = [m for (low, high), m in SCHOOL_M.items() if low <= voltage_kv <= high]
    return own[0] if own else float("nan")


def conductor_clearance_m(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Pad edge to the nearest overhead line or the land kept for it, straight, in plan.

    Lines are conductors, areas are rights-of-way. Local lines and service drops are hardly ever
    mapped: that none is near on the map says nothing of them.
    """
    lines = site.layer("overhead_lines")
    if not len(lines):
        also = ("conductor_m", "right_of_way_m", "crane_share")
        return far(pads, "the layer of overhead lines holds none near: look up at the site", *also)
    flat = lines.geom_type.isin(["Polygon", "MultiPolygon"])
    wires, land = lines[~flat], lines[flat]
    found = nearest(pads.geometry, lines.geometry)
    names = named(found["feature"].map(lines["name"]), otherwise="overhead line")
    kv = found["feature"].map(lines["voltage_kv"])
    said = [_said(*each) for each in zip(found["distance_m"], kv, strict=True)]
    return Measured(
        found["distance_m"],
        note=names + pd.Series(said, index=pads.index, dtype=str),
        evidence=lines_of(found.rename(columns={"line": "path"}), names, pads.crs),
        also={
            "conductor_m": clearance_m(pads.geometry, wires.geometry).fillna(np.inf),
            "right_of_way_m": clearance_m(pads.geometry, land.geometry).fillna(np.inf),
            "crane_share": _crane_share(pads, wires),
        },
    )


def _crane_share(pads: gpd.GeoDataFrame, wires: gpd.GeoDataFrame) -> pd.Series[float]:
    """Distance to conductors over what a crane beside the pad needs, the least of all voltages."""
    due_m = np.nan_to_num(crane_m(wires["voltage_kv"]), nan=max(CRANE_M.values())) + _BOOM_M
    share = pd.Series(np.inf, index=pads.index)
    for each in np.unique(due_m):
        away_m = clearance_m(pads.geometry, wires.geometry[due_m == each])
        share = np.minimum(share, away_m / each)
    return share


def _said(distance_m: float, kv: float) -> str:
    if np.isnan(kv):
        return ", voltage unknown: taken as 750 kV for the crane's distance"
    least_m, setback_m = float(crane_m(kv)), school_m(kv)
    crane = (
        f"a crane keeps {least_m:.1f} m"
        if np.isfinite(least_m)
        else "the utility sets the distance"
    )
    near = (
        f"; schools keep {setback_m:.0f} m from such a right-of-way"
        if distance_m < setback_m
        else ""
    )
    return f", {kv:g} kV: {crane}{near}"


CRITERION = Criterion(
    name="overhead",
    question="Does anything hang over the play area?",
    plain="distance to the nearest overhead line or the land kept for it",
    unit=Unit.METRE,
    needs=("overhead_lines",),
    measure=conductor_clearance_m,
    curve=Curve.rising(
        poor=_UNDER_M, acceptable=15.0, ideal=30.0, unit=Unit.METRE, source=str(_PRACTICE)
    ),
    weight=0,
    plausible=(0, 100_000),
    group="Hazards",
    cost="quick",
    screens=(
        Screen(
            rule="nearer to a conductor than 5 m",
            limit=_UNDER_M,
            unit=Unit.METRE,
            out_when="below",
            source=_PRACTICE,
            reads="conductor_m",
            takes_worse=True,
            short="under wires",
        ),
        Screen(
            rule="in the land kept for an overhead line",
            limit=0.0,
            unit=Unit.METRE,
            out_when="at or below",
            source=_PRACTICE,
            reads="right_of_way_m",
            short="line's land",
        ),
    ),
    conditions=(
        Condition(
            rule="a crane beside the play area could come too near to an overhead line",
            limit=1.0,
            unit=Unit.RATIO,
            needs="a lift plan that keeps cranes off the live line",
            source=_CRANE,
            reads="crane_share",
        ),
    ),
    sources=(_CRANE, _SCHOOL, _PRACTICE),
    field_task="Look up: service drops, guy wires, street-light feeds; ask the utility for the voltage.",
)
