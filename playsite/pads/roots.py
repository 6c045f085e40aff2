"""Where a subdivision starts: nodes that together hold every place worth looking at."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

__all__ = ["at_angles", "whole_turn"]

_WIDEST_HALF_INTERVAL = np.radians(7.5)


def whole_turn(segments: NDArray[np.float64], a: float, b: float) -> NDArray[np.float64]:
    """Nodes for every rotation of the pad from 0 to 180 degrees.

    Twelve intervals, or more for a pad so long that it holds no upright rectangle through a
    turn of 7.5 degrees both ways.

    Parameters
    ----------
    segments
        (n, 4) boundary segments.
    a, b
        Half sides of the pad.

    Returns
    -------
    ndarray
        (m, 8) nodes as `playsite.pads.subdivision.grow` reads them.
    """
    widest = min(_WIDEST_HALF_INTERVAL, float(np.arcsin(b / a)) / 2)
    count = int(np.ceil(np.pi / 2 / widest - 1e-9))
    half = np.pi / 2 / count
    angles = np.asarray(2 * half * np.arange(count), dtype=np.float64)
    return _nodes(segments, angles, half * (1 + 1e-12))


def at_angles(segments: NDArray[np.float64], angles_deg: ArrayLike) -> NDArray[np.float64]:
    """Nodes for the given rotations alone.

    Parameters
    ----------
    segments
        (n, 4) boundary segments.
    angles_deg
        (m,) rotations of the pad.

    Returns
    -------
    ndarray
        (m, 8) nodes.
    """
    return _nodes(segments, np.radians(np.asarray(angles_deg, dtype=float)), 0.0)


def _nodes(
    segments: NDArray[np.float64], angles: NDArray[np.float64], half: float
) -> NDArray[np.float64]:
    points = segments[:, :2]
    c, s = np.cos(angles), np.sin(angles)
    along = np.outer(c, points[:, 0]) + np.outer(s, points[:, 1])
    across = np.outer(c, points[:, 1]) - np.outer(s, points[:, 0])
    middle_along = (along.min(1) + along.max(1)) / 2
    middle_across = (across.min(1) + across.max(1)) / 2
    return np.column_stack(
        [
            middle_along * c - middle_across * s,
            middle_along * s + middle_across * c,
            angles,
            np.ptp(along, axis=1) / 2,
            np.ptp(across, axis=1) / 2,
            angles,
            np.full(len(angles), half),
            np.full(len(angles), np.inf),
        ]
    )
