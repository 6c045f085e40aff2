"""Low spots that are likely real: hollows in the grounds that may lie under the observed one."""

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from affine import Affine
from numpy.typing import ArrayLike, NDArray
from scipy import ndimage

from playsite.terrain._planted import bowl_m, planted_probability
from playsite.terrain._pools import pools_of, water_held
from playsite.terrain._spectrum import deviations, fitted_spectrum, likeliest_ground
from playsite.terrain.grid import cell_size_m, checked_elevation
from playsite.terrain.low_spots import DEPTH_THAT_MATTERS_M, LEAST_AREA_M2, MISSING, low_spots

Floats = NDArray[np.float64]
Labels = NDArray[np.int32]

CREDIBLE, DOUBTFUL = 0.6, 0.2
"""Least probability of a credible low spot, and of one to be looked at in the field."""

CANDIDATE_DEPTH_M = 0.05
"""Hollows of the likeliest ground shallower than this are not even asked about."""

FEWEST_CELLS = 9
"""A hollow of fewer cells is no shape."""

SHORTEST_SIDE, LEAST_KNOWN = 16, 0.5
"""A window of fewer cells a side, or less known than this, shows no spectrum."""

RANGE_PCT = (5.0, 50.0, 95.0)
"""Low, middle and high value told of what is uncertain."""


@dataclass(frozen=True)
class CredibleLowSpots:
    """Low spots of a window; arrays have one row for each, ranges are 5 %, median, 95 %.

    Attributes
    ----------
    labels
        Raster: the id of the low spot that a cell lies in, 0 in none, -1 without elevation.
    id
        1, 2, ...
    probability
        Share of the possible grounds in which the spot holds water of the depth that matters.
    depth_m
        (n, 3): greatest depth of the water, m.
    volume_m3
        (n, 3): water above the spot's cells, m3.
    spill_m
        (n, 3): level at which the water spills, m.
    area_m2
        Area that is 5 cm deep or more in the likeliest ground, m2.
    spill_point
        (n, 2): easting and northing of the cell over which the likeliest ground spills, m.
    catchment_m2
        Area of the window that drains into the pool of the likeliest ground, itself included, m2.
    catchment_cut
        Whether the window's edge cuts that area, which is then a lower bound.
    likeliest_m
        Raster: mean of the possible grounds, m; NaN without elevation.
    noise_m
        Standard deviation of the noise, m, given or fitted.
    resolvable
        Whether a bowl 0.30 m deep and 14 m wide in a slope of 2 % can be told from the noise
        here. If not, that nothing was found says nothing.
    resolvable_probability
        Probability that such a bowl would get; NaN where too little is known.
    """

    labels: Labels
    id: NDArray[np.int64]
    probability: Floats
    depth_m: Floats
    volume_m3: Floats
    spill_m: Floats
    area_m2: Floats
    spill_point: Floats
    catchment_m2: Floats
    catchment_cut: NDArray[np.bool_]
    likeliest_m: Floats
    noise_m: float
    resolvable: bool
    resolvable_probability: float

    @property
    def standing(self) -> tuple[str, ...]:
        """``"credible"`` or ``"field check"`` for each spot."""
        return tuple("credible" if p >= CREDIBLE else "field check" for p in self.probability)


def credible_low_spots(
    elevation: ArrayLike,
    transform: Affine,
    *,
    noise_m: float | None = None,
    noise_length_m: float = 0.0,
    depth_m: float = DEPTH_THAT_MATTERS_M,
    least_probability: float = DOUBTFUL,
    realisations: int = 100,
    seed: int = 0,
) -> CredibleLowSpots:
    """Low spots of a window with the probability that each is real.

    The same input gives the same output. Banks without their culvert dam water that in truth
    runs on: condition the elevation first. The window's edge and missing cells are outlets, and
    the window should reach some 30 m beyond what is asked about.

    Parameters
    ----------
    elevation
        2-D array, m; NaN where missing or masked as water.
    transform
        From column and row to easting and northing, m; north-up.
    noise_m
        Standard deviation of the elevation's noise, m; None to read it from the window, which
        tells independent noise only.
    noise_length_m
        Length L of the noise's correlation exp(-d^2 / (2 L^2)), m; 0 if independent.
    depth_m
        Depth of standing water that matters, m.
    least_probability
        Less likely spots are left out.
    realisations
        Number of possible grounds drawn.
    seed
        Of the draws.

    Returns
    -------
    CredibleLowSpots
        Empty arrays where there are none, or where too little is known.

    Raises
    ------
    ValueError
        If the raster is rotated or a value makes no sense.

    Notes
    -----
    About the window's plane, ground has power S_t = A / (1 + (k l)^2)^p, fitted, and noise S_e.
    The likeliest ground keeps W = S_t / (S_t + S_e) of each wave; possible grounds deviate from
    it by Matheron's rule. Candidates are hollows of the likeliest ground, at least 9 m2 and 9
    cells of it 5 cm deep; P is the share of possible grounds that hold ``depth_m`` of water
    in their outline. Adding noise to the observed ground instead keeps the hollows that are born
    of its own noise. A. Journel, C. Huijbregts (1978), *Mining Geostatistics* (from memory).

    Examples
    --------
    >>> rows, columns = np.indices((64, 64))
    >>> bowl = np.minimum(0, ((rows - 32) ** 2 + (columns - 32) ** 2) / 100 - 0.4)
    >>> noise = np.random.default_rng(1).normal(0, 0.02, bowl.shape)
    >>> spots = credible_low_spots(bowl + noise, Affine(1, 0, 0, 0, -1, 64), noise_m=0.02)
    >>> spots.standing, spots.resolvable
    (('credible',), True)
    """
    ground, cell_m = checked_elevation(elevation).astype(np.float64), cell_size_m(transform)
    _check(noise_m, noise_length_m, depth_m, realisations)
    known = np.isfinite(ground)
    if min(ground.shape) < SHORTEST_SIDE or known.mean() < LEAST_KNOWN:
        return _without_spots(ground, math.nan if noise_m is None else noise_m, math.nan)
    plane = _plane(ground, known)
    rest = _completed(ground - plane, known)
    spectrum = fitted_spectrum(rest, cell_m, noise_m=noise_m, noise_length_m=noise_length_m)
    with_bowl = fitted_spectrum(
        rest,
        cell_m,
        noise_m=spectrum.noise_m,
        noise_length_m=noise_length_m,
        planted=bowl_m(ground.shape, cell_m),
    )
    rng = np.random.default_rng(seed)
    planted = planted_probability(with_bowl, cell_m, depth_m, realisations, rng)
    likeliest = np.where(known, plane + likeliest_ground(rest, cell_m, spectrum), np.nan)
    nothing = _without_spots(likeliest, spectrum.noise_m, planted)
    labels, cells = _candidates(likeliest, transform)
    if not cells:
        return nothing
    drawn = deviations(ground.shape, cell_m, spectrum, count=realisations, rng=rng)
    held = np.array([water_held(likeliest + each, cells) for each in drawn])
    probability = (held[:, :, 0] >= depth_m).mean(axis=0)
    kept = np.flatnonzero(probability >= least_probability)
    return replace(
        nothing,
        labels=_renumbered(labels, kept),
        id=np.arange(1, len(kept) + 1),
        probability=probability[kept],
        **_figures(likeliest, transform, [cells[spot] for spot in kept], held[:, kept]),
    )


def _figures(
    likeliest: Floats, transform: Affine, spots: list[NDArray[np.int64]], held: Floats
) -> dict[str, Any]:
    """Figures of the spots that are kept; ``held`` is draw by spot by depth, sum and level."""
    cell_area_m2 = cell_size_m(transform) ** 2
    depth, total, level = np.moveaxis(np.percentile(held, RANGE_PCT, axis=0), 0, -1).swapaxes(0, 1)
    points, catchments, cut = pools_of(likeliest, transform, spots)
    return {
        "depth_m": depth,
        "volume_m3": total * cell_area_m2,
        "spill_m": level,
        "area_m2": np.array([len(cells) for cells in spots]) * cell_area_m2,
        "spill_point": points,
        "catchment_m2": catchments,
        "catchment_cut": cut,
    }


def _check(noise_m: float | None, noise_length_m: float, depth_m: float, realisations: int) -> None:
    given = {"noise": noise_m or 0.0, "noise's length": noise_length_m, "depth": depth_m}
    for name, value in given.items():
        if not 0 <= value < math.inf:
            raise ValueError(f"The {name} must be 0 or more, but it is {value}.")
    if realisations < 1:
        raise ValueError(f"At least one ground must be drawn, not {realisations}.")
    if noise_m is None and noise_length_m > 0:
        raise ValueError(
            "Correlated noise can't be told from relief: give its standard deviation too."
        )


def _without_spots(ground: Floats, noise_m: float, planted: float) -> CredibleLowSpots:
    none, ranges = np.empty(0), np.empty((0, 3))
    return CredibleLowSpots(
        labels=np.where(np.isnan(ground), MISSING, 0).astype(np.int32),
        id=np.empty(0, np.int64),
        probability=none,
        depth_m=ranges,
        volume_m3=ranges,
        spill_m=ranges,
        area_m2=none,
        spill_point=np.empty((0, 2)),
        catchment_m2=none,
        catchment_cut=np.empty(0, np.bool_),
        likeliest_m=ground,
        noise_m=noise_m,
        resolvable=planted >= CREDIBLE,
        resolvable_probability=planted,
    )


def _plane(ground: Floats, known: NDArray[np.bool_]) -> Floats:
    """Plane of least squares through the known cells, at every cell."""
    rows, columns = np.indices(ground.shape)
    terms = np.stack([np.ones(ground.shape), rows, columns], axis=-1)
    start = ground[known].mean()  # keeps the digits of great heights
    fit, *_ = np.linalg.lstsq(terms[known], ground[known] - start, rcond=None)
    plane: Floats = start + terms @ fit
    return plane


def _completed(rest: Floats, known: NDArray[np.bool_]) -> Floats:
    """Missing cells take the height of the nearest known one, about the plane."""
    if known.all():
        return rest
    nearest = ndimage.distance_transform_edt(~known, return_distances=False, return_indices=True)
    completed: Floats = rest[tuple(nearest)]
    return completed


def _candidates(likeliest: Floats, transform: Affine) -> tuple[Labels, list[NDArray[np.int64]]]:
    """Hollows of the likeliest ground: their labels, and the flat cells of each."""
    least_m2 = max(LEAST_AREA_M2, FEWEST_CELLS * cell_size_m(transform) ** 2)
    found = low_spots(
        likeliest, transform, noise_m=0, least_depth_m=CANDIDATE_DEPTH_M, least_area_m2=least_m2
    )
    flat = found.labels.ravel()
    return found.labels, [np.flatnonzero(flat == spot) for spot in found.id]


def _renumbered(labels: Labels, kept: NDArray[np.int64]) -> Labels:
    """Labels of the candidates kept, from 1; the others are none."""
    # the last entry is that of -1, missing
    numbers = np.zeros(max(int(labels.max()), 0) + 2, np.int32)
    numbers[kept + 1] = np.arange(1, len(kept) + 1)
    numbers[-1] = MISSING
    return numbers[labels]
