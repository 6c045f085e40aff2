"""Charter, funding and calendar in sentences and rows, for the command and the memo alike."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.report.money import money_text
from playsite.report.people_units import value_text
from playsite.report.wording import date_text, joined

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator

    from playsite._cost_settings import CharterTable
    from playsite.cost.calendar import Calendar
    from playsite.cost.charter import Check
    from playsite.cost.funding import Paid
    from playsite.cost.plan import Plan
    from playsite.result import Result

__all__ = [
    "calendar_rows",
    "charter_items",
    "check_text",
    "currency_of",
    "deadline_sentences",
    "funding_rows",
    "funding_sentences",
    "ticket_sentence",
]

_HOLDS = {
    "met": "is met, by four chances in five",
    "at risk": "is at risk: met by even odds, not by four chances in five",
    "missed": "is missed, even by even odds",
}


def currency_of(result: Result) -> str:
    """Currency of the study's money."""
    return "USD" if result.costs is None else result.costs.currency


def charter_items(charter: CharterTable, currency: str) -> Iterator[str]:
    """Give the charter as it was written."""
    if charter.goals:
        yield f"Goals: {joined(charter.goals)}."
    if charter.decides:
        yield f"Who decides: {charter.decides}."
    if charter.budget_cap is not None:
        yield f"Budget cap: {money_text(charter.budget_cap, currency)}."
    if charter.deadline is not None:
        yield f"Open by: {_day(charter.deadline)}."
    yield from (f"String on the money: {text}." for text in charter.money_strings)
    yield from (f"Must have: {wish.text}." for wish in charter.must_haves)
    if charter.off_limits:
        yield f"Off limits: {joined(charter.off_limits)}."


def check_text(check: Check, currency: str, units: str) -> str:
    """Give one promise at one site: the verdict, and what was found against what was asked."""
    head = f"{check.verdict[:1].upper()}{check.verdict[1:]}"
    if check.day is not None:
        return f"{head}: plan for {_day(check.day)}"
    if check.value != check.value:
        return head
    if check.unit == "money":
        pair = [money_text(each, currency) for each in (check.value, check.limit)]
        return f"{head}: budget {pair[0]}, cap {pair[1]}"
    pair = [value_text(each, check.unit, units) for each in (check.value, check.limit)]
    return f"{head}: {pair[0]}, asked {pair[1]}"


def funding_sentences(paid: tuple[Paid, Paid], currency: str) -> list[str]:
    """Say what is left unpaid at even odds, at the budget, and with what is in hand alone."""
    even, budget = paid
    said = [
        f"{head} of {money_text(each.cost, currency)}, {_gap(each.gap, currency)}"
        for head, each in (("At the even-odds cost", even), ("At the budget", budget))
    ]
    if budget.gap_in_hand > budget.gap:
        alone = money_text(budget.gap_in_hand, currency)
        said.append(f"With only what is in hand, {alone} of the budget has no source")
    return [f"{text}." for text in said]


def _gap(gap: float, currency: str) -> str:
    return f"{money_text(gap, currency)} has no source" if gap > 0 else "all of it has a source"


def funding_rows(plan: Plan, paid: tuple[Paid, Paid], currency: str) -> list[tuple[str, ...]]:
    """Rows of sources: name, state, most, match, gives at the budget, what bounds it, dates."""
    rows: list[tuple[str, ...]] = []
    for fund, given in zip(plan.funds, paid[1].given, strict=True):
        dates = [
            f"{word} {_day(day)}"
            for word, day in (("apply by", fund.apply_by), ("spend by", fund.spend_by))
            if day is not None
        ]
        rows.append(
            (
                fund.name,
                fund.state,
                money_text(fund.amount, currency),
                f"{fund.match_pct:g}%" if fund.match_pct else "none",
                f"{money_text(given.amount, currency)}, {given.bound}",
                "; ".join([*dates, *fund.strings]),
            )
        )
    return rows


def calendar_rows(calendar: Calendar) -> list[tuple[str, ...]]:
    """Rows of steps: what, who, begins, done by even odds, done by four chances in five."""
    return [
        (step.name, step.who, _day(step.begins), _day(step.done), _day(step.done_p80))
        for step in calendar.steps
    ]


def deadline_sentences(plan: Plan, parcel: str) -> list[str]:
    """Say when it could open, and whether each deadline holds."""
    calendar = plan.calendars.get(parcel)
    if calendar is None:
        return []
    opens, late = _day(calendar.opens), _day(calendar.opens_p80)
    said = [f"Even odds that it opens by {opens}; plan for {late}."]
    said += [
        f"The deadline of {_day(day)} ({name}) {_HOLDS[calendar.holds(day)]}."
        for name, day in plan.deadlines
    ]
    if parcel in plan.wetland_unknown:
        said.append("Whether a wetland lies near is not known: its review would come on top.")
    said.append("Winter, growing seasons and holidays are not in it.")
    return said


def ticket_sentence(calendar: Calendar) -> str:
    """Say by when to ask for the one-call ticket; empty where nothing is dug."""
    if not calendar.tickets:
        return ""
    dates = joined([f"by {_day(day)} for {name}" for name, day in calendar.tickets])
    return (
        f"Ask for a one-call ticket (811) before each digging, if it begins as planned {dates} at "
        "the latest; a ticket runs out, and it does not locate private lines."
    )


def _day(day: dt.date) -> str:
    return date_text(day.isoformat())
