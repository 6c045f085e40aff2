"""Drop-offs: the largest step in the ground beside the pad."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from playsite.criteria._contract import Condition, Criterion, Measured, Source
from playsite.criteria._curve import Curve
from playsite.criteria._spoken import Spoken
from playsite.proximity.dash import dash_m
from playsite.units import Unit

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from playsite.site import Ground, Site

__all__ = ["CRITERION", "falls_m"]

_OVER_M = 2.0
_AROUND_M = 10.0
_NEAR_M = 3.0
_COARSE_M = 1.01  # cells much larger than 1 m smear a step into a slope
_STEP_M, _SOFT_M, _DEEP_M = 0.5, 0.625, 0.75
_PRACTICE = Source("common practice, no source", "common practice")


def falls_m(ground: NDArray[Any], *, cell_m: float, over_m: float = _OVER_M) -> NDArray[Any]:
    """Largest fall from each cell to any other within a distance; 0 where all lies higher.

    Parameters
    ----------
    ground
        Heights, metres; NaN where nothing is known.
    cell_m
        Size of a cell.
    over_m
        Distance between the two cells' centres at most.

    Returns
    -------
    array
        Metres, of the ground's shape; NaN where the cell itself is not known.

    Examples
    --------
    >>> falls_m(np.array([[2.0, 2.0, 1.0]]), cell_m=1.0, over_m=1.0).tolist()
    [[0.0, 1.0, 0.0]]
    """
    n = int(over_m / cell_m + 1e-9)
    rows, columns = ground.shape
    wide = np.pad(ground, n, constant_values=np.nan)
    lowest = ground.copy()
    for i in range(-n, n + 1):
        for j in range(-n, n + 1):
            if np.hypot(i, j) * cell_m <= over_m + 1e-9:
                other = wide[n + i : n + i + rows, n + j : n + j + columns]
                lowest = np.fmin(lowest, other)
    return np.where(np.isnan(ground), np.nan, ground - lowest)


def largest_fall_m(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Largest fall of the ground over any 2 m, up or down, within 10 m of the pad's edge.

    The curve reads it in full where it lies within 3 m and a child can run to it; farther off or
    behind a barrier it counts as acceptable at worst. On cells of 1 m a retaining wall reads as a
    steep bank of the same fall. Cells larger than 1 m, and roofs or pits cut out of the elevation,
    show no steps.
    """
    ground = site.ground
    unknown = pd.Series(np.nan, index=pads.index)
    if ground is None or ground.cell_m > _COARSE_M:
        why = "" if ground is None else f"not assessed: cells of {ground.cell_m:g} m are too coarse"
        return Measured(unknown, note=pd.Series(why, index=pads.index))
    rows = [_beside(pad, ground, site) for pad in pads.geometry]
    columns = ["fall_m", "reads_m", "away_m", "place"]
    table = pd.DataFrame(rows, columns=columns, index=pads.index)
    value = table["fall_m"].astype(float)
    # Of many differences the noise of two cells shows at some four standard deviations.
    noise_m = 4 * np.sqrt(2) * ground.noise_m
    steps = table["away_m"] < np.inf
    drawn = table[steps]
    return Measured(
        value,
        low=(value - noise_m).clip(lower=0),
        high=value,
        reads=table["reads_m"].astype(float),
        note=_notes(table),
        evidence=gpd.GeoDataFrame(
            {"pad_id": drawn.index, "label": "step in the ground"},
            geometry=list(drawn["place"]),
            crs=pads.crs,
        ),
        also={"step_away_m": table["away_m"].astype(float)},
    )


def _beside(pad: Any, ground: Ground, site: Site) -> tuple[float, float, float, Any]:
    """Largest fall beside a pad, what the curve reads, how far the nearest step is, and where."""
    heights, x, y = _window(pad, ground)
    fall = falls_m(heights, cell_m=ground.cell_m)
    cells = shapely.points(x, y)
    away = shapely.distance(cells, pad)
    fall = np.where(away <= _AROUND_M, fall, np.nan)
    beside = np.isnan(fall[away <= _AROUND_M])
    if not len(beside) or beside.mean() > 0.5:
        return np.nan, np.nan, np.nan, None
    most_m = float(np.nanmax(fall))
    step = fall > _DEEP_M
    near = (fall > _STEP_M) & (away <= _NEAR_M)
    near_m = float(fall[near].max()) if near.any() else 0.0
    if near_m > _SOFT_M:
        where = shapely.multipoints(cells[near & (fall > _SOFT_M)])
        way = dash_m(
            [pad],
            [where],
            site.barriers_and_water,
            reach_m=2 * _AROUND_M,
            opening_m=site.child.gap_m,
        )["dash_m"]
        near_m = near_m if np.isfinite(way.iloc[0]) else 0.0
    reads_m = max(near_m, min(most_m, _SOFT_M))
    if not step.any():
        return most_m, reads_m, np.inf, None
    k = np.unravel_index(np.where(step, away, np.inf).argmin(), away.shape)
    return most_m, reads_m, float(away[k]), cells[k]


def _window(pad: Any, ground: Ground) -> tuple[NDArray[Any], NDArray[Any], NDArray[Any]]:
    """Heights round a pad with the middles of their cells; NaN beyond the elevation."""
    west, south, east, north = pad.buffer(_AROUND_M + _OVER_M).bounds
    at = ground.transform
    c0, c1 = ((x - at.c) / at.a for x in (west, east))
    r0, r1 = ((y - at.f) / at.e for y in (north, south))
    rows, columns = ground.elevation.shape
    i, j = np.arange(int(r0), int(r1) + 2), np.arange(int(c0), int(c1) + 2)
    i, j = i[(i >= 0) & (i < rows)], j[(j >= 0) & (j < columns)]
    if not (len(i) and len(j)):
        i, j = np.arange(1), np.arange(1)
    x, y = np.meshgrid(at.c + (j + 0.5) * at.a, at.f + (i + 0.5) * at.e)
    return np.asarray(ground.elevation[np.ix_(i, j)], dtype=float), x, y


def _notes(table: pd.DataFrame) -> pd.Series[str]:
    def said(row: pd.Series[Any]) -> str:
        if np.isnan(row["fall_m"]):
            return "too little elevation here"
        if not np.isfinite(row["away_m"]):
            return ""
        fenced = "" if row["reads_m"] > _SOFT_M else ", farther than 3 m or behind a barrier"
        return f"a step of more than {_DEEP_M:g} m lies {row['away_m']:.0f} m off{fenced}"

    texts: pd.Series[str] = table.apply(said, axis=1)
    return texts


CRITERION = Criterion(
    name="drop_offs",
    question="Can a child fall off an edge beside the play area?",
    plain="largest step in the ground beside the play area",
    unit=Unit.METRE,
    needs=("elevation",),
    measure=largest_fall_m,
    curve=Curve.falling(
        ideal=_STEP_M,
        acceptable=_SOFT_M,
        poor=_DEEP_M,
        unit=Unit.METRE,
        source=str(_PRACTICE),
        reads="fall over 2 m; farther than 3 m off or behind a barrier acceptable at worst",
    ),
    weight=1,
    plausible=(0, 300),
    group="Hazards",
    conditions=(
        Condition(
            rule="a step of more than 0.75 m lies within 3 m",
            limit=_NEAR_M,
            unit=Unit.METRE,
            needs="a guard or a fence at the edge",
            source=_PRACTICE,
            reads="step_away_m",
        ),
    ),
    sources=(_PRACTICE,),
    spoken=Spoken(is_height=True),
    field_task="Walk round the pad at 10 m: walls, culvert ends, cut banks, pits; measure each fall.",
)
