"""The charter held against what was found: each promise met, not met, not known, or for people."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping, Sequence

    from playsite._cost_settings import CharterTable
    from playsite.cost.calendar import Calendar

__all__ = ["Check", "Limit", "Verdict", "charter_checks"]

Verdict = Literal["met", "at risk", "not met", "not known", "for people to check"]


@dataclass(frozen=True)
class Limit:
    """A must-have as a limit of a criterion, in the criterion's unit; None for a text alone."""

    text: str
    criterion: str | None = None
    unit: str = ""
    at_most: float | None = None
    at_least: float | None = None


@dataclass(frozen=True)
class Check:
    """One promise at one site.

    Parameters
    ----------
    value, limit
        What was found, and what was asked, in the unit; NaN where there is none.
    day
        When it opens by four chances in five, where that was asked.
    """

    parcel_id: str
    item: str
    verdict: Verdict
    value: float = math.nan
    limit: float = math.nan
    unit: str = ""
    day: dt.date | None = None


def charter_checks(
    charter: CharterTable,
    limits: Sequence[Limit],
    measured: Mapping[str, Mapping[str, float]],
    money: Mapping[str, tuple[float, float]],
    calendars: Mapping[str, Calendar],
) -> tuple[Check, ...]:
    """Check each site against the charter.

    Parameters
    ----------
    limits
        Its must-haves.
    measured
        By parcel, values by criterion; these are the sites that are checked, in this order.
    money
        By parcel, 50th and 80th percentile of the cost; missing where it was not priced.
    calendars
        By parcel; missing where the study names no start.
    """
    checks: list[Check] = []
    for parcel, values in measured.items():
        if parcel in charter.off_limits:
            checks.append(Check(parcel, "not on land that is off limits", "not met"))
        if charter.budget_cap is not None:
            checks.append(_within(parcel, charter.budget_cap, money.get(parcel)))
        if charter.deadline is not None:
            checks.append(_in_time(parcel, charter.deadline, calendars.get(parcel)))
        checks += [_must_have(parcel, limit, values) for limit in limits]
    return tuple(checks)


def _within(parcel: str, cap: float, money: tuple[float, float] | None) -> Check:
    """The cap holds where four in five chances do; by even odds alone it is at risk."""
    item = "within the budget cap"
    if money is None:
        return Check(parcel, item, "not known", limit=cap, unit="money")
    p50, p80 = money
    verdict: Verdict = "met" if p80 <= cap else "at risk" if p50 <= cap else "not met"
    return Check(parcel, item, verdict, p80, cap, "money")


def _in_time(parcel: str, deadline: dt.date, calendar: Calendar | None) -> Check:
    item = f"open by {deadline:%d %B %Y}".replace(" 0", " ")
    if calendar is None:
        return Check(parcel, item, "not known")
    words: dict[str, Verdict] = {"met": "met", "at risk": "at risk", "missed": "not met"}
    return Check(parcel, item, words[calendar.holds(deadline)], day=calendar.opens_p80)


def _must_have(parcel: str, limit: Limit, values: Mapping[str, float]) -> Check:
    if limit.criterion is None:
        return Check(parcel, limit.text, "for people to check")
    value = values.get(limit.criterion, math.nan)
    bound = limit.at_most if limit.at_most is not None else limit.at_least or 0.0
    verdict: Verdict = "not known"
    if not math.isnan(value):
        met = value <= bound + 1e-9 if limit.at_most is not None else value >= bound - 1e-9
        verdict = "met" if met else "not met"
    return Check(parcel, limit.text, verdict, value, bound, limit.unit)
