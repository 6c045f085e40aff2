"""Low spots at one pad, with the probability that they are real."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from rasterio.features import geometry_mask
from scipy import ndimage

from playsite.site import Examined
from playsite.terrain.along import window_of
from playsite.terrain.credible import (
    CANDIDATE_DEPTH_M,
    CREDIBLE,
    FEWEST_CELLS,
    credible_low_spots,
)
from playsite.terrain.filling import filled
from playsite.terrain.low_spots import LEAST_AREA_M2

if TYPE_CHECKING:
    from affine import Affine
    from shapely.geometry.base import BaseGeometry

    from playsite.site import Site
    from playsite.terrain.credible import CredibleLowSpots

__all__ = ["AROUND_M", "AtPad", "hollows_at"]

AROUND_M = 3.0
"""Ground around a pad that is looked at with it."""

_WINDOW_M, _NEAR_M = 35.0, 10.0
_GRADED_M = 5.0  # about as far as the tie-in of a pad reaches
_REMOVED = 0.9


@dataclass(frozen=True)
class AtPad:
    """What stands at a pad.

    Parameters
    ----------
    share_pct
        Share of the pad and 3 m around it in low spots: credible ones, least, most.
    note
        A sentence, or empty.
    """

    share_pct: tuple[float, float, float]
    note: str = ""


def hollows_at(pad: BaseGeometry, site: Site) -> AtPad:
    """Look closer at the ground round one pad; what was found is kept in ``site.examined``."""
    unknown = (float("nan"),) * 3
    window = _window(pad, site)
    if window is None:
        return AtPad(unknown, "too little elevation here")
    cut, transform = window
    around = geometry_mask([pad.buffer(AROUND_M)], cut.shape, transform, invert=True)
    near = geometry_mask([pad.buffer(_NEAR_M)], cut.shape, transform, invert=True)
    ground = site.ground
    # Independent noise hides no hollow that matters; correlated noise may hide one altogether.
    is_plain = ground is None or ground.noise_length_m <= ground.cell_m
    if is_plain and not (_candidates(cut, abs(transform.a)) & near).any():
        return AtPad((0.0, 0.0, 0.0))
    spots = credible_low_spots(
        cut,
        transform,
        noise_m=ground.noise_m if ground else None,
        noise_length_m=ground.noise_length_m if ground else 0.0,
    )
    west, north = transform.c, transform.f
    east, south = transform @ (cut.shape[1], cut.shape[0])
    site.examined.append(Examined(shapely.box(west, south, east, north), transform, spots))
    if not spots.resolvable:
        return AtPad(unknown, "hollows of this size cannot be told from the elevation's noise here")
    probability = np.r_[0.0, spots.probability][np.maximum(spots.labels, 0)]
    known = around & np.isfinite(cut)
    if not known.any():
        return AtPad(unknown, "too little elevation here")
    shares = [100 * float((probability[known] >= least).mean()) for least in (CREDIBLE, 0.95, 1e-9)]
    touching = np.unique(spots.labels[around & (spots.labels > 0)])
    note = "; ".join(_said(spots, int(number), pad, transform) for number in touching)
    return AtPad((shares[0], min(shares[0], shares[1]), max(shares[0], shares[2])), note)


def _window(pad: BaseGeometry, site: Site) -> tuple[np.ndarray, Affine] | None:
    """Ground round a pad, water let through; None where there is next to none."""
    ground, drained = site.ground, site.holed
    if ground is None or drained is None or not drained.size:
        return None
    cut, transform = window_of(drained, ground.transform, pad.buffer(_WINDOW_M).bounds)
    return (cut, transform) if min(cut.shape) >= FEWEST_CELLS else None


def _candidates(cut: np.ndarray, cell_m: float) -> np.ndarray:
    """Cells of hollows of the averaged ground that are worth a closer look."""
    known = np.isfinite(cut)
    weight = ndimage.uniform_filter(known.astype(float), 3)
    mean = ndimage.uniform_filter(np.where(known, cut, 0.0), 3) / np.where(weight > 0, weight, 1)
    even = np.where(known, mean, np.nan)
    deep = (filled(even) - even) >= CANDIDATE_DEPTH_M
    labels, count = ndimage.label(deep, np.ones((3, 3)))
    sizes = np.bincount(labels.ravel(), minlength=count + 1)
    large = (sizes >= FEWEST_CELLS) & (sizes * cell_m**2 >= LEAST_AREA_M2)
    large[0] = False
    found: np.ndarray = large[labels]
    return found


def _said(spots: CredibleLowSpots, number: int, pad: BaseGeometry, transform: Affine) -> str:
    """One low spot in words: how sure, how deep, what drains there, whether grading removes it."""
    row = number - 1
    likely = 100 * spots.probability[row]
    deep = 100 * spots.depth_m[row]
    cells = spots.labels == number
    graded = geometry_mask([pad.buffer(_GRADED_M)], cells.shape, transform, invert=True)
    removed = (cells & graded).sum() >= _REMOVED * cells.sum()
    catchment_m2 = spots.catchment_m2[row]
    fate = f"grading the pad would {'remove' if removed else 'not drain'} it"
    sure = spots.probability[row] >= CREDIBLE
    word = "low spot" if sure else "possible low spot, look in the field"
    return (
        f"{word}, {likely:.0f} % likely, {deep[1]:.0f} cm deep ({deep[0]:.0f} cm to "
        f"{deep[2]:.0f} cm), {catchment_m2:.0f} m² drain to it; {fate}"
    )
