"""Surfacings over their lives: what falls when, and what may not be counted."""

import pytest
from made_up_costs import book_of, cost_table, seven_pieces

from playsite.cost.factors import single_present_value, uniform_present_value
from playsite.cost.life import life_of, lives_of, not_enough, pays_back_in

FT2 = 0.3048**2
AREA_M2 = 5140 * FT2


def _life(name, **given):
    cost = cost_table(**given)
    return life_of(name, AREA_M2, cost, book_of(cost))


def test_wood_fiber_is_cheaper_in_money_and_dearer_in_work_than_poured_in_place():
    # A worked example by common practice (no source) for 5,140 sq ft at 3 % over 20 years gives
    # wood fiber 23 thousand at first and 59 of upkeep, poured in place 108 and 75, and 52 for
    # inspection at 3,500 a year: the shipped ranges must hold the first three, and give the last.
    fiber, poured = _life("engineered wood fiber"), _life("poured in place")
    assert fiber.first[0] < 23_000 < fiber.first[2]
    assert fiber.upkeep[0] < 59_000 < fiber.upkeep[2]
    assert poured.first[0] < 108_000 < poured.first[2]
    assert poured.upkeep[0] < 75_000 < poured.upkeep[2]
    assert fiber.inspection[1] == poured.inspection[1] == pytest.approx(52_000, rel=0.01)
    assert fiber.worth[1] < poured.worth[1]
    assert "every week" in fiber.kept_by
    assert fiber.accessible.startswith("Only while")
    assert poured.accessible.startswith("Yes, while")


def test_each_work_is_worth_what_its_years_are():
    life = _life("engineered wood fiber")
    works = {work.what: work for work in life.works}
    yearly = works["raking and levelling, weekly"]
    assert yearly.worth[1] == pytest.approx(0.225 * 5140 * uniform_present_value(0.03, 20))
    renewed = works["digging out, new fabric and fill"]  # in year 10, and not again in year 20
    assert renewed.worth[1] == pytest.approx(renewed.each[1] * single_present_value(0.03, 10))
    tests = works["impact test"]
    years = (3, 6, 9, 12, 15, 18)
    assert tests.worth[1] == pytest.approx(1000 * sum(single_present_value(0.03, y) for y in years))
    assert life.worth[1] == pytest.approx(life.first[1] + life.upkeep[1] + life.inspection[1])
    even = life.a_year[1] * uniform_present_value(0.03, 20)
    assert even == pytest.approx(life.upkeep[1] + life.inspection[1])


def test_at_no_rate_and_no_growth_the_years_just_add_up():
    life = _life("sand", rate="0 %", years=5)
    assert life.inspection[1] == pytest.approx(5 * 3500)
    assert not [work for work in life.works if work.every > 5 and work.worth[1]]


def test_upkeep_that_grows_with_the_rate_is_worth_its_sum():
    life = _life("sand", rate="3 %", upkeep_growth="3 %")
    assert life.inspection[1] == pytest.approx(20 * 3500)


def test_all_surfacings_stand_cheapest_first():
    cost = cost_table()
    lives = lives_of(AREA_M2, cost, book_of(cost))
    assert {"engineered wood fiber", "loose rubber", "poured in place", "tiles"} <= {life.name for life in lives}  # fmt: skip
    worths = [life.worth[1] for life in lives]
    assert worths == sorted(worths)
    for life in lives:
        assert life.first[0] < life.first[1] < life.first[2]
        assert life.accessible
        assert life.kept_by


def test_what_does_not_protect_is_told_whatever_it_costs():
    # CPSC Pub. 325, Table 2 (in another's copy): sand to 4 ft, gravel to 5, mulch to 7, chips to
    # 10; wood fiber is not in it. The program's highest fall is the swings' pivot, 8 ft.
    highest_m, absent = not_enough(seven_pieces(), ("sand", "pea gravel", "wood mulch", "wood chips", "engineered wood fiber", "tiles"))  # fmt: skip
    assert highest_m == pytest.approx(8 * 0.3048)
    assert absent == ("sand", "pea gravel", "wood mulch")


def test_what_never_pays_back_is_said_so():
    assert pays_back_in((100.0, [5.0] * 9), (70.0, [5.0] * 9), 0.03) is None
    assert pays_back_in((70.0, [5.0] * 9), (100.0, [5.0] * 9), 0.03) == 0
