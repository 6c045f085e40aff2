"""What a storm brings: peaks, runoff depths, travel times, and what a swale or pipe carries.

Screening by published hand methods, SI inside. The constants of formulas that were published in
feet and inches are converted where they stand, so that the published examples come out.
"""

import math
from collections.abc import Sequence

from scipy.optimize import brentq

FOOT_M = 0.3048
INCH_MM = 25.4
CFS_M3_S = FOOT_M**3
ACRE_HA = 0.40468564224
SQUARE_MILE_KM2 = 2.589988110336

RATIONAL_MOST_HA = 80.0
"""Largest area for the rational method, about 200 acres (common practice, no source)."""

IMPERVIOUS_CURVE_NUMBER = 98.0
"""Curve number of connected impervious ground: TR-55, table 2-2a (from memory)."""

GRASS_N = 0.035
"""Manning's n of a mown grass swale that runs a hand deep (common practice, no source)."""


def rational_peak_m3_s(
    runoff_coefficient: float, *, intensity_mm_h: float, area_ha: float
) -> float:
    """Peak flow by the rational method, m3/s: C i A / 360.

    Intensity is that at the time of concentration (5 to 10 minutes at the least). For the storm
    of 100 years C is commonly raised by a quarter (common practice, no source).

    Raises
    ------
    ValueError
        If C is not from 0 to 1.25, a figure below 0, or the area above 80 ha.

    Examples
    --------
    >>> round(rational_peak_m3_s(0.3, intensity_mm_h=127, area_ha=0.4856), 4)
    0.0514
    """
    _check_within(0, 1.25, runoff_coefficient=runoff_coefficient)
    _check_within(0, math.inf, intensity_mm_h=intensity_mm_h)
    _check_within(0, RATIONAL_MOST_HA, area_ha=area_ha)
    return runoff_coefficient * intensity_mm_h * area_ha / 360


def rational_peak_cfs(
    runoff_coefficient: float, *, intensity_in_h: float, area_acre: float
) -> float:
    """Peak flow by the rational method in cubic feet a second, as U.S. manuals print it.

    The same as 1.008 C i A, i in inches an hour and A in acres.

    Examples
    --------
    >>> round(rational_peak_cfs(0.3, intensity_in_h=5, area_acre=1.2), 2)
    1.81
    """
    peak_m3_s = rational_peak_m3_s(
        runoff_coefficient, intensity_mm_h=intensity_in_h * INCH_MM, area_ha=area_acre * ACRE_HA
    )
    return peak_m3_s / CFS_M3_S


def retention_mm(curve_number: float) -> float:
    """Greatest depth that the ground keeps back, mm: S = 25400 / CN - 254.

    Source: TR-55 (1986), equation 2-4, S = 1000 / CN - 10 inches.

    Raises
    ------
    ValueError
        If the curve number is not above 0 and at most 100.
    """
    if not 0 < curve_number <= 100:
        raise ValueError(f"A curve number is above 0 and at most 100, but it is {curve_number}.")
    return INCH_MM * (1000 / curve_number - 10)


def runoff_mm(rain_mm: float, *, curve_number: float) -> float:
    """Depth that runs off, mm: (P - 0.2 S)^2 / (P + 0.8 S), nothing up to P = 0.2 S.

    Source: USDA (1986), TR-55 "Urban hydrology for small watersheds", 2nd edition, equation 2-3.

    Examples
    --------
    >>> round(runoff_mm(6 * 25.4, curve_number=70) / 25.4, 2)
    2.81
    """
    _check_within(0, math.inf, rain_mm=rain_mm)
    kept_mm = retention_mm(curve_number)
    if rain_mm <= 0.2 * kept_mm:
        return 0.0
    return (rain_mm - 0.2 * kept_mm) ** 2 / (rain_mm + 0.8 * kept_mm)


def mixed_curve_number(areas: Sequence[float], curve_numbers: Sequence[float]) -> float:
    """Mean of curve numbers weighted by areas, of any one unit (TR-55, worksheet 2).

    Raises
    ------
    ValueError
        If the two differ in number or the areas add up to nothing.

    Examples
    --------
    >>> round(mixed_curve_number([30, 70], [61, 74]), 1)
    70.1
    """
    if len(areas) != len(curve_numbers) or min(areas, default=-1) < 0 or not sum(areas) > 0:
        raise ValueError(
            "Give one area of 0 or more for each curve number, "
            f"but they are {list(areas)} and {list(curve_numbers)}."
        )
    pairs = zip(areas, curve_numbers, strict=True)
    return sum(area * number for area, number in pairs) / sum(areas)


def built_curve_number(
    open_curve_number: float, *, impervious_share: float, unconnected_share: float = 0.0
) -> float:
    """Curve number of open ground of which a share is roofed or paved.

    Parameters
    ----------
    open_curve_number
        Of the ground between.
    impervious_share
        Share of the whole that is impervious, 0 to 1.
    unconnected_share
        Share of the impervious ground whose water runs over grass first, 0 to 1; it counts only
        where less than 30 % of the whole is impervious.

    Notes
    -----
    CN + share (98 - CN) (1 - 0.5 unconnected): TR-55, figures 2-3 and 2-4 (from memory).

    Examples
    --------
    >>> round(built_curve_number(61, impervious_share=0.35))
    74
    """
    _check_within(0, 1, impervious_share=impervious_share, unconnected_share=unconnected_share)
    over_grass = unconnected_share if impervious_share < 0.3 else 0.0
    more = impervious_share * (IMPERVIOUS_CURVE_NUMBER - open_curve_number)
    return open_curve_number + more * (1 - 0.5 * over_grass)


def graphical_peak_m3_s(
    unit_peak_csm_in: float, *, area_km2: float, runoff_mm: float, pond_factor: float = 1.0
) -> float:
    """Peak flow of a storm of 24 hours, m3/s: unit peak x area x runoff x pond factor.

    The unit peak, cubic feet a second for each square mile and inch of runoff, is read from
    TR-55's exhibit 4 at the time of concentration. Source: TR-55, equation 4-1.
    """
    _check_within(0, math.inf, unit_peak_csm_in=unit_peak_csm_in, area_km2=area_km2)
    _check_within(0, math.inf, runoff_mm=runoff_mm, pond_factor=pond_factor)
    peak_cfs = unit_peak_csm_in * area_km2 / SQUARE_MILE_KM2 * runoff_mm / INCH_MM * pond_factor
    return peak_cfs * CFS_M3_S


def sheet_flow_h(
    length_m: float, *, roughness: float, slope: float, rain_2_year_24_h_mm: float
) -> float:
    """Travel time of water in a thin sheet, hours; for 100 m at the most, commonly 30 m.

    0.007 (n L)^0.8 / (P2^0.5 s^0.4), L in feet, P2 in inches. Source: TR-55, equation 3-3.
    """
    _check_above_0(slope=slope, rain_2_year_24_h_mm=rain_2_year_24_h_mm, roughness=roughness)
    _check_within(0, 100, length_m=length_m)
    drag = (roughness * length_m / FOOT_M) ** 0.8
    return 0.007 * drag / (math.sqrt(rain_2_year_24_h_mm / INCH_MM) * slope**0.4)


def shallow_flow_m_s(slope: float, *, paved: bool) -> float:
    """Speed of water gathered in shallow rills, m/s: 16.13 sqrt(s) ft/s, on pavement 20.33.

    Source: TR-55, figure 3-1 and its equations in appendix F (from memory).
    """
    _check_within(0, math.inf, slope=slope)
    return (20.3282 if paved else 16.1345) * math.sqrt(slope) * FOOT_M


def manning_m_s(hydraulic_radius_m: float, *, slope: float, roughness: float) -> float:
    """Speed of water in a channel or pipe, m/s: R^(2/3) s^(1/2) / n (Manning's formula)."""
    _check_above_0(roughness=roughness)
    _check_within(0, math.inf, hydraulic_radius_m=hydraulic_radius_m, slope=slope)
    return hydraulic_radius_m ** (2 / 3) * math.sqrt(slope) / roughness


def swale_flow_m3_s(
    depth_m: float,
    *,
    bottom_m: float,
    side_run_per_rise: float,
    slope: float,
    roughness: float = GRASS_N,
) -> float:
    """Flow that a swale carries at a depth, m3/s: a trapezoid by Manning's formula.

    Examples
    --------
    >>> ft = 0.3048
    >>> flow = swale_flow_m3_s(0.5 * ft, bottom_m=2 * ft, side_run_per_rise=3, slope=0.02)
    >>> round(flow / ft**3, 1)
    5.1
    """
    _check_within(0, math.inf, depth_m=depth_m, bottom_m=bottom_m, side=side_run_per_rise)
    if depth_m == 0:
        return 0.0
    area_m2 = depth_m * (bottom_m + side_run_per_rise * depth_m)
    wetted_m = bottom_m + 2 * depth_m * math.hypot(1, side_run_per_rise)
    return area_m2 * manning_m_s(area_m2 / wetted_m, slope=slope, roughness=roughness)


def swale_depth_m(
    flow_m3_s: float,
    *,
    bottom_m: float,
    side_run_per_rise: float,
    slope: float,
    roughness: float = GRASS_N,
) -> float:
    """Depth at which a swale carries a flow, m: :func:`swale_flow_m3_s` the other way round."""
    _check_within(0, math.inf, flow_m3_s=flow_m3_s)
    _check_above_0(slope=slope)
    if bottom_m == side_run_per_rise == 0:
        raise ValueError("A swale without a bottom and without sloping sides carries nothing.")

    def short_m3_s(depth_m: float) -> float:
        carried_m3_s = swale_flow_m3_s(
            depth_m,
            bottom_m=bottom_m,
            side_run_per_rise=side_run_per_rise,
            slope=slope,
            roughness=roughness,
        )
        return carried_m3_s - flow_m3_s

    deep_m = 1.0
    while short_m3_s(deep_m) < 0:
        deep_m *= 2
    return float(brentq(short_m3_s, 0, deep_m, xtol=1e-9))


def full_pipe_m3_s(diameter_m: float, *, slope: float, roughness: float) -> float:
    """Flow that a round pipe carries when it runs full, m3/s, by Manning's formula."""
    _check_within(0, math.inf, diameter_m=diameter_m)
    speed_m_s = manning_m_s(diameter_m / 4, slope=slope, roughness=roughness)
    return math.pi * diameter_m**2 / 4 * speed_m_s


def drawdown_h(depth_m: float, *, ksat_um_s: float) -> float:
    """Hours until a depth of water has soaked away: depth / Ksat; infinite where nothing soaks.

    For stored water halve Ksat, since soils clog (common practice, no source).
    """
    _check_within(0, math.inf, depth_m=depth_m, ksat_um_s=ksat_um_s)
    return depth_m / (ksat_um_s * 1e-6) / 3600 if ksat_um_s > 0 else math.inf


def _check_within(least: float, most: float, **given: float) -> None:
    for name, value in given.items():
        # infinity itself is no figure
        if not least <= value <= most or math.isinf(value):
            raise ValueError(f"{name} must be from {least:g} to {most:g}, but it is {value}.")


def _check_above_0(**given: float) -> None:
    for name, value in given.items():
        if not 0 < value < math.inf:
            raise ValueError(f"{name} must be above 0, but it is {value}.")
