"""Money as people read it: rounded as honestly as it is known."""

from __future__ import annotations

import math

from playsite.report.people_units import (
    area_text,
    distance_text,
    in_feet,
    volume_text,
)

__all__ = ["money_text", "price_text", "quantity_text"]

_SIGNS = {"USD": "$", "CAD": "C$", "AUD": "A$", "NZD": "NZ$", "EUR": "€", "GBP": "£"}
_LEAST_M3 = 0.4
_PER = {"m": ("ft", 0.3048), "m2": ("sq ft", 0.3048**2), "m3": ("cu yd", 0.9144**3)}


def money_text(amount: float | None, currency: str = "USD") -> str:
    """Amount to the nearest 1,000; below 10,000 to the nearest 100.

    Examples
    --------
    >>> money_text(505_280), money_text(-4_449), money_text(None), money_text(120_000, "DKK")
    ('$505,000', '-$4,400', 'not known', '120,000 DKK')
    """
    if amount is None or not math.isfinite(amount):
        return "not known"
    step = 1_000 if abs(amount) >= 10_000 else 100
    whole = int(math.floor(abs(amount) / step + 0.5) * step)
    minus = "-" if amount < 0 and whole else ""
    sign = _SIGNS.get(currency)
    return f"{minus}{whole:,} {currency}" if sign is None else f"{minus}{sign}{whole:,}"


def price_text(price: float | None, unit: str, currency: str, units: str) -> str:
    """Unit price by what people count in: "$4.50 a sq ft", "12%", "$2,100 each".

    Examples
    --------
    >>> price_text(48.44, "m2", "USD", "feet"), price_text(0.12, "share of all work", "USD", "feet")
    ('$4.50 a sq ft', '12%')
    """
    if price is None or not math.isfinite(price):
        return ""
    if unit.startswith("share") or unit == "a year":
        return f"{price * 100:.3g}%" + (" a year" if unit == "a year" else "")
    per, size = _PER.get(unit, (unit, 1.0))
    if unit in _PER and not in_feet(units):
        per, size = unit.replace("2", "²").replace("3", "³"), 1.0
    sign = _SIGNS.get(currency, "")
    tail = "" if sign else f" {currency}"
    text = f"{price * size:,.2f}" if price * size < 100 else f"{price * size:,.0f}"
    of = {"each": " each", "lump": "", "chance": ""}.get(per, f" a {per}")
    return f"{sign}{text}{tail}{of}"


def quantity_text(quantity: float | None, unit: str, units: str) -> str:
    """Quantity as people read it.

    Examples
    --------
    >>> quantity_text(477.5, "m2", "feet"), quantity_text(3, "each", "feet")
    ('5,140 sq ft', '3')
    """
    if quantity is None or not math.isfinite(quantity):
        return "not known"
    if unit == "chance":
        return f"{quantity:.0%} likely"
    if unit == "a year":
        return f"{quantity:.1f} years"
    if unit.startswith(("share", "lump")):
        return ""
    if unit == "m3":
        least = 1e-9 if abs(quantity) < _LEAST_M3 else abs(quantity)
        return ("-" if quantity <= -_LEAST_M3 else "") + volume_text(least, units)
    with_unit = {"m": distance_text, "m2": area_text}.get(unit)
    return f"{quantity:,.3g}" if with_unit is None else with_unit(quantity, units)
