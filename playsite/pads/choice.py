"""From all legal places to few: a well spread set, and alternatives that differ."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray
    from shapely import Polygon

__all__ = ["alternatives", "spread"]

_HALVINGS = 24
_LOOKED_AT = 4_000  # of so many rows the fineness of the bins is told
_AT_ONCE = 256


def spread(places: ArrayLike, keep: int, *, quality: ArrayLike | None = None) -> NDArray[np.intp]:
    """Choose at most so many places, spread over position and rotation.

    Positions and rotations are parted into bins, the same number along the longer extent of the
    ground as over a half turn, as fine as `keep` bins allow. Each bin gives its best place, then
    its second best, until enough are chosen. The same places give the same choice, whatever
    their offset.

    Parameters
    ----------
    places
        (n, 3): easting, northing in metres, rotation in degrees.
    keep
        How many at most.
    quality
        (n,), lower is better; missing comes last. Without it the first of each bin is taken.

    Returns
    -------
    ndarray of int
        Rows of `places`, ascending; all of them where there are no more than `keep`.

    Raises
    ------
    ValueError
        When `keep` is negative, or `quality` is not one value a place.
    """
    rows = np.asarray(places, dtype=float).reshape(-1, 3)
    n = len(rows)
    if keep < 0:
        raise ValueError(f"The number of places to keep can't be below 0; given {keep}.")
    worth = np.zeros(n) if quality is None else np.asarray(quality, dtype=float)
    if worth.shape != (n,):
        raise ValueError(f"One quality a place: {n} places, qualities of shape {worth.shape}.")
    if n <= keep:
        return np.arange(n)
    if keep == 0:
        return np.arange(0)
    in_bin = _bins(rows, keep)
    order = np.lexsort((np.arange(n), np.where(np.isnan(worth), np.inf, worth), in_bin))
    sorted_bin = in_bin[order]
    starts = np.flatnonzero(np.r_[True, sorted_bin[1:] != sorted_bin[:-1]])
    turn = np.arange(n) - np.repeat(starts, np.diff(np.r_[starts, n]))
    chosen = order[np.lexsort((worth[order], turn))[:keep]]
    return np.sort(chosen)


def _bins(rows: NDArray[np.float64], keep: int) -> NDArray[np.intp]:
    """Bin of each row, as fine as leaves no more than `keep` bins in use."""
    low = rows[:, :2].min(axis=0)
    extent = max(float(np.ptp(rows[:, :2], axis=0).max()), 1e-9)
    # to the micrometre, so that an offset of the map does not move a place across a bin's edge
    unit = np.column_stack([np.round(rows[:, :2] - low, 6) / extent, (rows[:, 2] % 180.0) / 180.0])
    few, many = 1.0, float(keep) + 1.0
    some = unit[:: max(1, len(unit) // _LOOKED_AT)]
    for _ in range(_HALVINGS):
        count = np.sqrt(few * many)
        few, many = (count, many) if len(np.unique(_keys(some, count))) <= keep else (few, count)
    while True:  # some rows use no more bins than all do
        used, in_bin = np.unique(_keys(unit, few), return_inverse=True)
        if len(used) <= keep or few < 1.0:
            return in_bin if len(used) <= keep else np.zeros(len(rows), dtype=np.intp)
        few *= 0.9


def _keys(unit: NDArray[np.float64], count: float) -> NDArray[np.int64]:
    """Number of the bin of each row, with so many bins along each side of the unit cube."""
    cell = np.minimum((unit * count).astype(np.int64), int(count))
    return (cell[:, 0] * (int(count) + 1) + cell[:, 1]) * (int(count) + 1) + cell[:, 2]


def alternatives(
    pads: ArrayLike,
    order: ArrayLike,
    *,
    first: int,
    most: int = 3,
    overlap: float = 0.25,
) -> NDArray[np.intp]:
    """Pick other places for the pad that are really other places.

    In order of preference, a place is picked when its pad overlaps the first pad, and each pad
    picked before, by less than a share of the pad's area. A thousand shifts by one cell are no
    alternatives.

    Parameters
    ----------
    pads
        (n,) outlines, all of one area.
    order
        Rows of `pads`, the preferred first; rows left out are not picked.
    first
        Row of the place that the alternatives are to; not picked again.
    most
        How many at most.
    overlap
        Share of the pad's area that two of them may not reach.

    Returns
    -------
    ndarray of int
        Rows of `pads`, the preferred first; fewer than `most` where there are no more.
    """
    outlines = np.asarray(pads, dtype=object)
    waiting = np.asarray(order, dtype=np.intp)
    waiting = waiting[waiting != first]
    chosen = [int(first)]
    limit_m2 = overlap * float(shapely.area(outlines[first]))
    for start in range(0, len(waiting), _AT_ONCE):
        part = waiting[start : start + _AT_ONCE]
        free = np.ones(len(part), dtype=bool)
        for old in chosen:
            free &= _overlap_m2(outlines[part], outlines[old]) < limit_m2
        while free.any() and len(chosen) <= most:
            pick = int(np.argmax(free))
            chosen.append(int(part[pick]))
            free &= _overlap_m2(outlines[part], outlines[part[pick]]) < limit_m2
            free[pick] = False
        if len(chosen) > most:
            break
    return np.array(chosen[1:], dtype=np.intp)


def _overlap_m2(pads: NDArray[np.object_], other: Polygon) -> NDArray[np.float64]:
    areas: NDArray[np.float64] = shapely.area(shapely.intersection(pads, other))
    return areas
