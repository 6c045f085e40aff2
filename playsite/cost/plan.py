"""What the charter, the money's sources and the calendar come to, site by site: for reports."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from playsite.cost.calendar import Calendar, calendar_of
from playsite.cost.charter import charter_checks
from playsite.cost.funding import paid_by

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping, Sequence

    from playsite._cost_settings import CharterTable, FundTable, ScheduleTable
    from playsite.cost._price_tables import StepTable
    from playsite.cost.charter import Check, Limit
    from playsite.cost.funding import Paid
    from playsite.cost.lines import SiteFacts

__all__ = ["Plan", "plan_of"]


@dataclass(frozen=True)
class Plan:
    """Charter, funding and calendar of a study.

    Parameters
    ----------
    charter, funds
        As the study says them.
    checks
        The charter held against each site.
    paid
        By parcel, who pays the cost at even odds and at the budget (80th percentile).
    calendars
        By parcel; empty where the study names no start.
    deadlines
        What must be done by when, the first first.
    wetland_unknown
        Parcels where no one knows whether a wetland lies near: their calendars leave it out.
    """

    charter: CharterTable | None
    funds: tuple[FundTable, ...]
    checks: tuple[Check, ...]
    paid: Mapping[str, tuple[Paid, Paid]]
    calendars: Mapping[str, Calendar]
    deadlines: tuple[tuple[str, dt.date], ...]
    wetland_unknown: frozenset[str] = frozenset()


def plan_of(
    sites: Sequence[SiteFacts],
    money: Mapping[str, tuple[float, float]],
    *,
    charter: CharterTable | None,
    limits: Sequence[Limit],
    funds: Sequence[FundTable],
    schedule: ScheduleTable | None,
    steps: Sequence[StepTable],
) -> Plan:
    """Hold charter, funding and calendar against each site.

    Parameters
    ----------
    sites
        In the order of the ranking.
    money
        By parcel, 50th and 80th percentile of the cost.
    """
    calendars: dict[str, Calendar] = {}
    if schedule is not None:
        known: dict[frozenset[str], Calendar] = {}
        for facts in sites:
            needs = facts.permits()
            if needs not in known:
                known[needs] = calendar_of(
                    steps, schedule.start, needs, notice_days=schedule.notice_days
                )
            calendars[facts.parcel_id] = known[needs]
    measured = {facts.parcel_id: facts.measured for facts in sites}
    checks = () if charter is None else charter_checks(charter, limits, measured, money, calendars)
    paid = {
        parcel: (paid_by(p50, funds), paid_by(p80, funds)) for parcel, (p50, p80) in money.items()
    }
    return Plan(
        charter=charter,
        funds=tuple(funds),
        checks=checks,
        paid=paid if funds else {},
        calendars=calendars,
        deadlines=_deadlines(charter, funds),
        wetland_unknown=frozenset(f.parcel_id for f in sites if f.value("wetland") is None),
    )


def _deadlines(
    charter: CharterTable | None, funds: Sequence[FundTable]
) -> tuple[tuple[str, dt.date], ...]:
    """Days by which it must be open or paid; days to apply by stand with their source."""
    found = [(f"{fund.name}: spent", fund.spend_by) for fund in funds if fund.spend_by is not None]
    if charter is not None and charter.deadline is not None:
        found.append(("the charter: open", charter.deadline))
    return tuple(sorted(found, key=lambda each: each[1]))
