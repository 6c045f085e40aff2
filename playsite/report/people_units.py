"""Feet, metres, acres: numbers as people read them. Only reports convert; inside all is SI."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING

from playsite.units import LENGTHS_M, Unit

if TYPE_CHECKING:
    from playsite.criteria._spoken import Spoken

__all__ = [
    "UNITS",
    "area_text",
    "contour_step_m",
    "contour_step_text",
    "contour_text",
    "depth_text",
    "distance_text",
    "edge_flow_text",
    "ends_in_length",
    "flow_text",
    "hours_text",
    "in_feet",
    "in_readers_units",
    "interval_text",
    "line_error_text",
    "margin_text",
    "pad_size_text",
    "percent_text",
    "side_text",
    "value_text",
    "volume_text",
]

UNITS = ("feet", "metres")
"""What a study's people may read numbers in."""

FOOT_M = LENGTHS_M["ft"]
ACRE_M2 = 43_560 * FOOT_M**2  # the international acre
HECTARE_M2 = 10_000.0
_NUMBER = r"\d{1,3}(?:,\d{3})+(?:\.\d+)?|\d+(?:\.\d+)?"
IN_TEXT = re.compile(
    rf"(?<![\w.,])(?:({_NUMBER}) to )?({_NUMBER}) (m/s|m²|m³|cm|km|ha|m)(?![\w²³/])"
)
NOT_KNOWN = "unknown"
_DAY_H = 24
_THOUSAND = 1000  # from here on figures stand in threes
_SAID_ONCE = {Unit.METRE, Unit.SQUARE_METRE, Unit.CUBIC_METRE, Unit.MINUTE, Unit.RATIO}
_WHOLE_COUNT = 10  # a tenth of a child says nothing where there are ten
NONE_FOUND = "none found"


def in_feet(units: str) -> bool:
    """Whether numbers are read in feet; every other word for units means metres."""
    return units.strip().lower() in {"feet", "foot", "ft", "us", "imperial"}


def contour_step_m(units: str) -> float:
    """Height from one contour to the next: a foot, or a quarter of a metre."""
    return FOOT_M if in_feet(units) else 0.25


def contour_step_text(step_m: float, units: str) -> str:
    """Height from one contour to the next, in one's own units whichever it was drawn in.

    Examples
    --------
    >>> contour_step_text(0.3048, "feet"), contour_step_text(0.3048, "metres")
    ('1 ft', '0.3 m')
    """
    return f"{step_m / FOOT_M:.2g} ft" if in_feet(units) else f"{step_m:.2g} m"


def contour_text(height_m: float, units: str) -> str:
    """Height of a contour: a whole foot where it is one, else a tenth; or centimetres.

    Examples
    --------
    >>> contour_text(102.7176, "feet"), contour_text(102.75, "feet"), contour_text(102.75, "metres")
    ('337 ft', '337.1 ft', '102.75 m')
    """
    return f"{round(height_m / FOOT_M, 1):g} ft" if in_feet(units) else f"{height_m:.2f} m"


def ends_in_length(words: str) -> bool:
    """Whether words already end in how long something is: then no length is put behind them.

    Examples
    --------
    >>> ends_in_length("drain to daylight, 20 ft"), ends_in_length("tree, 59 ft tall")
    (True, False)
    """
    return re.search(r"\d (?:ft|mi|m|km)$", words) is not None


def line_error_text(error_m: float, units: str) -> str:
    """Say how far lot lines may be off; where the study says nothing of it, that.

    Examples
    --------
    >>> line_error_text(3.0, "metres"), line_error_text(0.0, "feet")
    ('may be off by 3 m', 'are taken as drawn: the study names no error of theirs')
    """
    if error_m > 0:
        return f"may be off by {distance_text(error_m, units)}"
    return "are taken as drawn: the study names no error of theirs"


def distance_text(m: float | None, units: str) -> str:
    """Distance to read: 10 ft steps from 100 ft, else 1 ft; 1 m steps, one decimal below 10 m.

    A missing distance is "unknown", one without end "none found".

    Examples
    --------
    >>> distance_text(137.3, "feet"), distance_text(137.3, "metres")
    ('450 ft', '137 m')
    >>> distance_text(9.96, "metres"), distance_text(5.24, "metres"), distance_text(0.1, "feet")
    ('10 m', '5.2 m', 'under 1 ft')
    """
    if m is None or math.isnan(m):
        return NOT_KNOWN
    if math.isinf(m):
        return NONE_FOUND
    if not in_feet(units):
        tenth = _nearest(m, 0.1)
        return f"{_plain(tenth)} m" if abs(tenth) < 10 else f"{_nearest(m, 1):,.0f} m"
    feet = m / FOOT_M
    if 0 < feet < 0.5:
        return "under 1 ft"
    whole = _nearest(feet, 1)
    return f"{_nearest(feet, 10) if abs(whole) > 100 else whole:,.0f} ft"


def depth_text(m: float | None, units: str) -> str:
    """Depth of water or of ground: inches, feet from two of them on; centimetres, metres from one.

    Examples
    --------
    >>> depth_text(0.15, "feet"), depth_text(0.15, "metres")
    ('6 in', '15 cm')
    >>> depth_text(1.1, "feet"), depth_text(1.1, "metres")
    ('3.6 ft', '1.1 m')
    >>> depth_text(0.001, "feet"), depth_text(0.001, "metres"), depth_text(0, "feet")
    ('under 1 in', 'under 1 cm', '0 in')
    """
    if m is None or math.isnan(m):
        return NOT_KNOWN
    if in_feet(units):
        inches = _nearest(m / LENGTHS_M["in"], 1)
        if m > 0 and not inches:
            return "under 1 in"
        return f"{inches:.0f} in" if inches < 24 else f"{_plain(_nearest(m / FOOT_M, 0.1))} ft"
    centimetres = _nearest(m * 100, 1)
    if m > 0 and not centimetres:
        return "under 1 cm"
    return f"{centimetres:.0f} cm" if centimetres < 100 else f"{_plain(_nearest(m, 0.1))} m"


def area_text(m2: float | None, units: str) -> str:
    """Area: square feet to 10, acres from one acre on; square metres, hectares from one on.

    Examples
    --------
    >>> area_text(719.5, "feet"), area_text(719.5, "metres")
    ('7,740 sq ft', '720 m²')
    >>> area_text(8093.7, "feet"), area_text(23456, "metres")
    ('2 acres', '2.3 ha')
    """
    if m2 is None or not math.isfinite(m2):
        return NOT_KNOWN
    if in_feet(units):
        acres = _nearest(m2 / ACRE_M2, 0.1)
        if m2 >= ACRE_M2:
            return "1 acre" if acres == 1 else f"{_plain(acres)} acres"
        feet2 = m2 / FOOT_M**2
        return f"{_nearest(feet2, 10 if feet2 >= 100 else 1):,.0f} sq ft"
    if m2 >= HECTARE_M2:
        return f"{_plain(_nearest(m2 / HECTARE_M2, 0.1))} ha"
    return f"{_nearest(m2, 10 if m2 >= 100 else 1):,.0f} m²"


def volume_text(m3: float | None, units: str) -> str:
    """Volume: cubic yards or cubic metres; below one of them, cubic feet or a decimal.

    Examples
    --------
    >>> volume_text(71.1, "feet"), volume_text(0.31, "feet"), volume_text(0.31, "metres")
    ('93 cu yd', '11 cu ft', '0.3 m³')
    """
    if m3 is None or not math.isfinite(m3):
        return NOT_KNOWN
    if in_feet(units):
        yards = m3 / LENGTHS_M["yd"] ** 3
        if yards >= 1:
            return f"{_nearest(yards, 1):,.0f} cu yd"
        return f"{_nearest(m3 / FOOT_M**3, 1):,.0f} cu ft"
    return f"{_nearest(m3, 1):,.0f} m³" if m3 >= 10 else f"{_plain(_nearest(m3, 0.1))} m³"


def flow_text(m3_s: float | None, units: str) -> str:
    """Flow of water to two figures: cubic feet a second, or litres a second.

    Examples
    --------
    >>> flow_text(0.0514, "feet"), flow_text(0.0514, "metres"), flow_text(1.26, "metres")
    ('1.8 cu ft/s', '51 l/s', '1.3 m³/s')
    """
    if m3_s is None or not math.isfinite(m3_s):
        return NOT_KNOWN
    if in_feet(units):
        return f"{_two_figures(m3_s / FOOT_M**3)} cu ft/s"
    return f"{_two_figures(m3_s)} m³/s" if m3_s >= 1 else f"{_two_figures(1000 * m3_s)} l/s"


def edge_flow_text(m2_s: float, units: str) -> str:
    """Depth times speed of water to two figures, nothing finer than a hundredth.

    Examples
    --------
    >>> edge_flow_text(0.3, "feet"), edge_flow_text(0.3, "metres"), edge_flow_text(0.0003, "metres")
    ('3.2 sq ft/s', '0.3 m²/s', 'under 0.01 m²/s')
    """
    value, unit = (m2_s / FOOT_M**2, "sq ft/s") if in_feet(units) else (m2_s, "m²/s")
    return f"under 0.01 {unit}" if 0 < value < 0.01 else f"{_two_figures(value)} {unit}"


def hours_text(hours: float) -> str:
    """Time that water takes: hours, days from two of them on; "never" where it never ends.

    Examples
    --------
    >>> hours_text(0.2), hours_text(1), hours_text(24), hours_text(743), hours_text(math.inf)
    ('under 1 hour', '1 hour', '24 hours', '31 days', 'never')
    """
    if math.isinf(hours):
        return "never"
    if hours >= 2 * _DAY_H:
        return f"{_nearest(hours / _DAY_H, 1):,.0f} days"
    whole = _nearest(hours, 1)
    if not whole:
        return "under 1 hour"
    return f"{whole:.0f} hour{'' if whole == 1 else 's'}"


def percent_text(pct: float | None) -> str:
    """Percent: one decimal below 10, else whole.

    Examples
    --------
    >>> percent_text(3.14), percent_text(12.4), percent_text(2.0)
    ('3.1%', '12%', '2%')
    """
    if pct is None or not math.isfinite(pct):
        return NOT_KNOWN
    tenth = _nearest(pct, 0.1)
    return f"{_plain(tenth)}%" if abs(tenth) < 10 else f"{_nearest(pct, 1):,.0f}%"


def pad_size_text(length_m: float, width_m: float, units: str) -> str:
    """Two sides of the play area, to a half foot or a decimetre: they are drawn to scale.

    Examples
    --------
    >>> pad_size_text(31.6992, 22.7076, "feet"), pad_size_text(31.6992, 22.7076, "metres")
    ('104 by 74.5 ft', '31.7 by 22.7 m')
    """
    long, short = (side_text(side, units).split(" ")[0] for side in (length_m, width_m))
    return f"{long} by {short} {'ft' if in_feet(units) else 'm'}"


def side_text(side_m: float, units: str) -> str:
    """One side of the play area, to a half foot or a decimetre.

    Examples
    --------
    >>> side_text(22.7076, "feet"), side_text(22.7076, "metres")
    ('74.5 ft', '22.7 m')
    """
    if in_feet(units):
        return f"{_plain(_nearest(side_m / FOOT_M, 0.5))} ft"
    return f"{_plain(_nearest(side_m, 0.1))} m"


def value_text(value: float | None, unit: str, units: str, spoken: Spoken | None = None) -> str:
    """Measured value with its unit, in the units that the study's people read.

    Parameters
    ----------
    value
        In ``unit``; missing is "unknown", infinite "none found".
    unit
        A `playsite.units.Unit` or its text.
    units
        ``"feet"`` or ``"metres"``.
    spoken
        Words that the criterion has for its values.

    Examples
    --------
    >>> value_text(60.96, "m", "feet"), value_text(3.14, "pct", "feet"), value_text(4, "count", "feet")
    ('200 ft', '3.1%', '4')
    >>> value_text(None, "m", "feet"), value_text(1.3, "ratio", "metres")
    ('unknown', '1.3 times')
    >>> value_text(0.75, "rating", "feet"), value_text(2, "level", "feet")
    ('0.75 of 1', 'level 2')
    """
    if value is None or math.isnan(value):
        return NOT_KNOWN
    if math.isinf(value):
        return NONE_FOUND
    if spoken is not None and (spoken.form or spoken.steps):
        return _spoken_text(value, unit, units, spoken)
    is_height = spoken is not None and spoken.is_height
    with_dimension = {
        Unit.METRE: depth_text if is_height else distance_text,
        Unit.SQUARE_METRE: area_text,
        Unit.CUBIC_METRE: volume_text,
    }
    if unit in with_dimension:
        return with_dimension[Unit(unit)](value, units)
    return percent_text(value) if unit == Unit.PERCENT else _bare_text(value, unit)


def _spoken_text(value: float, unit: str, units: str, spoken: Spoken) -> str:
    """Value in its criterion's words; of a rating the word of the number that is read."""
    number = value_text(value, unit, units)
    if spoken.form:
        return spoken.form.format(number)
    if unit == Unit.RATING:
        return f"{spoken.word(_nearest(value, 0.01))} ({number})"
    return spoken.word(value)


def interval_text(
    low: float | None,
    high: float | None,
    unit: str,
    units: str,
    spoken: Spoken | None = None,
) -> str:
    """Likely range of a value; empty where it is not known, or no wider than the rounding.

    Examples
    --------
    >>> interval_text(1.91, 2.17, "pct", "feet"), interval_text(1.99, 2.01, "pct", "feet")
    ('between 1.9% and 2.2%', '')
    >>> interval_text(60.0, math.inf, "m2", "metres")
    '60 m² or more'
    >>> interval_text(0.1, 0.3, "m", "feet"), interval_text(21.0, math.inf, "m", "feet")
    ('up to 1 ft', '69 ft or more')
    >>> interval_text(20, 50, "m", "metres")
    'between 20 and 50 m'
    """
    if low is None or high is None or math.isnan(low) or math.isnan(high):
        return ""
    form = spoken.form if spoken is not None and spoken.form else "{}"
    spoken = None if spoken is not None and spoken.form else spoken
    least, most = (value_text(value, unit, units, spoken) for value in (low, high))
    if least == most:
        return ""
    if math.isinf(high):
        return form.format(f"{least} or more")
    if least.startswith("under "):
        return form.format(f"up to {most}")
    if least.partition(" ")[2] == most.partition(" ")[2] and unit in _SAID_ONCE:
        least = least.partition(" ")[0]
    return form.format(f"between {least} and {most}")


def margin_text(margin: float | None, unit: str, units: str) -> str:
    """Size of a margin, without its sign; a margin between two percents is in points.

    Examples
    --------
    >>> margin_text(-1.8288, "m", "feet"), margin_text(-2, "pct", "feet")
    ('6 ft', '2 points')
    """
    if margin is None or not math.isfinite(margin):
        return NOT_KNOWN
    if unit == Unit.PERCENT:
        points = percent_text(abs(margin)).removesuffix("%")
        return f"{points} point" if points == "1" else f"{points} points"
    if unit == Unit.LEVEL:
        return f"{abs(margin):g} level{'' if abs(margin) == 1 else 's'}"
    return value_text(abs(margin), unit, units)


def in_readers_units(text: str, units: str) -> str:
    """Text of a rule or a note, as people read it: metres in feet, cm in inches, "15%".

    Notes are written in metres, finer than people read them; here they are rounded.

    Examples
    --------
    >>> in_readers_units("within 6 m of an arterial; 2.5 m²; 3 min; 8 cm off; 2,000 m", "feet")
    'within 20 ft of an arterial; 27 sq ft; 3 min; 3 in off; 6,560 ft'
    >>> in_readers_units("81.4 m at 3 to 4 m/s", "feet"), in_readers_units("81.4 m; 0.75 m", "metres")
    ('270 ft at 10 to 13 ft/s', '81 m; 0.75 m')
    """
    return IN_TEXT.sub(_said_in_feet if in_feet(units) else _rounded, text.replace(" %", "%"))


def _said_in_feet(found: re.Match[str]) -> str:
    unit = found[3]
    if found[1] and unit == "m/s":
        slow, fast = (_number(found[k]) / FOOT_M for k in (1, 2))
        return f"{slow:.0f} to {fast:.0f} ft/s"
    last = _one_in_feet(found[2], unit)
    if not found[1]:
        return last
    first, (_, of) = _one_in_feet(found[1], unit), last.split(" ", 1)
    return f"{first.removesuffix(' ' + of)} to {last}"


def _one_in_feet(text: str, unit: str) -> str:
    value = _number(text)
    if unit == "m/s":
        return f"{value / FOOT_M:.0f} ft/s"
    if unit == "km":
        return f"{_plain(_nearest(1000 * value / LENGTHS_M['mi'], 0.1))} mi"
    said = {"m²": area_text, "m³": volume_text, "cm": depth_text, "ha": area_text}
    factor = {"cm": 0.01, "ha": HECTARE_M2}.get(unit, 1.0)
    return said.get(unit, distance_text)(factor * value, "feet")


def _rounded(found: re.Match[str]) -> str:
    """Metres as a distance is read; shorter ones stay as they are: they may be a limit."""
    value = _number(found[2])
    is_told = value < (10 if "." in found[2] else _THOUSAND)
    if found[3] != "m" or found[1] or is_told:
        return found[0]
    return distance_text(value, "metres")


def _number(text: str) -> float:
    return float(text.replace(",", ""))


def _bare_text(value: float, unit: str) -> str:
    if unit == Unit.MINUTE:
        return "under 1 min" if 0 < value < 0.5 else f"{_nearest(value, 1):,.0f} min"
    if unit == Unit.DEGREE:
        return f"{_nearest(value, 1):,.0f}°"
    if unit == Unit.RATIO:
        return f"{_plain(_nearest(value, 0.01 if abs(value) < 1 else 0.1))} times"
    if unit == Unit.RATING:
        return f"{_plain(_nearest(value, 0.01))} of 1"
    if unit == Unit.LEVEL:
        return f"level {value:g}"
    is_whole = float(value).is_integer() or abs(value) >= _WHOLE_COUNT
    return f"{_nearest(value, 1):,.0f}" if is_whole else f"{value:,.1f}"


def _nearest(value: float, step: float) -> float:
    """Round half away from zero: 74.5 is 75 to people, and Python would say 74."""
    steps = math.floor(round(abs(value) / step, 9) + 0.5)
    return math.copysign(round(steps * step, 9), value) if steps else 0.0


def _two_figures(value: float) -> str:
    """Text of a number to two figures, whole from 10 on."""
    return _plain(float(f"{value:.2g}"))


def _plain(value: float) -> str:
    return f"{value:,.2f}".rstrip("0").rstrip(".")
