"""How far the elevation's noise moves the land that drains through a pad."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import fft

from playsite.terrain._spectrum import drawn_fields, gaussian_power
from playsite.terrain.drainage import Drainage, drainage
from playsite.terrain.grid import cell_size_m

if TYPE_CHECKING:
    from affine import Affine
    from numpy.typing import NDArray

__all__ = ["DRAWS", "DrawnNoise", "drained_m2", "drawn_noise", "run_on_range_m2"]

DRAWS = 8
"""Grounds that are drawn; least and most of so many hold about four fifths of what may be."""

_LEAST_SIDE = 512  # cells after which a drawn field comes again
_LENGTHS = 32.0  # lengths of correlation that its side has at least


@dataclass(frozen=True)
class DrawnNoise:
    """Noise that lies fast in the plane: a place has the same whatever window it is seen in.

    Each field comes again after its own side, and fits on to itself.
    """

    fields: tuple[NDArray[np.float64], ...]

    def drainage(self, elevation: NDArray[np.floating], transform: Affine, draw: int) -> Drainage:
        """Find where water goes on the ground with one of the noises added."""
        field, cell_m = self.fields[draw], cell_size_m(transform)
        first = (round(-transform.f / cell_m), round(transform.c / cell_m))
        rows, columns = (
            np.arange(at, at + many) % len(field)
            for at, many in zip(first, elevation.shape, strict=True)
        )
        return drainage(elevation + field[np.ix_(rows, columns)], transform)


def drawn_noise(
    cell_m: float, *, noise_m: float, noise_length_m: float = 0.0, seed: int = 0
) -> DrawnNoise:
    """Draw noises.

    Parameters
    ----------
    cell_m
        Side of a cell, m.
    noise_m, noise_length_m
        Standard deviation of the elevation's noise, and the length of its correlation
        exp(-d^2 / (2 L^2)), m; 0 if independent.
    seed
        Of the draws.
    """
    side = int(fft.next_fast_len(max(_LEAST_SIDE, int(_LENGTHS * noise_length_m / cell_m))))
    power = gaussian_power((side, side), cell_m, noise_m, noise_length_m)
    return DrawnNoise(tuple(drawn_fields(power, count=DRAWS, rng=np.random.default_rng(seed))))


def drained_m2(ways: Drainage, pad: NDArray[np.bool_]) -> float:
    """Land that drains through a pad, itself not counted, m2; NaN where it has no elevation."""
    shares = ways.shares(pad)
    known = int(np.count_nonzero(~np.isnan(shares[pad])))
    if not known:
        return float("nan")
    return (float(np.nansum(shares)) - known) * cell_size_m(ways.transform) ** 2


def run_on_range_m2(
    elevation: NDArray[np.floating],
    transform: Affine,
    pad: NDArray[np.bool_],
    noise: DrawnNoise,
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
    noise
        Of the elevation's cells.

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
    found_m2 = [
        drained_m2(noise.drainage(elevation, transform, draw), pad)
        for draw in range(len(noise.fields))
    ]
    return min(found_m2), max(found_m2)
