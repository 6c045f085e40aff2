"""What a row must hold to be taken: every fault of every row is told, with what to do about it."""

from __future__ import annotations

import datetime as dt
import difflib
import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from playsite.problems import nearest_word
from playsite.units import Unit
from playsite.visits.quantities import plain_number, quantity
from playsite.visits.sheet import OBSTACLE, PAD_COLUMNS

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from playsite.problems import Problems
    from playsite.visits.quantities import Asked
    from playsite.visits.sheet import Visit

__all__ = ["MOST_RADIUS_M", "Known", "check_rows", "obstacle_place"]

MOST_RADIUS_M = 100.0
"""An obstacle that is wider is a layer of its own."""

_PLACE = re.compile(
    r"at\s+([-+]?\d+(?:\.\d+)?)\s*[,;\s]\s*([-+]?\d+(?:\.\d+)?)\s*(?::\s*(.*))?\Z", re.DOTALL
)
_ISO = re.compile(r"\d{4}-\d{2}-\d{2}\Z")
_MOST_TOLD = 4


@dataclass(frozen=True)
class Known:
    """What rows are held against.

    Parameters
    ----------
    asked
        What may be measured, by name of criterion.
    parcels
        Every parcel of the study, and whether it has a pad to visit.
    today
        Day after which no visit can have been.
    """

    asked: Mapping[str, Asked]
    parcels: Mapping[str, bool]
    today: dt.date


def obstacle_place(note: str) -> tuple[float, float, str] | None:
    """Place and words of an obstacle's note; None where it doesn't begin with a place.

    Examples
    --------
    >>> obstacle_place("at 500123.4, 4500321: old slab")
    (500123.4, 4500321.0, 'old slab')
    >>> obstacle_place("old slab near the oak") is None
    True
    """
    found = _PLACE.match(note)
    return None if found is None else (float(found[1]), float(found[2]), found[3] or "")


def check_rows(rows: Sequence[Visit], known: Known, file: str, problems: Problems) -> None:
    """Hold every row to what it must be; all faults of all rows go to ``problems``."""
    for row in rows:
        for what, remedy in _faults(row, known):
            problems.add(what, remedy, file=file, line=row.line)


def _faults(row: Visit, known: Known) -> list[tuple[str, str]]:
    faults = [*_parcel(row, known), *_criterion(row, known), *_day(row, known.today)]
    if not row.role:
        faults.append(("no role.", 'Say who was there by role: "parks staff", "engineer".'))
    if row.is_withdrawal:
        if not row.note:
            faults.append(("no reason for taking it back.", "Say why in the note."))
        return faults
    if not (row.method or row.is_obstacle):
        faults.append(("no method.", 'Say how it was measured: "tape", "digital level".'))
    return [*faults, *_numbers(row, known), *_pad(row)]


def _parcel(row: Visit, known: Known) -> list[tuple[str, str]]:
    name = row.parcel_id
    if name not in known.parcels:
        bare = [each for each in known.parcels if each.lstrip("0") == name.lstrip("0") and name]
        if bare:
            remedy = f'Did you mean "{bare[0]}"? Spreadsheets drop leading zeros: keep the column as text.'
        else:
            near = difflib.get_close_matches(name, known.parcels, n=_MOST_TOLD, cutoff=0.3)
            remedy = f"The nearest ids: {', '.join(near or sorted(known.parcels)[:_MOST_TOLD])}."
        return [(f'there is no parcel "{name}" in this study.', remedy)]
    if not (known.parcels[name] or row.is_obstacle or row.is_withdrawal):
        remedy = "A play area fits nowhere on it, so there is no place to visit."
        return [(f'parcel "{name}" has no pad.', remedy)]
    return []


def _criterion(row: Visit, known: Known) -> list[tuple[str, str]]:
    names = {*known.asked, OBSTACLE}
    if row.criterion in names:
        return []
    near = difflib.get_close_matches(row.criterion, names, n=1)
    remedy = nearest_word(row.criterion, names if near else {n for n in names if "." not in n})
    return [(f'no criterion "{row.criterion}" is in use in this study.', remedy)]


def _day(row: Visit, today: dt.date) -> list[tuple[str, str]]:
    asked = "Write year-month-day, as 2026-03-04; in a spreadsheet give the column that format."
    if not row.date:
        return [("no date.", asked)]
    try:
        day = dt.date.fromisoformat(row.date) if _ISO.match(row.date) else None
    except ValueError:
        return [(f'"{row.date}" is no day of the calendar.', asked)]
    if day is None:
        return [(f'the date "{row.date}" can be read in more than one way.', asked)]
    if day > today:
        return [(f"the date {row.date} is in the future.", "Write the day of the visit.")]
    return []


def _numbers(row: Visit, known: Known) -> list[tuple[str, str]]:
    if row.is_obstacle:
        return _obstacle(row)
    asked = known.asked.get(row.criterion)
    if asked is None:
        return []
    faults: list[tuple[str, str]] = []
    low, high = asked.plausible
    value = _read(row, "value", asked.unit, faults)
    if value is not None and math.isfinite(value) and not low <= value <= high:
        what = f"{row.value} {row.unit} is not plausible for {row.criterion}"
        reach = f"({low:g} to {high:g} {asked.unit.value})."
        faults.append((f"{what} {reach}", "Look at the number and its unit."))
    if row.accuracy and (value is None or math.isfinite(value)):
        _accuracy(row, asked.unit, faults)
    return faults


def _accuracy(row: Visit, unit: Unit, faults: list[tuple[str, str]]) -> None:
    wrong = any(what.startswith("value") for what, _ in faults)
    given = None if wrong else _read(row, "accuracy", unit, faults)
    if given is not None and not 0 <= given < math.inf:
        remedy = "Write by how much the value may be off, as a plain number of the same unit."
        faults.append((f"the accuracy {row.accuracy} can't be.", remedy))


def _read(row: Visit, name: str, due: Unit, faults: list[tuple[str, str]]) -> float | None:
    try:
        return quantity(getattr(row, name), row.unit, due)
    except ValueError as error:
        faults.append((f"{name} of {row.criterion}: {error}.", ""))
        return None


def _obstacle(row: Visit) -> list[tuple[str, str]]:
    faults: list[tuple[str, str]] = []
    radius_m = _read(row, "value", Unit.METRE, faults)
    if radius_m is not None and not 0 < radius_m <= MOST_RADIUS_M:
        remedy = f"Its radius is due: more than 0, {MOST_RADIUS_M:g} m at most."
        faults.append((f"an obstacle of {row.value} {row.unit} can't be.", remedy))
    if obstacle_place(row.note) is None:
        remedy = 'Begin its note with its place: "at 500123.4, 4500321.0: old slab", or latitude, longitude.'
        faults.append(("the obstacle's note says no place.", remedy))
    return faults


def _pad(row: Visit) -> list[tuple[str, str]]:
    given: list[Any] = [getattr(row, name) for name in PAD_COLUMNS]
    if not any(given):
        return []
    try:
        for text in given:
            plain_number(text)
    except ValueError as error:
        remedy = f"Give {', '.join(PAD_COLUMNS)} as the kit prints them, or leave all three empty."
        return [(f"the place of the pad: {error}.", remedy)]
    return []
