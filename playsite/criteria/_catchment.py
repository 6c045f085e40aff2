"""The land that drains through single pads: followed uphill, and again on redrawn grounds."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from affine import Affine
from scipy import ndimage

from playsite.engine import in_threads
from playsite.pads.pad_rectangles import rectangles_of_pads
from playsite.terrain.arriving import arriving_m2
from playsite.terrain.drainage import Drainage, drainage
from playsite.terrain.run_on import LEAST_CUT_SHARE, pad_mask
from playsite.terrain.run_on_range import DRAWS, drawn_noise, run_on_range_m2

if TYPE_CHECKING:
    from collections.abc import Sequence

    import geopandas as gpd
    from numpy.typing import NDArray

    from playsite.pads.pad_rectangles import Rectangles
    from playsite.site import Ground, Site

__all__ = ["CHANNEL_M2", "Caught", "caught_by_pads", "middles_of", "ways_in", "window_round"]

CHANNEL_M2 = 50_000.0
"""More land than this, and no pad may lie there: how much more need not be known."""

_WINDOW_M = 400.0
_NEAR_M = 200.0  # a first look's window where cutting one out is cheap
_AROUND_M = 20.0  # beyond a catchment: noise lets its divide wander
_SNAP_M = 100.0  # windows of neighbouring pads are one
_WHOLE_CELLS = 25_000_000  # no more are cut into windows: one look serves all pads
_HELD = "drainage of the whole"
_ENDS = "ends of the elevation"
_MOSTLY = 0.5
_NO_GROUND = "too little elevation here"
_LEFT_OUT = "the elevation ends inside the land that drains here, so it is a lower bound"
_STOPPED = "land farther off drains here too, and more than 5 ha is enough to know"


@dataclass(frozen=True)
class Window:
    """Some rows and columns of the ground."""

    rows: slice
    columns: slice

    @property
    def size(self) -> int:
        """Cells."""
        return int((self.rows.stop - self.rows.start) * (self.columns.stop - self.columns.start))

    @property
    def holds_ground(self) -> bool:
        """Whether there is more than a strip of cells: pads may lie off the elevation."""
        tall, wide = self.rows.stop - self.rows.start, self.columns.stop - self.columns.start
        return bool(min(tall, wide) > 1)

    def cut(self, array: NDArray[Any]) -> NDArray[Any]:
        """Part of an array of the whole ground."""
        return array[self.rows, self.columns]

    def transform(self, ground: Ground) -> Affine:
        """From the window's columns and rows to easting and northing."""
        return ground.transform @ Affine.translation(self.columns.start, self.rows.start)


@dataclass(frozen=True)
class Caught:
    """What drains through one pad.

    Attributes
    ----------
    arriving_m2, range_m2
        Its area, and least and most on redrawn grounds.
    note
        Where it ends, if not at a divide.
    window
        Part of the ground that holds the catchment.
    mostly, pad
        In it, cells most of whose water arrives, and those of the pad.
    is_whole
        Whether no land farther off drains here.
    """

    arriving_m2: float
    note: str = ""
    window: Window | None = None
    mostly: NDArray[np.bool_] | None = None
    pad: NDArray[np.bool_] | None = None
    is_whole: bool = True
    range_m2: tuple[float, float] = (np.nan, np.nan)

    @property
    def places(self) -> NDArray[np.intp]:
        """(k, 2) rows and columns of the pad's cells, on the whole ground."""
        window, pad = self.cells
        rows, columns = np.nonzero(pad)
        return np.stack([rows + window.rows.start, columns + window.columns.start], axis=1)

    @property
    def cells(self) -> tuple[Window, NDArray[np.bool_]]:
        """The window and the pad's cells."""
        if self.window is None or self.pad is None:
            raise ValueError("No cell of the pad has elevation.")
        return self.window, self.pad


def middles_of(pads: gpd.GeoDataFrame) -> NDArray[np.float64]:
    """Middles of the pads' bounds, (n, 2), m."""
    bounds = pads.geometry.bounds.to_numpy()
    return np.asarray((bounds[:, :2] + bounds[:, 2:]) / 2, dtype=float)


def window_round(
    ground: Ground, middle: NDArray[np.float64], side_m: float | None = None
) -> Window:
    """Window round a pad, as far as there is ground; without a side that of a first filter."""
    rows, columns = ground.elevation.shape
    if side_m is None:
        side_m = np.inf if ground.elevation.size <= _WHOLE_CELLS else _WINDOW_M
    column, row = ~ground.transform @ tuple(np.round(middle / _SNAP_M) * _SNAP_M)
    half = side_m / 2 / ground.cell_m
    left, right = np.clip([column - half, column + half], 0, columns).round().astype(int).tolist()
    top, bottom = np.clip([row - half, row + half], 0, rows).round().astype(int).tolist()
    return Window(slice(top, bottom), slice(left, right))


def ways_in(window: Window, site: Site) -> Drainage:
    """Ways of the water in a window; those of a ground not too large are found whole, once."""
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


def caught_by_pads(pads: gpd.GeoDataFrame, site: Site, ground: Ground) -> list[Caught]:
    """What drains through each pad, with its range on redrawn grounds."""
    rectangles, middles = rectangles_of_pads(pads), middles_of(pads)
    bounds = pads.geometry.bounds.to_numpy()
    across = (bounds[:, 2:] - bounds[:, :2]).max(axis=1, initial=0) + _SNAP_M

    def caught(row: int) -> Caught:
        return _caught(rectangles, row, (middles[row], float(across[row])), site, ground)

    return _with_ranges(list(in_threads(caught, list(range(len(pads))))), site, ground)


def _caught(
    rectangles: Rectangles,
    row: int,
    pad_at: tuple[NDArray[np.float64], float],
    site: Site,
    ground: Ground,
) -> Caught:
    """Follow the water uphill from one pad until none comes from farther off."""
    middle, across_m = pad_at
    is_held = ground.elevation.size <= _WHOLE_CELLS
    side_m = max(across_m, min(_NEAR_M, _WINDOW_M) if is_held else _WINDOW_M)
    while True:
        window = window_round(ground, middle, side_m)
        if not window.holds_ground:
            return Caught(np.nan, _NO_GROUND)
        ways, transform = ways_in(window, site), window.transform(ground)
        pad = np.zeros(ways.shape, dtype=bool)
        for each in np.flatnonzero(rectangles.pad == row):
            long_m, short_m = rectangles.sides_m[each]
            place = rectangles.places[each]
            pad |= pad_mask(pad.shape, transform, place, length_m=long_m, width_m=short_m)
        shares = ways.shares(pad)
        known = np.count_nonzero(~np.isnan(shares[pad]))
        if not known:
            return Caught(np.nan, _NO_GROUND)
        arriving_m2 = float((np.nansum(shares) - known) * ground.cell_m**2)
        farther = _comes_from(shares, _inner_edge(window, ground.elevation.shape))
        if not farther or arriving_m2 > CHANNEL_M2:
            break
        side_m *= 2
    ends = _comes_from(shares, window.cut(_ends(site)))
    note = "; ".join(text for text, is_so in ((_LEFT_OUT, ends), (_STOPPED, farther)) if is_so)
    near = _round_catchment(pad | (shares >= LEAST_CUT_SHARE), ground)
    at = Window(
        slice(window.rows.start + near.rows.start, window.rows.start + near.rows.stop),
        slice(window.columns.start + near.columns.start, window.columns.start + near.columns.stop),
    )
    return Caught(
        arriving_m2,
        note,
        mostly=near.cut(shares) >= _MOSTLY,
        pad=near.cut(pad),
        window=at,
        is_whole=not (ends or farther),
    )


def _with_ranges(found: list[Caught], site: Site, ground: Ground) -> list[Caught]:
    """Draw the noise again round each catchment, or on all the ground where that is less work."""
    drained = site.drained
    held = [each for each in found if each.window is not None]
    if drained is None or not held:
        return found
    noise = drawn_noise(ground.cell_m, noise_m=ground.noise_m, noise_length_m=ground.noise_length_m)

    def in_window(each: Caught) -> tuple[float, float]:
        window, pad = each.cells
        return run_on_range_m2(window.cut(drained), window.transform(ground), pad, noise)

    pads = [each.places for each in held]

    def on_all(draw: int) -> NDArray[np.float64]:
        return arriving_m2(noise.drainage(drained, ground.transform, draw), pads)

    if drained.size <= min(_WHOLE_CELLS, sum(each.cells[0].size for each in held)):
        drawn = np.array(list(in_threads(on_all, list(range(DRAWS)))))
        spans = list(zip(drawn.min(axis=0), drawn.max(axis=0), strict=True))
    else:
        spans = list(in_threads(in_window, held))
    of_pad = {id(each): span for each, span in zip(held, spans, strict=True)}
    return [_ranged(each, of_pad[id(each)]) if id(each) in of_pad else each for each in found]


def _ranged(own: Caught, drawn_m2: tuple[float, float]) -> Caught:
    least_m2, most_m2 = drawn_m2
    most_m2 = max(most_m2, own.arriving_m2) if own.is_whole else np.inf
    return replace(own, range_m2=(min(least_m2, own.arriving_m2), most_m2))


def _round_catchment(cells: NDArray[np.bool_], ground: Ground) -> Window:
    """Part of a window that holds a catchment, and room for its divide to wander."""
    around = max(2, math.ceil(_AROUND_M / ground.cell_m))
    spans = []
    for axis, size in ((1, cells.shape[0]), (0, cells.shape[1])):
        at = np.flatnonzero(cells.any(axis=axis))
        spans.append(slice(max(0, int(at[0]) - around), min(size, int(at[-1]) + around + 1)))
    return Window(*spans)


def _ends(site: Site) -> NDArray[np.bool_]:
    """Cells at which the elevation has its edge or a gap, of which mapped water is none."""
    held: NDArray[np.bool_] | None = site.__dict__.get(_ENDS)
    if held is None:
        given = site.layers.elevation
        known = ~np.isnan(given.array) if given is not None else np.zeros((0, 0), np.bool_)
        held = known & ~ndimage.binary_erosion(known, np.ones((3, 3)), border_value=0)
        site.__dict__[_ENDS] = held
    return held


def _comes_from(shares: NDArray[np.float64], cells: NDArray[np.bool_]) -> bool:
    return bool((shares[cells] >= LEAST_CUT_SHARE).any())


def _inner_edge(window: Window, shape: Sequence[int]) -> NDArray[np.bool_]:
    """Cells at those edges of a window beyond which there is more ground."""
    rows, columns = window.rows, window.columns
    cells = np.zeros((rows.stop - rows.start, columns.stop - columns.start), dtype=bool)
    cells[0] |= rows.start > 0
    cells[-1] |= rows.stop < shape[0]
    cells[:, 0] |= columns.start > 0
    cells[:, -1] |= columns.stop < shape[1]
    return cells
