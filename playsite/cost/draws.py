"""Joint draws of prices and quantities: each triangular, prices moving together.

A draw belongs to the name of its line (and, for what is particular to a place, of its parcel):
one line more or less changes no other, and all sites are priced by the same draws, so that the
difference between two of them is theirs alone.
"""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import ndtr

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Draws = NDArray[np.float64]

__all__ = ["COUNT", "PERCENTILES", "occurs", "percentiles", "shares", "triangular"]

COUNT = 10_000
PERCENTILES = (10, 50, 80, 90)


def shares(name: str, *, correlation: float = 0.0, count: int = COUNT, seed: int = 0) -> Draws:
    """Even draws from 0 to 1 of one line; those of all lines hang together.

    Parameters
    ----------
    name
        Of the line, and of the parcel where it is the parcel's own.
    correlation
        Of the normal scores of any two lines, 0 to 1: a dear market is dear for all.

    Notes
    -----
    Phi(sqrt(rho) Z0 + sqrt(1 - rho) Z): a Gaussian copula with one common factor, the market.
    """
    if not 0 <= correlation <= 1:
        raise ValueError(f"a correlation is from 0 to 1, but it is {correlation}")
    own = _normal(name, count, seed)
    market = _normal("the market", count, seed) if correlation else 0.0
    mixed = np.sqrt(correlation) * market + np.sqrt(1 - correlation) * own
    return np.asarray(ndtr(mixed), dtype=np.float64)


def triangular(share: Draws, low: float, likely: float, high: float) -> Draws:
    """Value that a triangular law reaches at each share: its inverse, exact.

    Examples
    --------
    >>> triangular(np.array([0.0, 0.5, 1.0]), 2, 3, 4).tolist()
    [2.0, 3.0, 4.0]
    """
    if not low <= likely <= high:
        raise ValueError(f"low, likely, high must rise, but they are {low}, {likely}, {high}")
    if low == high:
        return np.full_like(share, low)
    bend = (likely - low) / (high - low)
    rising = low + np.sqrt(share * (high - low) * (likely - low))
    falling = high - np.sqrt((1 - share) * (high - low) * (high - likely))
    return np.where(share < bend, rising, falling)


def occurs(name: str, probability: float, *, count: int = COUNT, seed: int = 0) -> Draws:
    """Whether an event happens: 1 in as many of the draws as it is probable, else 0."""
    if not 0 <= probability <= 1:
        raise ValueError(f"a probability is from 0 to 1, but it is {probability}")
    return np.asarray(shares(f"{name}\nhappens", count=count, seed=seed) < probability, float)


def percentiles(draws: Draws) -> tuple[float, ...]:
    """10th, 50th, 80th and 90th percentile."""
    return tuple(float(value) for value in np.percentile(draws, PERCENTILES))


def _normal(name: str, count: int, seed: int) -> Draws:
    digest = hashlib.sha256(f"{seed}\n{name}".encode()).digest()
    return np.random.default_rng(int.from_bytes(digest[:8], "big")).standard_normal(count)
