"""Run-on: how much land drains through the pad."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from affine import Affine
from rasterio.features import shapes
from scipy import ndimage

from playsite.criteria._contract import Criterion, Measured, Screen, Source
from playsite.criteria._curve import Curve
from playsite.engine import in_threads
from playsite.pads.pad_rectangles import rectangles_of_pads
from playsite.site import COARSE_M
from playsite.terrain.drainage import Drainage, drainage
from playsite.terrain.run_on import LEAST_CUT_SHARE, pad_mask
from playsite.terrain.run_on_range import run_on_range_m2
from playsite.units import Unit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from playsite.pads.pad_rectangles import Rectangles
    from playsite.site import Ground, Site

__all__ = ["CRITERION"]

_CHANNEL_M2 = 50_000.0
_STEP_M2 = 400.0
_WINDOW_M = 400.0
_AROUND_M = 20.0  # beyond a catchment: noise lets its divide wander
_SNAP_M = 100.0  # windows of neighbouring pads are one
_WHOLE_CELLS = 4_000_000  # no more are cut into windows: one look serves all pads
_HELD = "drainage of the whole"
_MOSTLY = 0.5
_LEAST_PART = 0.01
_NO_GROUND = "too little elevation here"
_LEFT_OUT = "the elevation ends inside the land that drains here, so it is a lower bound"
_STOPPED = "land farther off drains here too, and more than 5 ha is enough to know"


@dataclass(frozen=True)
class _Window:
    """Some rows and columns of the ground."""

    rows: slice
    columns: slice

    @property
    def holds_ground(self) -> bool:
        """Whether there is more than a strip of cells: pads may lie off the elevation."""
        tall, wide = self.rows.stop - self.rows.start, self.columns.stop - self.columns.start
        return bool(min(tall, wide) > 1)

    def cut(self, array: NDArray[np.floating]) -> NDArray[np.floating]:
        return array[self.rows, self.columns]

    def transform(self, ground: Ground) -> Affine:
        return ground.transform @ Affine.translation(self.columns.start, self.rows.start)


@dataclass(frozen=True)
class _Look:
    """A window that was looked at, and the cells at which it is cut off.

    ``farther``: beyond them there is more ground; ``ends``: there the elevation has its edge or a
    gap, of which mapped water is none.
    """

    ways: Drainage
    farther: NDArray[np.bool_]
    ends: NDArray[np.bool_]


@dataclass(frozen=True)
class _Caught:
    """What drains through one pad."""

    arriving_m2: float
    note: str = ""
    mostly: NDArray[np.bool_] | None = None
    transform: Affine | None = None
    range_m2: tuple[float, float] = (np.nan, np.nan)


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
    side_m = np.inf if ground.elevation.size <= _WHOLE_CELLS else _WINDOW_M
    windows = [_window(ground, middle, side_m) for middle in _middles(pads)]
    of_window: dict[tuple[int, ...], list[int]] = {}
    for row, window in enumerate(windows):
        of_window.setdefault((window.rows.start, window.columns.start), []).append(row)

    def arriving(rows: list[int]) -> NDArray[np.float64]:
        if not windows[rows[0]].holds_ground:
            return np.full(len(rows), np.nan)
        own = np.isin(rectangles.pad, rows)
        _, number = np.unique(rectangles.pad[own], return_inverse=True)
        ways = _ways(windows[rows[0]], site)
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
    rectangles, middles = rectangles_of_pads(pads), _middles(pads)

    def caught(row: int) -> _Caught:
        return _caught(rectangles, row, middles[row], site, ground)

    found: list[_Caught] = list(in_threads(caught, list(range(len(pads)))))
    value = pd.Series([each.arriving_m2 for each in found], index=pads.index, dtype=float)
    ends = pd.DataFrame([each.range_m2 for each in found], index=pads.index, dtype=float)
    return Measured(
        value,
        low=ends[0],
        high=ends[1],
        note=pd.Series([each.note for each in found], index=pads.index, dtype=str),
        evidence=_drawn(found, pads),
    )


def _is_fine(ground: Ground) -> bool:
    return ground.cell_m < COARSE_M and min(ground.elevation.shape) > 1


def _unknown(pads: gpd.GeoDataFrame, ground: Ground | None) -> Measured:
    note = ""
    if ground is not None and ground.cell_m >= COARSE_M:
        note = f"not assessed: cells of {ground.cell_m:g} m are too coarse"
    return Measured(pd.Series(np.nan, pads.index), note=pd.Series(note, pads.index))


def _middles(pads: gpd.GeoDataFrame) -> NDArray[np.float64]:
    bounds = pads.geometry.bounds.to_numpy()
    return np.asarray((bounds[:, :2] + bounds[:, 2:]) / 2, dtype=float)


def _window(ground: Ground, middle: NDArray[np.float64], side_m: float) -> _Window:
    """Window round a pad, as far as there is ground."""
    rows, columns = ground.elevation.shape
    column, row = ~ground.transform @ tuple(np.round(middle / _SNAP_M) * _SNAP_M)
    half = side_m / 2 / ground.cell_m
    left, right = np.clip([column - half, column + half], 0, columns).round().astype(int).tolist()
    top, bottom = np.clip([row - half, row + half], 0, rows).round().astype(int).tolist()
    return _Window(slice(top, bottom), slice(left, right))


def _ways(window: _Window, site: Site) -> Drainage:
    """Ways of the water in a window; those of a small ground are found as a whole, once."""
    ground, drained = site.ground, site.drained
    if ground is None or drained is None:
        raise ValueError("Without elevation no water runs.")
    if drained.size > _WHOLE_CELLS:
        return drainage(window.cut(drained), window.transform(ground))
    held: Drainage | None = site.__dict__.get(_HELD)
    if held is None:
        held = drainage(drained, ground.transform)
        site.__dict__[_HELD] = held  # as a cached property of the site would
    return held.cropped(window.rows, window.columns)


def _look(window: _Window, site: Site) -> _Look:
    given, ways = site.layers.elevation, _ways(window, site)
    raw = np.zeros(ways.shape) if given is None else given.array
    farther = _inner_edge(window, raw.shape)
    known = ~np.isnan(window.cut(raw))
    ends = known & ~ndimage.binary_erosion(known, np.ones((3, 3)), border_value=0) & ~farther
    return _Look(ways, farther, ends)


def _caught(
    rectangles: Rectangles, row: int, middle: NDArray[np.float64], site: Site, ground: Ground
) -> _Caught:
    """Follow the water uphill from one pad until none comes from farther off."""
    side_m = _WINDOW_M
    while True:
        window = _window(ground, middle, side_m)
        if not window.holds_ground:
            return _Caught(np.nan, _NO_GROUND)
        look, transform = _look(window, site), window.transform(ground)
        pad = np.zeros(look.ways.shape, dtype=bool)
        for each in np.flatnonzero(rectangles.pad == row):
            long_m, short_m = rectangles.sides_m[each]
            place = rectangles.places[each]
            pad |= pad_mask(pad.shape, transform, place, length_m=long_m, width_m=short_m)
        shares = look.ways.shares(pad)
        known = np.count_nonzero(~np.isnan(shares[pad]))
        if not known:
            return _Caught(np.nan, _NO_GROUND)
        arriving_m2 = (np.nansum(shares) - known) * ground.cell_m**2
        farther = _comes_from(shares, look.farther)
        if not farther or arriving_m2 > _CHANNEL_M2:
            break
        side_m *= 2
    ends = _comes_from(shares, look.ends)
    note = "; ".join(text for text, is_so in ((_LEFT_OUT, ends), (_STOPPED, farther)) if is_so)
    least_m2, most_m2 = _redrawn(shares, pad, window, site, ground)
    most_m2 = np.inf if ends or farther else max(most_m2, arriving_m2)
    span_m2 = (min(least_m2, arriving_m2), most_m2)
    return _Caught(float(arriving_m2), note, shares >= _MOSTLY, transform, span_m2)


def _redrawn(
    shares: NDArray[np.float64],
    pad: NDArray[np.bool_],
    window: _Window,
    site: Site,
    ground: Ground,
) -> tuple[float, float]:
    """Range of the run-on, in the part of a window that holds the catchment."""
    if site.drained is None:
        raise ValueError("Without elevation no water runs.")
    around = max(2, math.ceil(_AROUND_M / ground.cell_m))
    spans = []
    for axis, size in ((1, shares.shape[0]), (0, shares.shape[1])):
        at = np.flatnonzero((pad | (shares >= LEAST_CUT_SHARE)).any(axis=axis))
        spans.append(slice(max(0, int(at[0]) - around), min(size, int(at[-1]) + around + 1)))
    rows, columns = spans
    return run_on_range_m2(
        window.cut(site.drained)[rows, columns],
        window.transform(ground) @ Affine.translation(columns.start, rows.start),
        pad[rows, columns],
        noise_m=ground.noise_m,
        noise_length_m=ground.noise_length_m,
    )


def _comes_from(shares: NDArray[np.float64], cells: NDArray[np.bool_]) -> bool:
    return bool((shares[cells] >= LEAST_CUT_SHARE).any())


def _inner_edge(window: _Window, shape: Sequence[int]) -> NDArray[np.bool_]:
    """Cells at those edges of a window beyond which there is more ground."""
    rows, columns = window.rows, window.columns
    cells = np.zeros((rows.stop - rows.start, columns.stop - columns.start), dtype=bool)
    cells[0] |= rows.start > 0
    cells[-1] |= rows.stop < shape[0]
    cells[:, 0] |= columns.start > 0
    cells[:, -1] |= columns.stop < shape[1]
    return cells


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


def _drawn(found: list[_Caught], pads: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Outlines; not in threads, where rasterio's warnings escape."""
    rows = [
        (pad_id, "land that drains through the play area", _outline(each.mostly, each.transform))
        for pad_id, each in zip(pads.index, found, strict=True)
        if each.mostly is not None and each.transform is not None and each.arriving_m2 > 0
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
            limit=_CHANNEL_M2,
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
