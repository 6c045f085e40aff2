"""Run-on: how much land drains through the pad."""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from affine import Affine
from rasterio.features import shapes
from scipy import ndimage

from playsite.criteria._catchment import (
    CHANNEL_M2,
    Caught,
    caught_by_pads,
    middles_of,
    ways_in,
    window_round,
)
from playsite.criteria._contract import Criterion, Measured, Screen, Source
from playsite.criteria._curve import Curve
from playsite.engine import in_threads
from playsite.pads.pad_rectangles import rectangles_of_pads
from playsite.site import COARSE_M
from playsite.units import Unit

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from playsite.site import Ground, Site

__all__ = ["CRITERION"]

_STEP_M2 = 400.0
_LEAST_PART = 0.01
_NO_GROUND = "too little elevation here"


def crossing_m2(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Land that drains through the pad, by flow divided among all lower neighbours.

    A first filter for all places, by what comes in over the uphill edge, in steps of a factor of
    two: noise moves it by a fifth, and no pad shall move for that. Of a large elevation a window
    of 400 m round the pad is looked at.
    """
    ground = site.ground
    if ground is None or not _is_fine(ground):
        return _unknown(pads, ground)
    rectangles = rectangles_of_pads(pads)
    windows = [window_round(ground, middle) for middle in middles_of(pads)]
    of_window: dict[tuple[int, ...], list[int]] = {}
    for row, window in enumerate(windows):
        of_window.setdefault((window.rows.start, window.columns.start), []).append(row)

    def arriving(rows: list[int]) -> NDArray[np.float64]:
        if not windows[rows[0]].holds_ground:
            return np.full(len(rows), np.nan)
        own = np.isin(rectangles.pad, rows)
        _, number = np.unique(rectangles.pad[own], return_inverse=True)
        ways = ways_in(windows[rows[0]], site)
        return ways.crossing_m2(rectangles.places[own], rectangles.sides_m[own], number)

    found = np.full(len(pads), np.nan)
    groups = list(of_window.values())
    for rows, value in zip(groups, in_threads(arriving, groups), strict=True):
        found[rows] = np.where(value > _STEP_M2, _STEP_M2 * _whole_steps(value), value)
    value = pd.Series(found, index=pads.index)
    return Measured(value, note=value.map(lambda m2: _NO_GROUND if np.isnan(m2) else ""))


def _whole_steps(value: NDArray[np.float64]) -> NDArray[np.float64]:
    """Greatest power of two that is not above the value in steps."""
    return np.exp2(np.floor(np.log2(np.maximum(value, _STEP_M2) / _STEP_M2)))


def catchment_m2(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Land that drains through the pad, by flow divided among all lower neighbours.

    Its shares of water are followed uphill from the pad, in a window that is doubled until no
    water comes over its edge, to all the elevation there is or to 5 ha. The interval is the least
    and the most when the elevation's noise is drawn again; without bound where the land goes on
    beyond the elevation.
    """
    ground = site.ground
    if ground is None or not _is_fine(ground):
        return _unknown(pads, ground)
    found = caught_by_pads(pads, site, ground)
    value = pd.Series([each.arriving_m2 for each in found], index=pads.index, dtype=float)
    ends = pd.DataFrame([each.range_m2 for each in found], index=pads.index, dtype=float)
    return Measured(
        value,
        low=ends[0],
        high=ends[1],
        note=pd.Series([each.note for each in found], index=pads.index, dtype=str),
        evidence=_drawn(found, pads, ground),
    )


def _is_fine(ground: Ground) -> bool:
    return ground.cell_m < COARSE_M and min(ground.elevation.shape) > 1


def _unknown(pads: gpd.GeoDataFrame, ground: Ground | None) -> Measured:
    note = ""
    if ground is not None and ground.cell_m >= COARSE_M:
        note = f"not assessed: cells of {ground.cell_m:g} m are too coarse"
    return Measured(pd.Series(np.nan, pads.index), note=pd.Series(note, pads.index))


def _outline(cells: NDArray[np.bool_], transform: Affine) -> shapely.Geometry:
    """Outline of the land most of whose water arrives, without specks."""
    rows, columns = (np.flatnonzero(cells.any(axis=axis)) for axis in (1, 0))
    top, left = rows[0], columns[0]
    near = cells[top : rows[-1] + 1, left : columns[-1] + 1]
    near = ndimage.binary_fill_holes(np.pad(near, 1))
    moved = transform @ Affine.translation(left - 1, top - 1)
    found = shapes(near.astype("uint8"), mask=near, connectivity=8, transform=moved)
    parts = np.array([shapely.geometry.shape(each) for each, _ in found], dtype=object)
    area_m2 = shapely.area(parts)
    kept = shapely.union_all(parts[area_m2 >= _LEAST_PART * area_m2.sum()])
    return shapely.simplify(kept, abs(transform.a))


def _drawn(found: list[Caught], pads: gpd.GeoDataFrame, ground: Ground) -> gpd.GeoDataFrame:
    """Outlines; not in threads, where rasterio's warnings escape."""
    label = "land that drains through the play area"
    rows = [
        (pad_id, label, _outline(each.mostly, each.window.transform(ground)))
        for pad_id, each in zip(pads.index, found, strict=True)
        if each.mostly is not None and each.window is not None and each.arriving_m2 > 0
    ]
    return gpd.GeoDataFrame(
        rows, columns=["pad_id", "label", "geometry"], geometry="geometry", crs=pads.crs
    )


CRITERION = Criterion(
    name="run_on",
    question="How much water runs onto the play area from above?",
    plain="land that drains through the play area",
    unit=Unit.SQUARE_METRE,
    needs=("elevation",),
    measure=crossing_m2,
    curve=Curve.falling(
        ideal=400.0,
        acceptable=5_000.0,
        poor=20_000.0,
        unit=Unit.SQUARE_METRE,
        source="common practice, no source",
    ),
    weight=5,
    plausible=(0, 1e9),
    group="Ground and water",
    cost="quick",
    refine=catchment_m2,
    screens=(
        Screen(
            rule="a channel: more than 5 ha of land drain through it",
            limit=CHANNEL_M2,
            unit=Unit.SQUARE_METRE,
            out_when="above",
            source=Source("common practice, no source", "common practice"),
            short="in a channel",
        ),
    ),
    sources=(
        Source(
            "T. G. Freeman (1991), Calculating catchment area with divergent flow based on a "
            "regular grid, Computers & Geosciences 17(3), 413-422",
            "from memory",
        ),
        Source("common practice, no source", "common practice"),
    ),
    field_task=(
        "Walk uphill: look for swales, rills, debris lines and downspouts, and where roofs and car "
        "parks above send their water."
    ),
)
