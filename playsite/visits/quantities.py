"""Numbers as people in the field write them: a value and its unit, or the word none."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from playsite.units import Unit, metres, square_metres

__all__ = ["NONE", "Asked", "plain_number", "quantity"]

NONE = "none"
"""Word for a distance to what is nowhere to be found."""

_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?\Z")
_WORDS = {
    Unit.MINUTE: {"min", "minute", "minutes"},
    Unit.DEGREE: {"deg", "degree", "degrees", "°"},
    Unit.COUNT: {"", "count"},
    Unit.RATIO: {"ratio", "times"},
    Unit.LEVEL: {"", "level", "count"},
    Unit.RATING: {"", "rating", "ratio"},
}
_ASKED = {Unit.METRE: '"ft" or "m"', Unit.SQUARE_METRE: '"sq ft" or "m2"', Unit.PERCENT: '"%"'}
_PERCENT = {"%", "pct", "percent", "per cent"}


@dataclass(frozen=True)
class Asked:
    """What may be measured under one name: its unit, and the least and greatest that can be right."""

    unit: Unit
    plausible: tuple[float, float]


def plain_number(text: str) -> float:
    """Number of a text such as ``"88.4"``.

    Raises
    ------
    ValueError
        If it is no number; one with a comma may be thousands or decimals, so it is refused.
    """
    if _NUMBER.match(text):
        return float(text)
    if "," in text:
        raise ValueError(f'"{text}" may mean thousands or decimals: write it with a point, as 12.5')
    raise ValueError(f'"{text}" is not a number')


def quantity(value: str, unit: str, due: Unit) -> float:
    """Value in the unit that is due.

    Parameters
    ----------
    value
        A number with a decimal point, or ``none`` for a distance to what is nowhere (``inf``).
    unit
        As written: feet and metres are brought to metres, their squares to square metres; a ratio is never taken for percent.
    due
        Unit of what was measured.

    Raises
    ------
    ValueError
        If the number or its unit is not what is due.

    Examples
    --------
    >>> quantity("100", "ft", Unit.METRE), quantity("4.5", "%", Unit.PERCENT)
    (30.48, 4.5)
    >>> quantity("none", "", Unit.METRE)
    inf
    """
    if value.lower() == NONE and due is Unit.METRE:
        return math.inf
    number = plain_number(value)
    word = unit.strip().lower()
    if not word and due in _ASKED:
        asked = _ASKED[due]
        raise ValueError(f'"{value}" has no unit, and nobody can tell it: write {asked}')
    if due is Unit.METRE:
        return metres(f"{number!r} {unit}")
    if due is Unit.SQUARE_METRE:
        return square_metres(f"{number!r} {unit}")
    if due is Unit.PERCENT and word in _PERCENT:
        return number
    if due is Unit.PERCENT:
        hint = (
            f"; {number:g} as a ratio is {100 * number:g} %" if word in _WORDS[Unit.RATIO] else ""
        )
        raise ValueError(f'"{unit}" is not percent: write "%" as the unit{hint}')
    if word not in _WORDS.get(due, {due.value}):
        raise ValueError(f'"{unit}" is not the unit that is due here: write "{due.value}"')
    return number
