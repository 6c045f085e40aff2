"""How much of the elevation is noise, read from the elevation itself."""

import math

import numpy as np
from numpy.typing import ArrayLike

from playsite.terrain.grid import checked_elevation

COARSEST_CELL_M = 2.0
"""On larger cells the ground's own shape hides the noise (common practice, no source)."""

FEWEST_WINDOWS = 200
MOST_WINDOWS = 1_000_000

MAD_TO_SD = 1.4826
"""Standard deviation of a normal variable over its median absolute deviation."""

WHITE_NOISE_GAIN = 6.0
"""Root of the sum of squares of the window's weights, 36."""


def white_noise_m(elevation: ArrayLike, *, cell_m: float) -> float | None:
    """Independent noise of the elevation, one standard deviation: an estimate from the data.

    It is biased low where the noise is correlated from cell to cell, as it is after gridding and
    smoothing, and blind to a constant error; a stated repeatability is better where there is one.

    Parameters
    ----------
    elevation
        2-D array, m; NaN where missing.
    cell_m
        Side of a cell, m.

    Returns
    -------
    float or None
        Standard deviation, m; None where cells are larger than 2 m or too few are known.

    Raises
    ------
    ValueError
        If the elevation is not 2-D or the cell not above 0.

    Notes
    -----
    Each 3 x 3 window is weighted 1 -2 1 / -2 4 -2 / 1 -2 1, which gives 0 on planes and on
    f(x) + g(y); noise comes out six-fold. The median of the absolute values, so that kerbs and
    banks do not count, is taken over the half of the windows with the least grade: Horn's grade
    is odd in x and y where these weights are even, so choosing by it does not choose the noise.
    Exactly level windows (water flattened, or heights rounded) are left out.

    The weights: J. Immerkaer (1996), "Fast noise variance estimation", Computer Vision and Image
    Understanding 64(2), 300-302 (from memory). The median: common practice, no source.

    Examples
    --------
    >>> noise = np.random.default_rng(1).normal(0, 0.05, (300, 300))
    >>> round(white_noise_m(noise, cell_m=1.0), 3)
    0.05
    """
    ground = checked_elevation(elevation)
    if not 0 < cell_m < math.inf:
        raise ValueError(f"The side of a cell must be above 0 m, but it is {cell_m}.")
    if cell_m > COARSEST_CELL_M or min(ground.shape) < 3:
        return None
    step = max(1, math.isqrt(ground.size // MOST_WINDOWS))
    rows, columns = ground.shape[0] - 2, ground.shape[1] - 2
    (a, b, c), (d, e, f), (g, h, i) = (
        [
            ground[down : down + rows : step, right : right + columns : step].astype(np.float64)
            for right in range(3)
        ]
        for down in range(3)
    )
    bend = (a - 2 * b + c) - 2 * (d - 2 * e + f) + (g - 2 * h + i)
    steep = np.hypot((c - a) + 2 * (f - d) + (i - g), (g - a) + 2 * (h - b) + (i - c))
    used = np.isfinite(bend) & ((steep > 0) | (bend != 0))
    if np.count_nonzero(used) < FEWEST_WINDOWS:
        return None
    bend, steep = np.abs(bend[used]), steep[used]
    flattest = bend[steep <= np.median(steep)]
    return float(MAD_TO_SD * np.median(flattest) / WHITE_NOISE_GAIN)
