"""Whether a hollow of known size could be told here: one is planted in the window's model."""

import math

import numpy as np
from numpy.typing import NDArray

from playsite.terrain._pools import water_held
from playsite.terrain._spectrum import Spectrum, deviations, likeliest_ground

Floats = NDArray[np.float64]

PLANTED_DEPTH_M, PLANTED_RADIUS_M, PLANTED_SLOPE = 0.30, 6.9, 0.02
"""A bowl of 150 m2 in a slope of 2 %, closed to 0.18 m: what one should be able to tell."""

MARGIN = 6
"""Side of the planted window, in radii of the bowl."""


def bowl_m(shape: tuple[int, int], cell_m: float) -> Floats:
    """Bowl of known size in the middle of a grid, below 0 inside it."""
    down, right = ((np.arange(side) - (side - 1) / 2) * cell_m for side in shape)
    squared = down[:, None] ** 2 + right[None, :] ** 2
    return np.minimum(0.0, PLANTED_DEPTH_M * (squared / PLANTED_RADIUS_M**2 - 1))


def planted_probability(
    spectrum: Spectrum, cell_m: float, depth_m: float, count: int, rng: np.random.Generator
) -> float:
    """Probability that a bowl of known size gets, in a slope with the window's spectrum.

    The bowl is observed without noise, so that one draw of the noise doesn't decide.
    """
    side = math.ceil(MARGIN * PLANTED_RADIUS_M / cell_m)
    bowl = bowl_m((side, side), cell_m)
    slope = np.repeat(PLANTED_SLOPE * cell_m * np.arange(side)[:, None], side, axis=1)
    seen = slope + likeliest_ground(bowl, cell_m, spectrum)
    inside = [np.flatnonzero(bowl < 0)]
    drawn = deviations(seen.shape, cell_m, spectrum, count=count, rng=rng)
    deep = [water_held(seen + each, inside)[0][0] >= depth_m for each in drawn]
    return sum(deep) / count
