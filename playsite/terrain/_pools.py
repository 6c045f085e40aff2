"""The pools that a ground would hold: how deep, how high, where they spill and what feeds them."""

import numpy as np
from affine import Affine
from numpy.typing import NDArray
from scipy import ndimage

from playsite.terrain.filling import filled
from playsite.terrain.grid import first_centre
from playsite.terrain.run_on import run_on_mask

Floats = NDArray[np.float64]


def water_held(ground: Floats, cells: list[NDArray[np.int64]]) -> list[tuple[float, float, float]]:
    """Greatest depth, summed depth and level at the deepest cell of each candidate."""
    level = filled(ground).ravel()
    depth = level - ground.ravel()
    held = []
    for spot in cells:
        water = depth[spot]
        deepest = int(water.argmax())
        held.append((float(water[deepest]), float(water.sum()), float(level[spot[deepest]])))
    return held


def pools_of(
    likeliest: Floats, transform: Affine, spots: list[NDArray[np.int64]]
) -> tuple[Floats, Floats, NDArray[np.bool_]]:
    """Spill point, catchment and whether that is cut, of the pool that each spot lies in."""
    points, areas, cut = np.empty((len(spots), 2)), np.empty(len(spots)), np.zeros(len(spots), bool)
    level = filled(likeliest)
    east, north, cell_m = first_centre(transform)
    around = np.ones((3, 3))
    beyond = ndimage.minimum_filter(
        np.pad(np.nan_to_num(level, nan=-np.inf), 1, constant_values=-np.inf), footprint=around
    )[1:-1, 1:-1]
    for spot, cells in enumerate(spots):
        deepest = cells[int((level - likeliest).ravel()[cells].argmax())]
        brim = level.ravel()[deepest]
        labels, _ = ndimage.label(level == brim, structure=around)
        pool = labels == labels.ravel()[deepest]
        # level with the brim and beside lower ground: the way out
        out = np.where(pool, beyond, np.inf)
        row, column = np.unravel_index(int(out.argmin()), out.shape)
        points[spot] = east + column * cell_m, north - row * cell_m
        above = run_on_mask(likeliest, transform, pool)
        areas[spot], cut[spot] = above.catchment_m2, above.is_lower_bound
    return points, areas, cut
