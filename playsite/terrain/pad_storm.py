"""What two storms do at a pad: how much water comes, how deep it runs, whether it gets away."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from playsite.terrain.soil_rates import NEH_DEEP, governing_group
from playsite.terrain.storm import (
    FOOT_M,
    RATIONAL_MOST_HA,
    built_curve_number,
    drawdown_h,
    rational_peak_m3_s,
    runoff_mm,
    swale_depth_m,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = [
    "CHILD_SAFE_M2_S",
    "DRAINED_H",
    "FREEBOARD_M",
    "SWALE_MOST_M",
    "Arriving",
    "concentration_min",
    "curve_number",
    "intensity_mm_h",
    "peak_m3_s",
    "runoff_coefficient",
    "runoff_m3",
    "soaked_away_h",
    "swale_m",
]

SWALE_MOST_M = 0.5 * FOOT_M
"""Depth that run-on may have in a swale of 2 ft bottom, 3:1 sides and 2 % (common practice, no source)."""

DRAINED_H = 24.0
"""Hours after which the play area is to be drained (common practice, no source)."""

FREEBOARD_M = 0.15
"""Height of the finish above the place where a flood gets away (common practice, no source)."""

CHILD_SAFE_M2_S = 0.3
"""Depth times speed of water that a child still stands in: 0.3 to 0.4 m2/s (from memory)."""

SHORTEST_MIN = 10.0
"""No shorter time of concentration is taken: 5 to 10 minutes are usual (common practice, no source)."""

_RARE = 1.25  # the coefficient of the 100-year storm is raised by a quarter: common practice
_HARD = 0.90  # asphalt 0.70 to 0.95, roofs 0.75 to 0.95
_LAWN = {  # by the fall of the ground, %: upper ends of the published ranges
    "light": ((2.0, 0.10), (7.0, 0.15), (math.inf, 0.20)),
    "heavy": ((2.0, 0.17), (7.0, 0.22), (math.inf, 0.35)),
}
"""ASCE and WPCF (1969), Design and construction of sanitary and storm sewers (from memory)."""

_OPEN_GOOD = {"A": 39.0, "B": 61.0, "C": 74.0, "D": 80.0}
"""Curve numbers of open space in good condition: TR-55, table 2-2a."""

_SWALE_BOTTOM_M, _SWALE_SIDES, _SWALE_SLOPE = 2 * FOOT_M, 3.0, 0.02


@dataclass(frozen=True)
class Arriving:
    """Land that drains to a pad.

    Attributes
    ----------
    area_m2
        Its area.
    hard_share
        Share of it under roofs and pavement, 0 to 1; NaN where not known.
    length_m, fall_m
        Longest way of its water, and how far that falls.
    group
        Hydrologic soil group; None where not known.
    """

    area_m2: float
    hard_share: float
    length_m: float
    fall_m: float
    group: str | None = None

    @property
    def fall_pct(self) -> float:
        """Mean fall along the longest way."""
        return 100 * self.fall_m / self.length_m if self.length_m > 0 else 0.0


def runoff_coefficient(land: Arriving) -> float:
    """Share of a storm's rain that runs off: lawn by soil and fall, and what is hard.

    Unknown soil counts as heavy. NaN where the share of hard land is not known.

    Examples
    --------
    >>> round(runoff_coefficient(Arriving(5_000, 0.2, 100, 4, "D")), 3)
    0.356
    """
    group = governing_group(land.group)
    lawn = _LAWN["light" if group in ("A", "B") else "heavy"]
    open_land = next(value for below, value in lawn if land.fall_pct < below)
    return land.hard_share * _HARD + (1 - land.hard_share) * open_land


def concentration_min(land: Arriving) -> float:
    """Minutes until water from the farthest place arrives; at least 10.

    0.0195 L^0.77 S^-0.385, L in m: Z. P. Kirpich (1940), "Time of concentration of small
    agricultural watersheds", Civil Engineering 10(6), 362 (from memory).

    Examples
    --------
    >>> round(concentration_min(Arriving(100_000, 0, 1_000, 10)), 1)
    23.4
    """
    if land.length_m <= 0 or land.fall_m <= 0:
        return SHORTEST_MIN
    steep = land.fall_m / land.length_m
    return max(SHORTEST_MIN, 0.0195 * land.length_m**0.77 * steep**-0.385)


def intensity_mm_h(by_duration: Mapping[float, float], at_min: float) -> float:
    """Intensity at a duration, between those given on logarithmic scales; the ends beyond them.

    Examples
    --------
    >>> round(intensity_mm_h({10.0: 120.0, 40.0: 60.0}, 20.0), 2)
    84.85
    """
    given = sorted(by_duration.items())
    times, rains = (np.array(each, dtype=float) for each in zip(*given, strict=True))
    if (rains <= 0).any():
        return float(np.interp(at_min, times, rains))
    return float(np.exp(np.interp(math.log(at_min), np.log(times), np.log(rains))))


def peak_m3_s(land: Arriving, by_duration: Mapping[float, float], *, rare: bool) -> float:
    """Peak flow by the rational method, m3/s; NaN beyond 80 ha, or where something is not known.

    Parameters
    ----------
    by_duration
        Intensity, mm/h, by minutes.
    rare
        Whether it is the 100-year storm, whose coefficient is a quarter higher (at most 1).
    """
    coefficient = runoff_coefficient(land)
    area_ha = land.area_m2 / 1e4
    if math.isnan(coefficient) or math.isnan(area_ha) or area_ha > RATIONAL_MOST_HA:
        return math.nan
    rain = intensity_mm_h(by_duration, concentration_min(land))
    raised = min(1.0, _RARE * coefficient) if rare else coefficient
    return rational_peak_m3_s(raised, intensity_mm_h=rain, area_ha=area_ha)


def curve_number(land: Arriving) -> float:
    """Curve number of the land: open space in good condition, and what is hard; NaN: not known."""
    group = governing_group(land.group)
    if group is None or math.isnan(land.hard_share):
        return math.nan
    return built_curve_number(_OPEN_GOOD[group], impervious_share=land.hard_share)


def runoff_m3(land: Arriving, rain_mm: float) -> float:
    """Water that runs off in a storm, m3, by curve number; NaN where that is not known."""
    number = curve_number(land)
    if math.isnan(number) or math.isnan(land.area_m2):
        return math.nan
    return runoff_mm(rain_mm, curve_number=number) / 1000 * land.area_m2


def swale_m(flow_m3_s: float) -> float:
    """Depth of a flow in a grass swale of 2 ft bottom, 3:1 sides and 2 %, m; NaN: not known."""
    if math.isnan(flow_m3_s):
        return math.nan
    return swale_depth_m(
        flow_m3_s,
        bottom_m=_SWALE_BOTTOM_M,
        side_run_per_rise=_SWALE_SIDES,
        slope=_SWALE_SLOPE,
    )


def soaked_away_h(rain_mm: float, group: str | None) -> float:
    """Hours in which a storm's rain soaks away under the pad, at half the soil's least rate.

    NaN where the group is not known; without bound in group D. Rates: NEH 630, chapter 7.
    """
    settled = governing_group(group)
    if settled is None:
        return math.nan
    least_m_s, _ = NEH_DEEP.rates_m_s(settled)
    return drawdown_h(rain_mm / 1000, ksat_um_s=least_m_s * 1e6 / 2)
