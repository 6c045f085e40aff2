"""Why a site changed between two pictures of a study, in words: what counts most first."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from playsite.report.people_units import distance_text, in_readers_units, percent_text, value_text
from playsite.report.wording import date_text, is_missing, plain_cell

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from playsite.report.changes import Picture
    from playsite.report.wording import Row

__all__ = ["number", "reasons", "same"]

_MOVED_M = 0.5
_MOST_REASONS = 4
_LEAST_SHARE = 5e-4


def reasons(
    parcel: str,
    sites: tuple[Row, Row],
    values: Sequence[Mapping[str, Row]],
    before: Picture,
    after: Picture,
) -> list[str]:
    """Why a site changed: what counts most first."""
    was, now = values
    known, visited = (_own_visits(picture.visits, parcel) for picture in (before, after))
    told: list[tuple[float, str]] = []
    for name in dict.fromkeys((*now, *was)):
        share = [picture.weights.get(name, 0.0) for picture in (before, after)]
        scores = [_score(part.get(name)) for part in (was, now)]
        gain = share[1] * scores[1] - share[0] * scores[0]
        text = _value_change(name, was.get(name), now.get(name), after.units)
        if text:
            told.append((abs(gain), text + _of_visit(visited.get(name), known.get(name))))
        elif abs(share[1] - share[0]) > _LEAST_SHARE and abs(gain) > _LEAST_SHARE:
            weighs = [percent_text(100 * each) for each in share]
            told.append((abs(gain), f"{_plain(name)} weighs {weighs[1]} instead of {weighs[0]}"))
    ordered = [text for _, text in sorted(told, key=lambda each: -each[0])][:_MOST_REASONS]
    ordered += _others_found(visited, known, {*now, *was})
    return [*_put_out(*sites, after.units), *ordered, *_pad_moved(*sites, after.units)]


def _own_visits(visits: Sequence[Row], parcel: str) -> dict[str, Row]:
    """Visits of a parcel by criterion; of several obstacles each by its note."""
    own = [visit for visit in visits if str(visit["parcel_id"]) == parcel]
    return {
        f"obstacle, {visit['note']}"
        if visit["criterion"] == "obstacle"
        else str(visit["criterion"]): visit
        for visit in own
    }


def _score(row: Row | None) -> float:
    """Score as it counts: what is unknown counts half."""
    return 0.5 if row is None or is_missing(row["score"]) else float(row["score"])


def _value_change(name: str, was: Row | None, now: Row | None, units: str) -> str:
    if was is None or now is None:
        return "" if was is now else f"{_plain(name)} is {'new' if was is None else 'gone'}"
    if same(was["value"], now["value"]):
        return ""
    unit = str(now["unit"])
    texts = [value_text(number(row["value"]), unit, units) for row in (was, now)]
    if texts[0] == texts[1]:
        return f"{_plain(name)} by a little, still {texts[1]}"
    return f"{_plain(name)} from {texts[0]} to {texts[1]}"


def _of_visit(visit: Row | None, known: Row | None) -> str:
    if visit is None:
        return f" (visit of {date_text(str(known['date']))} withdrawn)" if known is not None else ""
    note = plain_cell(visit["note"])
    return f" (visit of {date_text(str(visit['date']))}{f': {note}' if note else ''})"


def _others_found(
    visited: Mapping[str, Row], known: Mapping[str, Row], measured: set[str]
) -> list[str]:
    """Visits that no measured value tells of: obstacles, and what only a rule reads."""
    said = []
    for name, visit in visited.items():
        if name not in measured and (name not in known or _told(known[name]) != _told(visit)):
            said.append(f"{_plain(str(visit['criterion']))}{_of_visit(visit, None)}")
    gone = [visit for name, visit in known.items() if name not in {*measured, *visited}]
    return [*said, *(f"{_plain(str(visit['criterion']))} withdrawn" for visit in gone)]


def _told(visit: Row) -> tuple[str, ...]:
    return tuple(str(visit[name]) for name in ("value", "date", "note"))


def _put_out(was: Row, now: Row, units: str) -> list[str]:
    """Rule that puts a site out which was in."""
    if was["status"] == now["status"] or now["status"] == "ranked":
        return []
    rules = [part.split(":")[0] for part in plain_cell(now["reason"]).split("; ")]
    return [in_readers_units(rule, units) for rule in rules if rule]


def _pad_moved(was: Row, now: Row, units: str) -> list[str]:
    places = [
        [number(row[f"pad_{name}"]) for name in ("easting", "northing")] for row in (was, now)
    ]
    if any(math.isnan(number) for place in places for number in place):
        return []
    away_m = math.dist(*places)
    return (
        [f"the play area lies {distance_text(away_m, units)} away from where it lay"]
        if away_m > _MOVED_M
        else []
    )


def same(one: Any, other: Any) -> bool:
    """Whether two cells say the same; two that are missing do."""
    return (is_missing(one) and is_missing(other)) or (
        not is_missing(one) and not is_missing(other) and bool(one == other)
    )


def number(value: Any) -> float:
    """Cell as a number; a missing one is NaN."""
    return math.nan if is_missing(value) else float(value)


def _plain(name: str) -> str:
    return name.replace("_", " ")
