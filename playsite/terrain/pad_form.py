"""The form of the ground under a pad: an even slope, a terrace, a crown or a dish."""

import math
from dataclasses import dataclass

import numpy as np
from affine import Affine
from numpy.typing import ArrayLike, NDArray

from playsite.terrain.grid import (
    ON_THE_LINE_M,
    checked_elevation,
    checked_half_sides_m,
    checked_places,
    first_centre,
)
from playsite.terrain.pad_plane import FEWEST_CELLS, cells_a_piece

Floats = NDArray[np.float64]

EVEN, TERRACE, CROWN, DISH = "even slope", "terrace", "crown", "dish"
NO_FORM = "no clear form"

NOTABLE_M = 0.10
"""Lower forms are gone once the pad is graded (common practice, no source)."""

SURE, SHOWN, APART = 16.3, 30.0, 9.2
"""Chi-squares: of three parameters with 1 in 1,000; what a form must make on average for 9 in 10
to pass it; likelihoods 100 to 1 apart."""

LEAST_EXPLAINED = 0.5
"""Least part of the departure from a plane that a form must explain."""

LEAST_LEVEL = 0.2
"""Least part of the pad on either level of a terrace."""

TURNS, STEPS, HALF_BANKS_M = 24, 9, (0.5, 2.5)
MOST_CELLS = 900


@dataclass(frozen=True)
class PadForm:
    """Form of the ground under a pad.

    Attributes
    ----------
    kind
        ``"even slope"``; ``"terrace"``, two levels of one slope; ``"crown"``, a dome or a ridge;
        ``"dish"``, a bowl or a trough; ``"no clear form"``, where the ground is uneven in another
        way or the noise doesn't let tell.
    height_m
        Of a terrace the step, of a crown or dish how far its middle lies off its ends, m; NaN of
        the others.
    """

    kind: str
    height_m: float = math.nan


def pad_form(
    elevation: ArrayLike,
    transform: Affine,
    place: ArrayLike,
    *,
    length_m: float,
    width_m: float,
    noise_m: float | None = None,
    noise_length_m: float = 0.0,
    least_known: float = 0.9,
) -> PadForm | None:
    """Tell the form of the ground under one pad.

    Parameters
    ----------
    elevation
        2-D array, m; NaN where missing.
    transform
        From column and row to easting and northing, m; north-up.
    place
        Easting and northing of the pad's centre, m, rotation of its long side, degrees
        anticlockwise from east.
    length_m, width_m
        Long and short side, m.
    noise_m, noise_length_m
        Standard deviation of the elevation's noise, m (None if not known: what no form explains
        counts as noise), and the length L of its correlation exp(-d^2 / (2 L^2)), m.
    least_known
        Least share of the pad's cells that must have elevation.

    Returns
    -------
    PadForm or None
        None where too little of the ground is known.

    Raises
    ------
    ValueError
        If the raster is rotated or a side is no length.

    Notes
    -----
    Two surfaces with three parameters more than the plane are fitted by least squares: the plane
    with a quadratic, and the plane with one step along a line, tried at 24 directions, 9 offsets
    and two widths of its bank. With v the variance that one piece of noise leaves, a form counts
    where the squares it explains come to at least 16.3 v and to half of what the plane leaves beyond
    the noise, and lead the other by 9.2 v; and where it is at least 10 cm high. A quadratic with curvatures of
    opposite signs is a saddle, and no clear form. A step of H in the middle of n cells leaves
    n H^2 / 16 over a plane (geometry): where that is under 30 v for 10 cm, such a form would not
    show, and what looks even is no clear form either.

    Examples
    --------
    >>> south = np.arange(40.0)[:, None] * np.ones(40)
    >>> at = {"place": (20, 20, 0), "length_m": 30, "width_m": 20, "noise_m": 0.02}
    >>> form = pad_form(0.03 * south + 0.5 * (south < 20), Affine(1, 0, 0, 0, -1, 40), **at)
    >>> form.kind, round(form.height_m, 2)
    ('terrace', 0.5)
    """
    ground, half = checked_elevation(elevation), checked_half_sides_m(length_m, width_m)
    along, across, height, known_share = _cells(ground, transform, place, half)
    if known_share < least_known or len(height) < FEWEST_CELLS:
        return None
    cell_m = math.sqrt(4 * half[0] * half[1] * known_share / len(height))
    pieces = cells_a_piece(half, noise_length_m=noise_length_m, cell_area_m2=cell_m**2)
    plane = np.linalg.qr(np.stack([np.ones_like(along), along, across], axis=1))[0]
    left = height - height.mean()
    left = left - plane @ (plane.T @ left)
    squares = float(left @ left)
    bent, curved = _quadratic(left, plane, along / half[0], across / half[1])
    stepped, step_m = _step(left, plane, along, across)
    rest = (squares - max(bent, stepped)) / max(len(left) - 6, 1)
    noise_m2 = rest if noise_m is None else noise_m**2
    variance = pieces * max(rest, noise_m2)
    best, other = max(bent, stepped), min(bent, stepped)
    form = PadForm(TERRACE, step_m) if stepped > bent else curved
    is_sure = best >= SURE * variance and best - other >= APART * variance
    departure = squares - len(left) * noise_m2  # of the ground itself, without noise
    explains = best >= LEAST_EXPLAINED * departure
    if form.height_m >= NOTABLE_M and is_sure and explains:
        return form
    # a step of the least notable height leaves this over a plane
    shows = len(left) * NOTABLE_M**2 / 16
    return PadForm(EVEN if departure < shows and shows >= SHOWN * variance else NO_FORM)


def _cells(
    ground: NDArray[np.floating], transform: Affine, place: ArrayLike, half: tuple[float, float]
) -> tuple[Floats, Floats, Floats, float]:
    """Known cells of a pad, at most about 900: along and across from its centre, height; share."""
    ((easting, northing, rotation_deg),) = checked_places(np.atleast_2d(place))
    west, north, cell_m = first_centre(transform)
    turn = math.radians(rotation_deg)
    cosine, sine = math.cos(turn), math.sin(turn)
    every = max(1, math.ceil(math.sqrt(4 * half[0] * half[1] / cell_m**2 / MOST_CELLS)))
    reach = math.ceil(math.hypot(*half) / cell_m / every) * every
    steps = np.arange(-reach, reach + 1, every)
    column = round((easting - west) / cell_m) + steps
    row = round((north - northing) / cell_m) + steps
    x, y = np.meshgrid(west + column * cell_m - easting, north - row * cell_m - northing)
    along, across = x * cosine + y * sine, y * cosine - x * sine
    inside = (abs(along) <= half[0] + ON_THE_LINE_M) & (abs(across) <= half[1] + ON_THE_LINE_M)
    rows, columns = np.meshgrid(row, column, indexing="ij")
    on = (rows >= 0) & (rows < ground.shape[0]) & (columns >= 0) & (columns < ground.shape[1])
    height = np.full(x.shape, np.nan)
    height[on] = ground[rows[on], columns[on]]
    known = inside & np.isfinite(height)
    share = float(known.sum() / max(inside.sum(), 1))
    return along[known], across[known], height[known], share


def _quadratic(left: Floats, plane: Floats, u: Floats, v: Floats) -> tuple[float, PadForm]:
    """Squares that a quadratic explains of what the plane leaves, and the form that it has."""
    terms = np.stack([u * u, u * v, v * v], axis=1)
    terms -= plane @ (plane.T @ terms)
    factors, *_ = np.linalg.lstsq(terms, left, rcond=None)
    explained = float(left @ (terms @ factors))
    bends = np.linalg.eigvalsh([[factors[0], factors[1] / 2], [factors[1] / 2, factors[2]]])
    minor, major = sorted(bends, key=abs)
    if minor * major < 0 and abs(minor) > abs(major) / 3:
        return explained, PadForm(NO_FORM)
    return explained, PadForm(CROWN if major < 0 else DISH, abs(float(major)))


def _step(left: Floats, plane: Floats, along: Floats, across: Floats) -> tuple[float, float]:
    """Squares that the best step explains of what the plane leaves, and its height, m."""
    turns = np.pi / TURNS * np.arange(TURNS)
    away = np.outer(np.cos(turns), along) + np.outer(np.sin(turns), across)
    offsets = np.quantile(away, np.linspace(LEAST_LEVEL, 1 - LEAST_LEVEL, STEPS), axis=1)
    from_step = (away[None] - offsets[:, :, None]).reshape(-1, len(left))
    explained, height_m = 0.0, 0.0
    for half_bank_m in HALF_BANKS_M:
        steps = np.clip(from_step / half_bank_m, -1, 1)
        rises = steps @ left
        sizes = np.einsum("ij,ij->i", steps, steps) - ((steps @ plane) ** 2).sum(axis=1)
        squares = rises**2 / np.maximum(sizes, 1e-9)
        best = int(np.argmax(squares))
        if squares[best] > explained:
            explained = float(squares[best])
            height_m = 2 * abs(float(rises[best] / sizes[best]))
    return explained, height_m
