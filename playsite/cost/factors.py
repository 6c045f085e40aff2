"""Factors of discounting and escalation, by the names of ASTM E917 and NIST Handbook 135."""

from __future__ import annotations

__all__ = [
    "capital_recovery",
    "escalated_uniform_present_value",
    "escalation",
    "single_present_value",
    "uniform_present_value",
]


def single_present_value(rate: float, years: float) -> float:
    """Worth today of 1 paid after so many years: (1 + d)^-n.

    Parameters
    ----------
    rate
        Discount rate a year, 0.03 for 3 %; above -1.
    years
        From today.

    Examples
    --------
    >>> round(single_present_value(0.03, 20), 5)
    0.55368
    """
    return float((1 + _rate(rate)) ** -years)


def uniform_present_value(rate: float, years: int) -> float:
    """Worth today of 1 at the end of every year: (1 - (1 + d)^-n) / d; n at a rate of 0.

    Examples
    --------
    >>> round(uniform_present_value(0.03, 20), 3)
    14.877
    """
    return escalated_uniform_present_value(rate, 0.0, years)


def escalated_uniform_present_value(rate: float, growth: float, years: int) -> float:
    """Worth today of a yearly amount that is 1 today and grows: the modified uniform factor.

    (1 + e) / (d - e) * (1 - ((1 + e) / (1 + d))^n), and n where both rates are equal. Source: GSA
    P100, after ASTM E917.

    Examples
    --------
    >>> round(escalated_uniform_present_value(0.03, 0.02, 20), 2)
    18.08
    """
    rate, growth = _rate(rate), _rate(growth)
    if abs(rate - growth) < 1e-12:
        return float(years)
    ratio = (1 + growth) / (1 + rate)
    return float((1 + growth) / (rate - growth) * (1 - ratio**years))


def capital_recovery(rate: float, years: int) -> float:
    """Yearly amount that pays 1 back, with interest: i (1 + i)^n / ((1 + i)^n - 1).

    Examples
    --------
    >>> round(capital_recovery(0.07, 15), 6)
    0.109795
    """
    return 1 / uniform_present_value(rate, years)


def escalation(rate: float, years: float) -> float:
    """Price after so many years over the price today, compounded: (1 + e)^n.

    Examples
    --------
    >>> round(escalation(0.03, 15), 3)
    1.558
    """
    return float((1 + _rate(rate)) ** years)


def _rate(rate: float) -> float:
    if not -1 < rate < 10:
        raise ValueError(f"a rate is a share a year, such as 0.03, but it is {rate}")
    return rate
