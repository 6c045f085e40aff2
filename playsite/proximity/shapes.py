"""Shapes as they come in: one array of geometry, its labels, and a refusal to measure in degrees."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np
import pandas as pd
import shapely

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    ShapesLike: TypeAlias = pd.Series[Any] | NDArray[np.object_] | Sequence[Any]


@dataclass(frozen=True)
class Shapes:
    """Geometry with labels; ``usable`` is False where a row has no geometry to measure."""

    geometry: NDArray[np.object_]
    labels: pd.Index[Any]
    usable: NDArray[np.bool_]
    crs: Any

    def __len__(self) -> int:
        """Count the rows, usable or not."""
        return len(self.geometry)

    @property
    def rank(self) -> NDArray[np.intp]:
        """Place of each row in the order of labels (equal labels: in the order of rows)."""
        try:
            order = np.argsort(np.asarray(self.labels), kind="stable")
        except TypeError:  # labels of mixed types have no order of their own
            order = np.argsort(np.asarray(self.labels.astype(str)), kind="stable")
        rank = np.empty(len(order), dtype=np.intp)
        rank[order] = np.arange(len(order))
        return rank


def read_shapes(shapes: ShapesLike, *, crs: Any = None) -> Shapes:
    """Take a GeoSeries, a Series or an array of shapely geometry.

    Parameters
    ----------
    shapes
        Geometry in projected metres. Rows that are None, empty or hold coordinates that are not
        finite are kept, but not usable.
    crs
        CRS these must share, where they know their own.

    Returns
    -------
    Shapes
        Arrays without an index are labelled 0, 1, 2, ...

    Raises
    ------
    ValueError
        The CRS is in degrees, or not the one asked for.
    TypeError
        Something is no geometry.
    """
    # A column of geometry taken from a plain table knows its CRS only in its array.
    own = getattr(getattr(shapes, "array", shapes), "crs", None)
    labels = shapes.index if isinstance(shapes, pd.Series) else pd.RangeIndex(len(shapes))
    geometry = np.empty(len(shapes), dtype=object)
    geometry[:] = list(shapes)
    geometry[pd.isna(geometry)] = None
    if not np.all(shapely.is_geometry(geometry) | shapely.is_missing(geometry)):
        raise TypeError("Shapes must be shapely geometry or None.")
    if own is not None and own.is_geographic:
        raise ValueError(
            f"Distances can't be measured in degrees ({own.name}): project the layer to metres first.",
        )
    if own is not None and crs is not None and own != crs:
        raise ValueError(
            f"Two layers in different systems: {own.name} and {crs.name}. Project one to the other.",
        )
    usable = np.isfinite(shapely.bounds(geometry).reshape(-1, 4)).all(axis=1)
    return Shapes(geometry, labels, np.asarray(usable, dtype=np.bool_), own or crs)
