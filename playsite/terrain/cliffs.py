"""Cliffs and high walls: steps in the ground that no way is graded over."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.ndimage import maximum_filter, minimum_filter

from playsite.terrain.burning import outlines

if TYPE_CHECKING:
    from affine import Affine
    from numpy.typing import NDArray

__all__ = ["cliffs"]

_OVER_M = 2.0


def cliffs(
    elevation: NDArray[np.floating], transform: Affine, *, higher_than_m: float
) -> NDArray[np.object_]:
    """Outlines of ground that drops by more than a height within 2 m.

    Parameters
    ----------
    elevation, transform
        Heights, m, NaN where nothing is known: no cliff is seen there.
    higher_than_m
        Drop from which on a step counts.

    Returns
    -------
    ndarray
        Polygons; none where cells are wider than 2 m, which show no step.

    Examples
    --------
    >>> from affine import Affine
    >>> ground = np.where(np.arange(20) < 10, 0.0, 4.0) * np.ones((20, 1))
    >>> [len(cliffs(ground, Affine(1, 0, 0, 0, -1, 20), higher_than_m=m)) for m in (3.0, 5.0)]
    [1, 0]
    """
    if transform.a > _OVER_M or not elevation.size:
        return np.empty(0, dtype=object)
    side = 2 * round(_OVER_M / transform.a / 2) + 1
    known = np.isfinite(elevation)
    highest = maximum_filter(np.where(known, elevation, -np.inf), side, mode="nearest")
    lowest = minimum_filter(np.where(known, elevation, np.inf), side, mode="nearest")
    is_cliff = known & (highest - lowest > higher_than_m)
    return outlines(is_cliff, transform)
