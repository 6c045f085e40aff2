"""Units at the edge: "104 ft" to metres, and the suffix that each unit gives a name.

SI inside; people's units are read here and nowhere else. A bare number where a unit is due
is refused, since nobody can tell feet from metres by looking at it.
"""

from __future__ import annotations

import re
from enum import StrEnum

__all__ = [
    "LENGTHS_M",
    "Unit",
    "in_unit",
    "metres",
    "metres_a_second",
    "millimetres_an_hour",
    "minutes",
    "percent",
    "square_metres",
    "squared_length_m2",
]

LENGTHS_M: dict[str, float] = {
    "m": 1.0,
    "cm": 0.01,
    "mm": 0.001,
    "km": 1000.0,
    "ft": 0.3048,  # the international foot, exact since 1959
    "us-ft": 1200 / 3937,  # the survey foot: 2 ppm longer (U.S. National Bureau of Standards)
    "in": 0.0254,
    "yd": 0.9144,
    "mi": 1609.344,
}
"""Metres in one of each unit of length."""

AREAS_M2: dict[str, float] = {
    "m2": 1.0,
    "ha": 10_000.0,
    "ft2": 0.3048**2,
    "acre": 43_560 * 0.3048**2,  # of the international foot; the survey acre is 4 ppm larger
}
"""Square metres in one of each unit of area."""

_OTHER_AREAS = {
    "sf": "ft2",
    "acres": "acre",
    "ac": "acre",
    "hectare": "ha",
    "hectares": "ha",
}

_OTHER_NAMES = {
    "metre": "m",
    "metres": "m",
    "meter": "m",
    "meters": "m",
    "foot": "ft",
    "feet": "ft",
    "'": "ft",
    "inch": "in",
    "inches": "in",
    '"': "in",
    "yard": "yd",
    "yards": "yd",
    "mile": "mi",
    "miles": "mi",
    "us survey foot": "us-ft",
    "us survey feet": "us-ft",
}

_SQUARED = re.compile(r"^(?:square|sq\.?)\s*(.+)$|^(.+?)(?:²|\^?2)$")
_QUANTITY = re.compile(r"^\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(.*?)\s*$")


class Unit(StrEnum):
    """Units that a measurement may have; the value is the suffix of a name in that unit."""

    METRE = "m"
    SQUARE_METRE = "m2"
    CUBIC_METRE = "m3"
    PERCENT = "pct"
    RATIO = "ratio"
    DEGREE = "deg"
    MINUTE = "min"
    COUNT = "count"
    LEVEL = "level"
    RATING = "rating"


def metres(text: object) -> float:
    """Length in metres of a text such as ``"104 ft"``.

    Raises
    ------
    ValueError
        If there is no number, no unit, or a unit that is not a length.

    Examples
    --------
    >>> round(metres("104 ft"), 4)
    31.6992
    >>> metres("3 cm")
    0.03
    """
    number, unit = _parts(text, 'a length with its unit, such as "100 ft" or "30 m"')
    factor = LENGTHS_M.get(_OTHER_NAMES.get(unit.lower(), unit.lower()))
    if factor is None:
        known = ", ".join(LENGTHS_M)
        raise ValueError(f'"{unit}" is not a unit of length that is known here ({known})')
    return number * factor


def squared_length_m2(unit: str) -> float | None:
    """Square metres in one of a squared unit of length, as people spell it; None: it is none.

    Examples
    --------
    >>> squared_length_m2("sq. m"), squared_length_m2("m²"), squared_length_m2("m")
    (1.0, 1.0, None)
    """
    squared = _SQUARED.match(unit.strip().lower())
    side = (squared[1] or squared[2]).strip() if squared else ""
    length_m = LENGTHS_M.get(_OTHER_NAMES.get(side, side))
    return None if length_m is None else length_m**2


def square_metres(text: object) -> float:
    """Area in square metres of a text such as ``"500 sq ft"`` or ``"2 ha"``.

    Raises
    ------
    ValueError
        If there is no number, no unit, or a unit that is not an area.

    Examples
    --------
    >>> round(square_metres("5140 sq ft"), 1), square_metres("2 ha")
    (477.5, 20000.0)
    """
    number, unit = _parts(text, 'an area with its unit, such as "500 sq ft" or "50 m2"')
    word = " ".join(unit.lower().replace(".", "").split())
    factor = AREAS_M2.get(_OTHER_AREAS.get(word, word)) or squared_length_m2(unit)
    if factor is None:
        known = ", ".join(AREAS_M2)
        raise ValueError(f'"{unit}" is not a unit of area that is known here ({known})')
    return number * factor


_AN_HOUR_S = 3600.0


def metres_a_second(text: object) -> float:
    """Speed in metres a second of a text such as ``"10 ft/s"``.

    Examples
    --------
    >>> metres_a_second("3 m/s"), round(metres_a_second("9 mph"), 2)
    (3.0, 4.02)
    """
    due = 'a speed with its unit, such as "10 ft/s" or "3 m/s"'
    number, unit = _parts(text, due)
    length, _, time = {"mph": "mi/h", "kmh": "km/h"}.get(unit.lower(), unit.lower()).partition("/")
    seconds = {"s": 1.0, "h": _AN_HOUR_S}.get(time)
    if seconds is None or length not in LENGTHS_M:
        raise ValueError(f'"{unit}" is not a unit of speed that is known here; write {due}')
    return number * LENGTHS_M[length] / seconds


def percent(text: object) -> float:
    """Percent of a text such as ``"4.5 %"``.

    Examples
    --------
    >>> percent("4.5 %")
    4.5
    """
    number, unit = _parts(text, 'a share with its unit, such as "4.5 %"')
    if unit.lower() not in {"%", "pct", "percent", "per cent"}:
        raise ValueError(f'"{unit}" is not percent: write it as "{number:g} %"')
    return number


def minutes(text: object) -> float:
    """Minutes of a text such as ``"10 min"`` or ``"2 h"``.

    Examples
    --------
    >>> minutes("10 min"), minutes("2 h")
    (10.0, 120.0)
    """
    number, unit = _parts(text, 'a time with its unit, such as "10 min"')
    factor = {"min": 1.0, "minute": 1.0, "minutes": 1.0, "h": 60.0, "hour": 60.0, "hours": 60.0}
    if unit.lower() not in factor or number <= 0:
        raise ValueError(
            f'"{text}" is not a time that is known here: write it as "10 min" or "2 h"'
        )
    return number * factor[unit.lower()]


def millimetres_an_hour(text: object) -> float:
    """Intensity of rain in mm/h of a text such as ``"5 in/h"``.

    Examples
    --------
    >>> millimetres_an_hour("5 in/h"), millimetres_an_hour("40 mm/h")
    (127.0, 40.0)
    """
    number, unit = _parts(text, 'an intensity with its unit, such as "5 in/h" or "120 mm/h"')
    found = re.fullmatch(r"(mm|in)\s*(?:/|per)\s*(?:h|hr|hour)", unit.lower())
    if found is None or number < 0:
        raise ValueError(
            f'"{text}" is not an intensity of rain: write it as "5 in/h" or "120 mm/h"'
        )
    return number * (1.0 if found[1] == "mm" else 25.4)


def in_unit(text: object, unit: Unit) -> float:
    """Read a text as a value of the unit that is due: metres, their squares, percent or a number.

    Raises
    ------
    ValueError
        If the text carries another unit, or none where one is due.

    Examples
    --------
    >>> in_unit("20 ft", Unit.METRE)
    6.096
    >>> in_unit(1.3, Unit.RATIO)
    1.3
    """
    if unit is Unit.METRE:
        return metres(text)
    if unit is Unit.PERCENT:
        return percent(text)
    if unit is Unit.SQUARE_METRE:
        return square_metres(text)
    if isinstance(text, bool) or not isinstance(text, (int, float)):
        raise ValueError(f"a plain number is due here ({unit.name.lower()}), not {text!r}")
    return float(text)


def _parts(text: object, due: str) -> tuple[float, str]:
    if isinstance(text, (int, float)) and not isinstance(text, bool):
        raise ValueError(f"a bare number, {text:g}: nobody can tell its unit; write {due}")
    found = _QUANTITY.match(text) if isinstance(text, str) else None
    if found is None:
        raise ValueError(f"{text!r} is not {due}")
    number, unit = float(found[1]), found[2]
    if not unit:
        raise ValueError(f'"{text}" has no unit; write {due}')
    return number, unit
