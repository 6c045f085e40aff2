"""What changed between two pictures of a study, site by site and in words, with the reason why."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from playsite.report.reasons import number, reasons, same
from playsite.report.wording import (
    STATUS_TEXTS,
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
    "MOST_OTHERS",
    "MOST_OWN",
    "Picture",
    "SiteChange",
    "desk_changes",
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
MOST_OWN, MOST_OTHERS = 12, 6
"""Sites told one by one: that changed themselves, and that others moved past."""


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


def sentences_of(changes: Sequence[SiteChange]) -> list[str]:
    """Changes in words: first the sites that changed themselves, then some that others moved past."""
    own = [change.sentence for change in changes if change.of_itself]
    if len(own) > MOST_OWN:
        own[MOST_OWN:] = [f"{len(own) - MOST_OWN:,} more sites changed by themselves."]
    others = [change for change in changes if not change.of_itself]
    said = [
        f"{change.title}, {_moved(change.row, in_order=change.in_order)}"
        for change in others[:MOST_OTHERS]
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
        why = reasons(parcel, (was, now), own, before, after)
        stands = all(same(was[name], now[name]) for name in ("status", "rank", "score"))
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


def _moved(row: Row, *, in_order: bool) -> str:
    """How a site's standing changed: "from 1st to 3rd"."""
    was, now = (_standing(row, when, in_order=in_order) for when in ("was", "is"))
    if was != now:
        return f"from {was} to {now}"
    points = [score_text(number(row[f"score_{when}"])) for when in ("was", "is")]
    moved = "" if points[0] == points[1] else f" with {points[1]} points instead of {points[0]}"
    return f"still {now}{moved}"


def _standing(row: Row, when: str, *, in_order: bool) -> str:
    if row[f"status_{when}"] != "ranked":
        return STATUS_TEXTS[row[f"status_{when}"]]
    return ordinal(int(row[f"rank_{when}"])) if in_order else "ranked"
