"""How often low spots told with a probability are real, on made-up ground whose truth is known."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from affine import Affine
from numpy.typing import NDArray

from playsite.terrain._spectrum import drawn_fields, gaussian_power
from playsite.terrain.credible import CREDIBLE, credible_low_spots
from playsite.terrain.filling import filled
from playsite.terrain.low_spots import DEPTH_THAT_MATTERS_M, low_spots

Floats = NDArray[np.float64]

CELLS, CELL_M = 96, 1.0
"""Side of a made-up window, and of its cells."""

RELIEF_M, RELIEF_LENGTH_M = 0.12, 7.0
"""Relief with some ten hollows a window, about as deep as what matters."""

STEEPEST = 0.02
"""Slopes of the windows run evenly from 0 to this."""

BINS = (0.0, 0.2, 0.4, 0.6, 0.8, 1.0)
"""Limits of the groups of probability in the table."""


@dataclass(frozen=True)
class MadeUp:
    """A window of made-up ground: as it is, and as it was observed; the noise is known."""

    truth_m: Floats
    observed_m: Floats
    noise_m: float
    noise_length_m: float

    @property
    def transform(self) -> Affine:
        """From column and row to m."""
        return Affine(CELL_M, 0, 0, 0, -CELL_M, CELL_M * len(self.truth_m))


@dataclass(frozen=True)
class Judged:
    """Spots over many windows: the probability told, and whether each is real."""

    probability: Floats
    real: NDArray[np.bool_]

    @property
    def brier(self) -> float:
        """Mean square of probability less truth: 0 is perfect, 0.25 is a coin."""
        return float(((self.probability - self.real) ** 2).mean())

    @property
    def real_share(self) -> float:
        """Share of the spots told as credible that are real."""
        return float(self.real[self.probability >= CREDIBLE].mean())

    def bins(self) -> list[tuple[float, float, int, float, float]]:
        """Low and high limit, count, mean probability and share real of each group; NaN if empty."""
        group = np.minimum(np.digitize(self.probability, BINS) - 1, len(BINS) - 2)
        rows = []
        for at in range(len(BINS) - 1):
            told, real = self.probability[group == at], self.real[group == at]
            means = (float(told.mean()), float(real.mean())) if len(told) else (np.nan, np.nan)
            rows.append((BINS[at], BINS[at + 1], len(told), *means))
        return rows


def made_up(seed: int, *, slope: float, noise_m: float, noise_length_m: float) -> MadeUp:
    """Make a slope with Gaussian relief, and observe it with noise.

    Examples
    --------
    >>> window = made_up(1, slope=0.01, noise_m=0.05, noise_length_m=0)
    >>> round((window.observed_m - window.truth_m).std(), 2)
    np.float64(0.05)
    """
    rng = np.random.default_rng(seed)
    # twice the size, so that the sides of the window don't match as those of the field do
    shape = (2 * CELLS, 2 * CELLS)
    relief, noise = (
        next(drawn_fields(gaussian_power(shape, CELL_M, *of), count=1, rng=rng))[:CELLS, :CELLS]
        for of in ((RELIEF_M, RELIEF_LENGTH_M), (noise_m, noise_length_m))
    )
    truth = relief + slope * CELL_M * np.arange(CELLS)[:, None]
    return MadeUp(truth, truth + noise, noise_m, noise_length_m)


def conditional(window: MadeUp) -> tuple[NDArray[np.int32], Floats]:
    """Spots and probabilities by the grounds that may lie under the observed one."""
    found = credible_low_spots(
        window.observed_m,
        window.transform,
        noise_m=window.noise_m,
        noise_length_m=window.noise_length_m,
        least_probability=0.0,
    )
    return found.labels, found.probability


def noise_added(window: MadeUp, *, realisations: int = 100) -> tuple[NDArray[np.int32], Floats]:
    """Spots and shares by adding noise to the observed ground: much used, and not calibrated.

    The hollows of the observed ground, 5 cm deep over 9 m2, and the share of the copies with new
    noise in which each holds the depth that matters. J. Lindsay, I. Creed (2006),
    "Distinguishing actual and artefact depressions in digital elevation data" (from memory).
    """
    found = low_spots(window.observed_m, window.transform, noise_m=0, least_depth_m=0.05)
    power = gaussian_power((2 * CELLS, 2 * CELLS), CELL_M, window.noise_m, window.noise_length_m)
    kept = np.zeros(len(found.id))
    for noise in drawn_fields(power, count=realisations, rng=np.random.default_rng(0)):
        ground = window.observed_m + noise[:CELLS, :CELLS]
        kept += _deepest(ground, found.labels, len(found.id)) >= DEPTH_THAT_MATTERS_M
    return found.labels, kept / realisations


def judged(
    way: Callable[[MadeUp], tuple[NDArray[np.int32], Floats]],
    *,
    windows: int,
    noise_m: float,
    noise_length_m: float,
) -> Judged:
    """Judge a way of finding low spots over many made-up windows.

    A spot is real if the true ground holds the depth that matters inside its outline.
    """
    told: list[Floats] = []
    real: list[NDArray[np.bool_]] = []
    for seed in range(windows):
        window = made_up(
            seed,
            slope=STEEPEST * seed / max(windows - 1, 1),
            noise_m=noise_m,
            noise_length_m=noise_length_m,
        )
        labels, probability = way(window)
        told.append(probability)
        held = _deepest(window.truth_m, labels, len(probability))
        real.append(held >= DEPTH_THAT_MATTERS_M)
    return Judged(np.concatenate(told), np.concatenate(real))


def _deepest(ground: Floats, labels: NDArray[np.int32], count: int) -> Floats:
    """Greatest depth of the ground's water inside each spot, m."""
    inside = labels > 0
    deepest = np.zeros(count)
    np.maximum.at(deepest, labels[inside] - 1, (filled(ground) - ground)[inside])
    return deepest


def table(found: Judged) -> str:
    """Reliability table in Markdown: per group of probability, how many spots and how many real.

    Examples
    --------
    >>> print(table(Judged(np.array([0.1, 0.9, 1.0]), np.array([False, True, True]))))
    | probability told | spots | mean told | share real |
    |---|---|---|---|
    | 0.0 to 0.2 | 1 | 0.10 | 0.00 |
    | 0.2 to 0.4 | 0 | | |
    | 0.4 to 0.6 | 0 | | |
    | 0.6 to 0.8 | 0 | | |
    | 0.8 to 1.0 | 2 | 0.95 | 1.00 |
    """
    lines = ["| probability told | spots | mean told | share real |", "|---|---|---|---|"]
    for low, high, count, told, real in found.bins():
        figures = f"{told:.2f} | {real:.2f}" if count else "|"
        lines.append(f"| {low} to {high} | {count} | {figures} |")
    return "\n".join(lines)
