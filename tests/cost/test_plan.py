"""Charter, funding and calendar: what binds, what is met, and what is not known."""

import datetime as dt
import math

import pytest
from made_up_costs import GROUND, book_of, cost_table, facts

from playsite._cost_settings import CharterTable, FundTable, ScheduleTable
from playsite.cost._price_tables import StepTable
from playsite.cost.calendar import calendar_of, ticket_day
from playsite.cost.charter import Limit
from playsite.cost.funding import paid_by
from playsite.cost.plan import plan_of

START = dt.date(2026, 4, 1)


def _fund(name, amount, **given):
    return FundTable.model_validate({"name": name, "amount": amount, **given})


def test_a_match_bounds_a_grant_by_what_others_can_bring():
    grant = _fund("grant", 300_000, match="50 %")
    own = _fund("own", 100_000, state="in hand")
    paid = paid_by(500_000, [own, grant])
    assert [(each.amount, each.bound) for each in paid.given] == [
        (100_000, "all that it has"),
        (100_000, "its match"),
    ]
    assert paid.gap == 300_000
    assert paid.gap_in_hand == 400_000


def test_a_grant_pays_no_more_than_its_share_and_nobody_more_than_is_due():
    grant = _fund("grant", 400_000, match="25 %")
    rich = _fund("rich", 900_000, state="in hand")
    paid = paid_by(400_000, [grant, rich])
    assert [(each.amount, each.bound) for each in paid.given] == [
        (300_000, "its share of the cost"),
        (100_000, "no more is due"),
    ]
    assert paid.gap == paid.gap_in_hand == 0


def test_what_is_only_hoped_for_is_not_in_hand():
    paid = paid_by(100_000, [_fund("hope", 100_000)])
    assert (paid.gap, paid.gap_in_hand) == (0, 100_000)


def _step(name, weeks, *after, only=None, digs=False):
    return StepTable(name=name, who="-", weeks=weeks, after=list(after), only=only, digs=digs)


def test_steps_without_a_range_give_the_longest_way_through():
    steps = [
        _step("design", (4, 4, 4)),
        _step("order", (10, 10, 10), "design"),
        _step("dig", (2, 2, 2), "design", digs=True),
        _step("build", (3, 3, 3), "order", "dig"),
    ]
    found = calendar_of(steps, START, (), notice_days=3)
    assert found.opens == found.opens_p80 == START + dt.timedelta(weeks=17)
    assert [step.name for step in found.steps] == ["design", "dig", "order", "build"]
    # digging begins on a Wednesday, four weeks after another: three business days before
    assert found.tickets == (("dig", dt.date(2026, 4, 24)),)
    assert found.holds(found.opens) == "met"
    assert found.holds(found.opens - dt.timedelta(days=1)) == "missed"


def test_a_step_that_is_only_needed_elsewhere_holds_nobody_up():
    steps = [
        _step("flood", (20, 20, 20), only="floodplain"),
        _step("build", (5, 5, 5), "flood"),
    ]
    dry = calendar_of(steps, START, (), notice_days=3)
    wet = calendar_of(steps, START, ("floodplain",), notice_days=3)
    assert dry.opens == START + dt.timedelta(weeks=5)
    assert wet.opens == START + dt.timedelta(weeks=25)
    assert dry.tickets == ()


def test_a_deadline_between_even_odds_and_four_in_five_is_at_risk():
    found = calendar_of([_step("all", (10, 20, 60))], START, (), notice_days=3)
    assert found.opens < found.opens_p80
    assert found.holds(found.opens) == "at risk"
    assert found.holds(found.opens_p80) == "met"


@pytest.mark.parametrize(
    ("steps", "says"),
    [
        ([_step("a", (1, 1, 1), "b")], "comes after"),
        ([_step("a", (1, 1, 1), "b"), _step("b", (1, 1, 1), "a")], "wait for each other"),
    ],
)
def test_steps_in_no_order_are_refused(steps, says):
    with pytest.raises(ValueError, match=says):
        calendar_of(steps, START, (), notice_days=3)


# Washington: at least two business days ahead (Mason County's page); elsewhere two to three.
@pytest.mark.parametrize(
    ("digging", "notice", "ask"),
    [
        ("2027-03-08", 2, "2027-03-04"),  # a Monday: the Thursday before
        ("2027-03-10", 2, "2027-03-08"),
        ("2027-03-07", 3, "2027-03-03"),  # a Sunday counts as the Monday after
    ],
)
def test_the_ticket_is_asked_for_in_business_days(digging, notice, ask):
    assert ticket_day(dt.date.fromisoformat(digging), notice) == dt.date.fromisoformat(ask)


def test_the_shipped_steps_go_through_and_a_wetland_makes_them_later():
    steps = book_of(cost_table()).steps
    dry, wet = (
        calendar_of(steps, START, needs, notice_days=3) for needs in ((), ("wetland", "floodplain"))
    )
    assert START < dry.opens < wet.opens
    assert dry.opens_p80 < wet.opens_p80
    # borings dig too, long before the ground work
    assert [name for name, _ in dry.tickets] == ["survey, borings, trees", "ground work"]
    assert dry.tickets[0][1] < dry.tickets[1][1] < dry.opens


def test_the_charter_is_held_against_each_site():
    charter = CharterTable.model_validate(
        {"budget_cap": "$500,000", "deadline": "2027-06", "off_limits": ["B"]}
    )
    limits = [
        Limit("a restroom near", "restroom", "m", at_most=120.0),
        Limit("shade", "shade", "pct", at_least=15.0),
        Limit("the school was asked"),
    ]
    sites = [
        facts("A", measured={"restroom": 80.0, "shade": 10.0}),
        facts("B", measured={"restroom": 300.0}),
        facts("C", measured={"restroom": math.inf, "shade": 40.0}),
    ]
    money = {"A": (400_000.0, 450_000.0), "B": (480_000.0, 520_000.0)}
    plan = plan_of(
        sites, money, charter=charter, limits=limits, funds=(), schedule=None,
        steps=book_of(cost_table()).steps,
    )  # fmt: skip
    verdicts = {(check.parcel_id, check.item): check.verdict for check in plan.checks}
    assert verdicts == {
        ("A", "within the budget cap"): "met",
        ("A", "open by 30 June 2027"): "not known",
        ("A", "a restroom near"): "met",
        ("A", "shade"): "not met",
        ("A", "the school was asked"): "for people to check",
        ("B", "not on land that is off limits"): "not met",
        ("B", "within the budget cap"): "at risk",
        ("B", "open by 30 June 2027"): "not known",
        ("B", "a restroom near"): "not met",
        ("B", "shade"): "not known",
        ("B", "the school was asked"): "for people to check",
        ("C", "within the budget cap"): "not known",
        ("C", "open by 30 June 2027"): "not known",
        ("C", "a restroom near"): "not met",
        ("C", "shade"): "met",
        ("C", "the school was asked"): "for people to check",
    }


def test_a_site_with_a_wetland_has_the_calendar_that_it_asks_for():
    schedule = ScheduleTable.model_validate({"start": "2026-04-01"})
    from dataclasses import replace

    walled = replace(GROUND, wall_needs_permit=True)
    sites = [
        facts("dry", measured={"wetland": 300.0}),
        facts("wet", measured={"wetland": 5.0}),
        facts("unknown", ground=walled, needs=("a floodplain permit and an engineer's review",)),
    ]
    funds = [_fund("grant", 100_000, spend_by="2027-01-31")]
    plan = plan_of(
        sites, {}, charter=None, limits=(), funds=funds, schedule=schedule,
        steps=book_of(cost_table()).steps,
    )  # fmt: skip
    assert plan.calendars["dry"].opens < plan.calendars["wet"].opens
    named = {step.only for step in plan.calendars["unknown"].steps}
    assert named == {"", "floodplain", "wall"}
    assert plan.wetland_unknown == {"unknown"}
    assert plan.deadlines == (("grant: spent", dt.date(2027, 1, 31)),)
