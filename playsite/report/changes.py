"""What changed between two pictures of a study, site by site and in words, with the reason why."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from playsite.report.people_units import distance_text, in_readers_units, percent_text, value_text
from playsite.report.wording import (
    STATUS_TEXTS,
    date_text,
    is_missing,
    ordinal,
    plain_cell,
    records,
    score_text,
    site_title,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import pandas as pd

    from playsite.report.wording import Row
    from playsite.result import Result

__all__ = [
    "CHANGE_COLUMNS",
    "Picture",
    "SiteChange",
    "desk_changes",
    "note_lines",
    "picture_of",
    "sentences_of",
    "site_changes",
]

CHANGE_COLUMNS = (
    "parcel_id",
    "name",
    "status_was",
    "status_is",
    "rank_was",
    "rank_is",
    "score_was",
    "score_is",
    "why",
)

_ORDER_FROM = 4  # with fewer ranked sites no order is told
_MOVED_M = 0.5
_MOST_REASONS, _MOST_OWN, _MOST_OTHERS = 4, 12, 6
_LEAST_SHARE = 5e-4


@dataclass(frozen=True)
class Picture:
    """What one run says, as it is compared.

    Parameters
    ----------
    sites, measurements
        As in ``sites.csv`` and ``measurements.csv``.
    weights
        Share of weight of each criterion.
    visits
        Rows of the log that count.
    units
        What people read: feet or metres.
    """

    sites: pd.DataFrame
    measurements: pd.DataFrame
    weights: Mapping[str, float]
    visits: Sequence[Row]
    units: str


@dataclass(frozen=True)
class SiteChange:
    """One site that changed: as a row of ``changes.csv``, and whether the cause lies in itself."""

    row: dict[str, Any]
    title: str
    of_itself: bool
    in_order: bool

    @property
    def sentence(self) -> str:
        """The change in words: "Site 2, Mill Lane, from 1st to 3rd: restroom from 60 m to none found."."""
        return f"{self.title}, {_moved(self.row, in_order=self.in_order)}: {self.row['why']}."


def picture_of(result: Result) -> Picture:
    """Picture of a result."""
    visits = records(result.visits[result.visits["standing"] == "counts"])
    weights = {chosen.name: chosen.weight for chosen in result.criteria}
    return Picture(result.sites, result.measurements, weights, visits, result.study.units)


def desk_changes(result: Result) -> list[SiteChange]:
    """What visits changed in a result, against what the maps alone say; nothing without visits."""
    if result.desk is None:
        return []
    now = picture_of(result)
    desk = Picture(result.desk.sites, result.desk.measurements, now.weights, (), result.study.units)
    return site_changes(desk, now)


def note_lines(before: Result, after: Result) -> list[str]:
    """Say what is different in a later result of the same study."""
    changes = site_changes(picture_of(before), picture_of(after))
    return sentences_of(changes) or ["No site changes its place."]


def sentences_of(changes: Sequence[SiteChange]) -> list[str]:
    """Changes in words: first the sites that changed themselves, then some that others moved past."""
    own = [change.sentence for change in changes if change.of_itself]
    if len(own) > _MOST_OWN:
        own[_MOST_OWN:] = [f"{len(own) - _MOST_OWN:,} more sites changed by themselves."]
    others = [change for change in changes if not change.of_itself]
    said = [
        f"{change.title}, {_moved(change.row, in_order=change.in_order)}"
        for change in others[:_MOST_OTHERS]
    ]
    more = len(others) - len(said)
    if said:
        tail = f", and {more:,} more" if more > 0 else ""
        own.append(f"As others moved: {'; '.join(said)}{tail}.")
    return own


def site_changes(before: Picture, after: Picture) -> list[SiteChange]:
    """Sites whose status, rank, score or measured values differ, in the later order.

    Sites that are in one picture alone are left to the caller.
    """
    was_of = {str(row["parcel_id"]): row for row in records(before.sites)}
    values = _by_parcel(before.measurements), _by_parcel(after.measurements)
    in_order = min(_ranked(before), _ranked(after)) >= _ORDER_FROM
    changes = []
    for now in records(after.sites):
        parcel = str(now["parcel_id"])
        was = was_of.get(parcel)
        if was is None:
            continue
        own = [part.get(parcel, {}) for part in values]
        why = _reasons(parcel, (was, now), own, before, after)
        stands = all(_same(was[name], now[name]) for name in ("status", "rank", "score"))
        if stands and not why:
            continue
        row = {"parcel_id": parcel, "name": plain_cell(now["name"])}
        for name in ("status", "rank", "score"):
            row |= {f"{name}_was": was[name], f"{name}_is": now[name]}
        row["why"] = "; ".join(why) if why else "others moved"
        changes.append(SiteChange(row, site_title(now), bool(why), in_order))
    return changes


def _ranked(picture: Picture) -> int:
    return int((picture.sites["status"] == "ranked").sum())


def _by_parcel(measurements: pd.DataFrame) -> dict[str, dict[str, Row]]:
    found: dict[str, dict[str, Row]] = {}
    for row in records(measurements):
        found.setdefault(str(row["parcel_id"]), {})[str(row["criterion"])] = row
    return found


def _reasons(
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
    if _same(was["value"], now["value"]):
        return ""
    unit = str(now["unit"])
    texts = [value_text(_number(row["value"]), unit, units) for row in (was, now)]
    if texts[0] == texts[1]:
        texts = [f"{_number(row['value']):.4g} {unit}" for row in (was, now)]
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
        [_number(row[f"pad_{name}"]) for name in ("easting", "northing")] for row in (was, now)
    ]
    if any(math.isnan(number) for place in places for number in place):
        return []
    away_m = math.dist(*places)
    return (
        [f"the play area lies {distance_text(away_m, units)} away from where it lay"]
        if away_m > _MOVED_M
        else []
    )


def _moved(row: Row, *, in_order: bool) -> str:
    """How a site's standing changed: "from 1st to 3rd"."""
    was, now = (_standing(row, when, in_order=in_order) for when in ("was", "is"))
    if was != now:
        return f"from {was} to {now}"
    points = [score_text(_number(row[f"score_{when}"])) for when in ("was", "is")]
    moved = "" if points[0] == points[1] else f" with {points[1]} points instead of {points[0]}"
    return f"still {now}{moved}"


def _standing(row: Row, when: str, *, in_order: bool) -> str:
    if row[f"status_{when}"] != "ranked":
        return STATUS_TEXTS[row[f"status_{when}"]]
    return ordinal(int(row[f"rank_{when}"])) if in_order else "ranked"


def _same(one: Any, other: Any) -> bool:
    return (is_missing(one) and is_missing(other)) or (
        not is_missing(one) and not is_missing(other) and bool(one == other)
    )


def _number(value: Any) -> float:
    return math.nan if is_missing(value) else float(value)


def _plain(name: str) -> str:
    return name.replace("_", " ")
