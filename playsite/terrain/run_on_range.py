"""How far the elevation's noise moves the land that drains through a pad."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy import fft

from playsite.terrain._spectrum import drawn_fields, gaussian_power
from playsite.terrain.drainage import drainage
from playsite.terrain.grid import cell_size_m

if TYPE_CHECKING:
    from affine import Affine
    from numpy.typing import NDArray

__all__ = ["DRAWS", "run_on_range_m2"]

DRAWS = 8
"""Grounds that are drawn; least and most of so many hold about four fifths of what may be."""

_WRAP = 3.0  # lengths of correlation by which a drawn field is larger, since it wraps round


def run_on_range_m2(
    elevation: NDArray[np.floating],
    transform: Affine,
    pad: NDArray[np.bool_],
    *,
    noise_m: float,
    noise_length_m: float = 0.0,
    seed: int = 0,
) -> tuple[float, float]:
    """Least and most land that drains through a pad when the noise is drawn again.

    Parameters
    ----------
    elevation
        2-D array, m; NaN where missing: a window that holds the catchment.
    transform
        From column and row to easting and northing, m; north-up.
    pad
        The pad's cells.
    noise_m, noise_length_m
        Standard deviation of the elevation's noise, and the length of its correlation
        exp(-d^2 / (2 L^2)), m; 0 if independent.
    seed
        Of the draws.

    Returns
    -------
    tuple of float
        m2, the pad itself not counted; NaN where no cell of the pad has elevation.

    Notes
    -----
    Noise is added to what already holds it once, so the ground is rougher than the true one: the
    range says how firm the figure is, not where the true one lies. Land beyond the window counts
    for nothing.
    """
    cell_m = cell_size_m(transform)
    known = int(np.count_nonzero(pad & ~np.isnan(elevation)))
    if not known:
        return float("nan"), float("nan")
    more = int(np.ceil(_WRAP * noise_length_m / cell_m))
    rows, columns = elevation.shape
    shape = (int(fft.next_fast_len(rows + more)), int(fft.next_fast_len(columns + more)))
    power = gaussian_power(shape, cell_m, noise_m, noise_length_m)
    found_m2 = []
    for field in drawn_fields(power, count=DRAWS, rng=np.random.default_rng(seed)):
        shares = drainage(elevation + field[:rows, :columns], transform).shares(pad)
        found_m2.append((float(np.nansum(shares)) - known) * cell_m**2)
    return min(found_m2), max(found_m2)
