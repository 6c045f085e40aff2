"""Streets and paths as they come in: simple lines, the level each runs at, the row each is of."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
import shapely

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from playsite.proximity.shapes import Shapes

__all__ = ["SAME_PLACE_M", "Lines", "numbers_of", "read_lines"]

SAME_PLACE_M = 0.001
"""Points of one line this close are one node; no edge is shorter, so none has zero weight."""


@dataclass(frozen=True)
class Lines:
    """Simple LineStrings, each with the level it runs at; 0 is the ground."""

    geometry: NDArray[np.object_]
    level: NDArray[np.int64]
    road: NDArray[np.bool_]
    row: NDArray[np.intp]
    """Which of the given rows each line is of."""
    merges: bool
    """Whether lines of one level other than the ground meet where they cross."""

    def may_meet(self, i: NDArray[np.intp], j: NDArray[np.intp]) -> NDArray[np.bool_]:
        """Tell which pairs of lines join where they cross or touch."""
        same: NDArray[np.bool_] = self.level[i] == self.level[j]
        return same if self.merges else same & (self.level[i] == 0)


def read_lines(given: Shapes, bridges: Any, roads: Any) -> Lines:
    """Single simple LineStrings with level and road mark, from whatever lines came in."""
    level, merges = _levels(given, bridges)
    road = numbers_of(given, roads, "roads").fillna(0).astype(bool).to_numpy()
    geometry, row = shapely.get_parts(given.geometry[given.usable], return_index=True)
    row = np.flatnonzero(given.usable)[row]
    polygon = shapely.get_type_id(geometry) == 3
    geometry[polygon] = shapely.get_exterior_ring(geometry[polygon])
    if not np.isin(shapely.get_type_id(geometry), (1, 2)).all():
        raise ValueError("Streets and paths must be lines or polygons; points are neither.")
    geometry = shapely.force_2d(geometry)
    crossed = ~shapely.is_simple(geometry) & ((level[row] == 0) | merges)
    geometry[crossed] = shapely.node(geometry[crossed])
    geometry, piece = shapely.get_parts(geometry, return_index=True)
    row = row[piece]
    long = shapely.length(geometry) > SAME_PLACE_M
    row = row[long]
    return Lines(geometry[long], level[row], road[row], row, merges)


def numbers_of(given: Shapes, values: Any, name: str) -> pd.Series[float]:
    """One number for each line (NaN: missing) of a column of numbers or true and false."""
    if values is None:
        return pd.Series(np.nan, index=given.labels)
    if len(values) != len(given) or (
        isinstance(values, pd.Series) and not values.index.equals(given.labels)
    ):
        raise ValueError(f"`{name}` needs one value for each line, in the order of the lines.")
    try:
        numbers = pd.to_numeric(pd.Series(np.asarray(values, dtype=object), index=given.labels))
    except (TypeError, ValueError) as error:
        raise ValueError(f"`{name}` must be true, false, or a whole number: {error}") from error
    return numbers.astype(float)


def _levels(given: Shapes, bridges: Any) -> tuple[NDArray[np.int64], bool]:
    """Level of each line, and whether levels other than the ground are told apart."""
    levels = numbers_of(given, bridges, "bridges").fillna(0)
    if (levels % 1 != 0).any():
        raise ValueError("`bridges` must be true, false, or a whole number for the level.")
    known = (
        [] if bridges is None else [v for v in np.asarray(bridges, dtype=object) if not pd.isna(v)]
    )
    merges = any(not isinstance(v, bool | np.bool_) for v in known)
    return np.asarray(levels, dtype=np.int64), merges
