"""How ground and noise share the waves of a window, and what may lie under what was observed."""

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import fft, optimize

Floats = NDArray[np.float64]

LONGEST_WAVE = 0.4
"""Share of the window's short side: longer waves are few, and the plane took part of them."""

ROUNDING_M = 0.001
"""Heights are never surer than this; keeps every spectrum above nothing."""

GREATEST_NOISE_M = 5.0
"""No noise fitted is greater."""

PRIOR_RELIEF_M, PRIOR_LENGTH_M = 0.10, 8.0
"""Relief that any ground may have; without it one bowl in a plane window is smoothed away."""


@dataclass(frozen=True)
class Spectrum:
    """Power of ground A / (1 + (k l)^2)^p, and of noise, in m2: the mean over waves is a variance.

    Attributes
    ----------
    power_m2
        A, the power of the longest waves.
    length_m
        l, beyond which the power grows no more, m.
    steepness
        p, how fast short waves lose power.
    noise_m
        Standard deviation of the noise, m.
    noise_length_m
        Length L of the noise's correlation exp(-d^2 / (2 L^2)), m; 0 if independent.
    """

    power_m2: float
    length_m: float
    steepness: float
    noise_m: float
    noise_length_m: float

    def of_ground(self, shape: tuple[int, int], cell_m: float) -> Floats:
        """Power of the ground at each wave of a grid.

        A prior relief stands below it where the noise is independent from cell to cell. Where it
        is correlated, such a floor would take noise for relief.
        """
        fitted = _power(
            _waves(shape, cell_m), math.log(self.power_m2), math.log(self.length_m), self.steepness
        )
        if self.noise_length_m > 0:
            return fitted
        return np.maximum(fitted, gaussian_power(shape, cell_m, PRIOR_RELIEF_M, PRIOR_LENGTH_M))

    def of_noise(self, shape: tuple[int, int], cell_m: float) -> Floats:
        """Power of the noise at each wave of a grid, rounding included."""
        return gaussian_power(shape, cell_m, self.noise_m, self.noise_length_m) + ROUNDING_M**2


def gaussian_power(
    shape: tuple[int, int], cell_m: float, deviation_m: float, length_m: float
) -> Floats:
    """Power of a field of covariance s^2 exp(-d^2 / (2 L^2)) on a grid that wraps round, m2."""
    if length_m == 0:
        return np.full(shape, deviation_m**2)
    alike = [
        np.exp(-((np.minimum(at, side - at) * cell_m / length_m) ** 2) / 2)
        for side, at in ((side, np.arange(side)) for side in shape)
    ]
    # the covariance is a product, and so is its spectrum
    rows, columns = (np.maximum(fft.fft(line).real, 0) for line in alike)
    return deviation_m**2 * np.outer(rows, columns)


def fitted_spectrum(
    ground: Floats,
    cell_m: float,
    *,
    noise_m: float | None,
    noise_length_m: float,
    planted: Floats | None = None,
) -> Spectrum:
    """Spectrum that makes the observed waves likeliest.

    Parameters
    ----------
    ground
        2-D array about its plane, m, without missing cells.
    cell_m
        Side of a cell, m.
    noise_m
        Standard deviation of the noise, m; None to fit it along, as independent noise.
    noise_length_m
        Length of the noise's correlation, m.
    planted
        A shape of like size that the ground might hold at any place: its waves' power is added,
        not its heights, so that it doesn't matter what lies there already.

    Notes
    -----
    Minimises sum(ln M + I / M), M the model's power and I the periodogram under a Hann taper,
    summed in rings of waves of like length: P. Whittle (1953), "Estimation and information in
    stationary time series", Arkiv foer Matematik 2, 423-434 (from memory).
    """
    wave, power, count, alike = _rings(ground, cell_m, noise_length_m)
    if planted is not None:
        power = power + _rings(planted, cell_m, noise_length_m)[1]

    def unlikeliness(at: Floats) -> float:
        deviation_m = math.exp(at[3]) if noise_m is None else noise_m
        model = _power(wave, *at[:3]) + deviation_m**2 * alike + ROUNDING_M**2
        return float((count * (np.log(model) + power / model)).sum())

    longest = math.log(min(ground.shape) * cell_m)
    bounds = [(-25.0, 12.0), (math.log(cell_m / 2), longest), (1.05, 8.0)]
    if noise_m is None:
        bounds.append((math.log(ROUNDING_M), math.log(GREATEST_NOISE_M)))
    starts = sorted(_starts(power, bounds), key=unlikeliness)[:2]
    # a simplex: methods by gradient call threaded libraries, which crawl on a busy machine
    found = [
        optimize.minimize(
            unlikeliness,
            start,
            method="Nelder-Mead",
            bounds=bounds,
            options={"xatol": 1e-3, "fatol": 1e-3},
        )
        for start in starts
    ]
    best = min(found, key=lambda result: float(result.fun)).x
    return Spectrum(
        power_m2=math.exp(best[0]),
        length_m=math.exp(best[1]),
        steepness=float(best[2]),
        noise_m=math.exp(best[3]) if noise_m is None else noise_m,
        noise_length_m=noise_length_m,
    )


def _starts(power: Floats, bounds: list[tuple[float, float]]) -> list[Floats]:
    """Lay a coarse net over the models: the valley of the likeliest is bent and has blind ends."""
    power = np.maximum(power, ROUNDING_M**2)
    longest, shortest = math.log(power[:3].mean()), math.log(power[-3:].mean()) / 2
    low, high = np.transpose(bounds)
    return [
        np.clip(
            [longest + up, low[1] + (high[1] - low[1]) * along, steep, shortest][: len(low)],
            low,
            high,
        )
        for up, along, steep in itertools.product(
            (-9.0, -5.0, -2.0, 0.0, 2.0), (0.1, 0.25, 0.4, 0.6, 0.8), (1.5, 3.0, 5.0, 8.0)
        )
    ]


def likeliest_ground(ground: Floats, cell_m: float, spectrum: Spectrum) -> Floats:
    """Mean of all grounds that may lie under the observed one: each wave keeps the ground's share.

    The window is mirrored at its sides, so that its waves meet no step there.
    """
    rows, columns = ground.shape
    mirrored = np.pad(ground, ((0, rows), (0, columns)), mode="symmetric")
    of_ground = spectrum.of_ground(mirrored.shape, cell_m)
    share = of_ground / (of_ground + spectrum.of_noise(mirrored.shape, cell_m))
    kept: Floats = fft.ifft2(share * fft.fft2(mirrored)).real[:rows, :columns]
    return kept


def deviations(
    shape: tuple[int, int],
    cell_m: float,
    spectrum: Spectrum,
    *,
    count: int,
    rng: np.random.Generator,
) -> Iterator[Floats]:
    """Yield ways in which the true ground may deviate from the likeliest one, m.

    Matheron's rule draws a ground t and a noise e and takes t - W (t + e), W = S_t / (S_t + S_e)
    the share kept of each wave. As t and e are drawn apart, that is one field of power
    (1 - W)^2 S_t + W^2 S_e = S_t S_e / (S_t + S_e), drawn at once. A. Journel, C. Huijbregts
    (1978), *Mining Geostatistics* (from memory).
    """
    wider = (_with_margin(shape[0]), _with_margin(shape[1]))
    of_ground, of_noise = spectrum.of_ground(wider, cell_m), spectrum.of_noise(wider, cell_m)
    fields = drawn_fields(of_ground * of_noise / (of_ground + of_noise), count=count, rng=rng)
    return (field[: shape[0], : shape[1]] for field in fields)


def drawn_fields(power: Floats, *, count: int, rng: np.random.Generator) -> Iterator[Floats]:
    """Yield Gaussian fields of a power spectrum, two from each transform."""
    amplitude = np.sqrt(power * power.size)
    for first in range(0, count, 2):
        drawn = rng.standard_normal((2, *power.shape))
        pair = fft.ifft2(amplitude * (drawn[0] + 1j * drawn[1]), overwrite_x=True)
        yield pair.real
        if first + 1 < count:
            yield pair.imag


def _with_margin(side: int) -> int:
    """Side of a grid that wraps round, so wide that the window's ends don't meet."""
    return int(fft.next_fast_len(side + max(8, side // 4)))


def _waves(shape: tuple[int, int], cell_m: float) -> Floats:
    """Radians a metre of each wave of a grid."""
    rows, columns = (2 * math.pi * fft.fftfreq(side, cell_m) for side in shape)
    return np.hypot(rows[:, None], columns[None, :])


def _power(wave: Floats, log_power: float, log_length: float, steepness: float) -> Floats:
    steep: Floats = np.exp(log_power - steepness * np.log1p((wave * math.exp(log_length)) ** 2))
    return steep


def _rings(
    ground: Floats, cell_m: float, noise_length_m: float
) -> tuple[Floats, Floats, Floats, Floats]:
    """Mean wave, mean power, count of waves and power of unit noise in rings of like waves."""
    taper = np.outer(*(np.hanning(side + 2)[1:-1] for side in ground.shape))
    tapered = (ground - np.average(ground, weights=taper)) * taper
    power = np.abs(fft.fft2(tapered)) ** 2 / (taper**2).sum()
    wave, alike = (
        _waves(ground.shape, cell_m),
        gaussian_power(ground.shape, cell_m, 1.0, noise_length_m),
    )
    step = 2 * math.pi / (min(ground.shape) * cell_m)
    ring = np.round(wave / step).astype(np.int64)
    used = wave >= step / LONGEST_WAVE
    count = np.bincount(ring[used])
    there = count > 0
    means = [
        np.bincount(ring[used], weights=values[used])[there] / count[there]
        for values in (wave, power, alike)
    ]
    return means[0], means[1], count[there].astype(np.float64), means[2]
