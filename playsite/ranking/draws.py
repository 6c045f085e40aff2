"""Chance numbers that belong to a name and a place in a row: the map's own script draws the same.

Whole numbers of 32 bits, one table and the four rules of arithmetic: nothing in which two languages
or two processors differ in the last digit. Of a name its Fowler, Noll and Vo hash (FNV-1a); a row of
numbers one golden step apart is scattered by the finisher of MurmurHash3 (both from memory).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.special import ndtri

if TYPE_CHECKING:
    from typing import TypeAlias

    from numpy.typing import NDArray

    from playsite.ranking._share_search import Array

    Words: TypeAlias = NDArray[np.uint32]

__all__ = ["NORMAL", "even", "normal"]

_STEP = 0x9E3779B9
"""2^32 divided by the golden ratio, odd."""
_SLICES = 1024


def _slice_means() -> Array:
    """Mean of the normal law in each of its equal slices, lowest first, to 6 places.

    n (phi(a) - phi(b)) between the bounds a and b: no mean is moved, and of the spread 0.1% is lost.
    """
    bounds = ndtri(np.linspace(0, 1, _SLICES + 1))
    density = np.exp(-(bounds**2) / 2) / np.sqrt(2 * np.pi)
    return np.asarray(np.round(_SLICES * (density[:-1] - density[1:]), 6), dtype=np.float64)


NORMAL = _slice_means()
"""What `normal` gives: one of so many values, all equally likely."""


def even(seed: int, name: str, count: int) -> Array:
    """Draws spread evenly between 0 and 1.

    Examples
    --------
    >>> even(0, "shade", 3).round(6).tolist()
    [0.686106, 0.59452, 0.806158]
    """
    return (_words(seed, name, count).astype(np.float64) + 0.5) / 2.0**32


def normal(seed: int, name: str, count: int) -> Array:
    """Draws from the normal law of mean 0 and deviation 1, of 1,024 values.

    Examples
    --------
    >>> normal(0, "shade", 3).tolist()
    [0.484643, 0.238461, 0.863805]
    """
    drawn: Array = NORMAL[_words(seed, name, count) >> np.uint32(22)]
    return drawn


def _words(seed: int, name: str, count: int) -> Words:
    steps = np.arange(1, count + 1, dtype=np.uint32) * np.uint32(_STEP)
    return _scattered(steps + _scattered(np.array([_hashed(f"{seed}\n{name}")], np.uint32)))


def _hashed(text: str) -> int:
    value = 0x811C9DC5
    for byte in text.encode(errors="replace"):
        value = (value ^ byte) * 0x01000193 & 0xFFFFFFFF
    return value


def _scattered(words: Words) -> Words:
    for shift, factor in ((16, 0x85EBCA6B), (13, 0xC2B2AE35)):
        words = (words ^ (words >> np.uint32(shift))) * np.uint32(factor)
    return words ^ (words >> np.uint32(16))
