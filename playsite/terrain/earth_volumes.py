"""Volumes of earth: between cross sections, over a grid, in its bed and moved, and their error."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

LOOSE_TO_BANK = 1.25
"""Loose earth in a truck from a volume in its bed: common earth, FM 5-434 (from memory)."""


@dataclass(frozen=True)
class Volume:
    """A volume, m3, with what the elevation's noise makes of it.

    Attributes
    ----------
    m3
        The volume.
    plus_minus_m3
        Its standard error, m3; NaN where the noise is not known.
    at_most_m3
        The error if all of the elevation were off by the noise in one direction, m3.
    """

    m3: float
    plus_minus_m3: float = math.nan
    at_most_m3: float = math.nan


def noise_volume_m3(
    area_m2: float, *, noise_m: float, noise_length_m: float, cell_m: float = 0.0
) -> float:
    """Standard error of a volume over an area from the elevation's noise, m3.

    A s sqrt(2 pi L^2 / A): noise of correlation exp(-d^2 / (2 L^2)) counts as A / (2 pi L^2)
    independent pieces, but no piece is smaller than a cell or larger than the area, where it is
    A s, the upper limit.

    Examples
    --------
    >>> round(noise_volume_m3(719, noise_m=0.05, noise_length_m=5))
    17
    """
    for name, value in {
        "area": area_m2,
        "noise": noise_m,
        "noise's length": noise_length_m,
    }.items():
        if not 0 <= value < math.inf:
            raise ValueError(f"The {name} must be 0 or more, but it is {value}.")
    if area_m2 == 0:
        return 0.0
    piece_m2 = max(cell_m**2, 2 * math.pi * noise_length_m**2)
    return area_m2 * noise_m * math.sqrt(min(piece_m2 / area_m2, 1))


def average_end_area_volume(end_areas: Sequence[float], *, spacing: float) -> float:
    """Volume between cross sections by their mean areas: sum of spacing (A1 + A2) / 2.

    Any one unit of length. Too much where the height changes along the way: see
    :func:`prismoidal_volume`.

    Examples
    --------
    >>> average_end_area_volume([0, 137.5, 350], spacing=50)
    15625.0
    """
    areas = _checked_areas(end_areas, spacing)
    return float(spacing * (areas[1:] + areas[:-1]).sum() / 2)


def prismoidal_volume(
    end_areas: Sequence[float], middle_areas: Sequence[float], *, spacing: float
) -> float:
    """Volume between cross sections, exact for straight edges: sum of spacing (A1 + 4 M + A2) / 6.

    ``middle_areas`` are those half way between the cross sections, one fewer than these.
    """
    areas, middle = _checked_areas(end_areas, spacing), np.asarray(middle_areas, dtype=np.float64)
    if len(middle) != len(areas) - 1:
        raise ValueError(
            f"Between {len(areas)} cross sections lie {len(areas) - 1} middle areas, "
            f"but {len(middle)} are given."
        )
    return float(spacing * (areas[1:] + 4 * middle + areas[:-1]).sum() / 6)


def grid_volume(heights: ArrayLike, finish: ArrayLike, *, spacing: float) -> tuple[float, float]:
    """Cut and fill over a grid of corner heights: each square has the mean of its four corners.

    Cut and fill of corners on one square cancel, as in the hand method; any one unit of length.

    Parameters
    ----------
    heights, finish
        2-D: height of the ground and of the finish at the corners (the finish may be one number).
    spacing
        Side of a square.

    Examples
    --------
    >>> grid_volume([[2.0, 2.0], [1.0, 2.0]], 1, spacing=10)
    (75.0, 0.0)
    """
    over = np.asarray(heights, dtype=np.float64) - np.asarray(finish, dtype=np.float64)
    if over.ndim != 2 or min(over.shape) < 2:
        raise ValueError(f"Give heights at two corners a side or more, not of shape {over.shape}.")
    mean = (over[1:, 1:] + over[1:, :-1] + over[:-1, 1:] + over[:-1, :-1]) / 4
    area = spacing**2
    return float(np.maximum(mean, 0).sum() * area), float(np.maximum(-mean, 0).sum() * area)


def haul_m3(
    cut_m3: float, fill_m3: float, *, compacted_to_bank: float, unsuitable_share: float = 0.0
) -> tuple[float, float]:
    """Earth to bring in, m3 compacted, and to take away, m3 in its bed.

    Parameters
    ----------
    cut_m3, fill_m3
        Earth dug, in its bed, and earth placed, compacted.
    compacted_to_bank
        Compacted fill made of a volume of earth in its bed.
    unsuitable_share
        Share of the cut that can't be used again and leaves the site.

    Examples
    --------
    >>> haul_m3(100, 81, compacted_to_bank=0.9)
    (0.0, 10.0)
    >>> haul_m3(100, 95, compacted_to_bank=0.95)
    (0.0, 0.0)
    """
    if not 0 <= unsuitable_share <= 1:
        raise ValueError(f"A share is from 0 to 1, but it is {unsuitable_share}.")
    usable_m3 = cut_m3 * (1 - unsuitable_share)
    in_m3 = max(fill_m3 - compacted_to_bank * usable_m3, 0.0)
    left_m3 = max(usable_m3 - fill_m3 / compacted_to_bank, 0.0)
    return in_m3, cut_m3 - usable_m3 + left_m3


def loose_m3(bank_m3: float, *, loose_to_bank: float = LOOSE_TO_BANK) -> float:
    """Volume of dug earth as trucks carry it, m3: common earth 1.25, sand 1.11.

    Examples
    --------
    >>> loose_m3(100)
    125.0
    """
    return bank_m3 * loose_to_bank


def _checked_areas(end_areas: Sequence[float], spacing: float) -> NDArray[np.float64]:
    areas = np.asarray(end_areas, dtype=np.float64)
    if areas.ndim != 1 or len(areas) < 2 or not spacing > 0:
        raise ValueError("Give two cross sections or more and a spacing above 0.")
    return areas
