"""Money's factors and prices against published tables, public reports and closed forms."""

import numpy as np
import pytest

from playsite.cost.draws import percentiles, shares, triangular
from playsite.cost.factors import (
    capital_recovery,
    escalated_uniform_present_value,
    escalation,
    single_present_value,
    uniform_present_value,
)
from playsite.cost.life import pays_back_in, present_worth
from playsite.cost.prices import shipped_book

FOOT_M = 0.3048


# ASTM E917 and NIST Handbook 135, tables of discount factors (formulas read in GSA P100; the
# factors recomputed, 14.877 and 12.462 from memory).
@pytest.mark.parametrize(
    ("rate", "years", "factor"),
    [(0.03, 15, 0.083767), (0.03, 20, 0.067216), (0.05, 20, 0.080243), (0.07, 15, 0.109795)],
)
def test_capital_recovery(rate, years, factor):
    assert capital_recovery(rate, years) == pytest.approx(factor, abs=5e-7)


@pytest.mark.parametrize(("rate", "factor"), [(0.03, 14.877), (0.05, 12.462)])
def test_uniform_present_value_of_20_years(rate, factor):
    assert uniform_present_value(rate, 20) == pytest.approx(factor, abs=5e-4)


@pytest.mark.parametrize(("years", "factor"), [(20, 0.55368), (15, 0.64186)])
def test_single_present_value_at_3_percent(years, factor):
    assert single_present_value(0.03, years) == pytest.approx(factor, abs=5e-6)


def test_escalation_is_compounded():
    # City of Denton, Texas, report 2018-117: a 3 % cost inflator compounded annually.
    assert escalation(0.03, 15) == pytest.approx(1.558, abs=5e-4)


@pytest.mark.parametrize(
    ("rate", "growth"), [(0.03, 0.02), (0.05, 0.0), (0.03, 0.03), (0.02, 0.05)]
)
def test_a_growing_amount_is_worth_the_sum_of_its_years(rate, growth):
    # GSA P100: ((1+e)/(d-e)) [1-((1+e)/(1+d))^n], here against the sum that it is short for.
    added = sum((1 + growth) ** year / (1 + rate) ** year for year in range(1, 21))
    assert escalated_uniform_present_value(rate, growth, 20) == pytest.approx(added, rel=1e-12)


def test_a_rate_in_percent_is_refused():
    with pytest.raises(ValueError, match=r"a share a year, such as 0\.03"):
        single_present_value(30, 20)


# U.S. Access Board and National Center on Accessibility, Surfacing the Accessible Playground:
# average market cost 2009-2012, material only, dollars a square foot.
MATERIAL_ONLY = {
    "poured in place": (6.59, 19.0),
    "tiles": (8.96, 21.0),
    "engineered wood fiber": (0.74, 2.50),
}


@pytest.mark.parametrize("name", MATERIAL_ONLY)
def test_prices_of_surfacing_beside_the_access_boards_material_prices(name):
    low, high = MATERIAL_ONLY[name]
    book = shipped_book()
    kept = book.surfacing[name].material_only
    assert (kept.low, kept.high, kept.years) == (low, high, "2009-2012")
    laid = book.prices[name]
    laid_low, laid_high = (price * FOOT_M**2 for price in (laid.low, laid.high))
    # laid and fifteen years on, no price may lie under the material's of then; and brought to
    # 2025 at the shipped escalation the two ranges meet
    growth = book.prices["escalation a year"]
    assert laid_low > low
    assert laid_high > high
    assert low * escalation(growth.low, 13) < laid_high
    assert high * escalation(growth.high, 16) > laid_low


# City of Windsor, Ontario, playground report of about 2018: first cost and "Net Present Value - All
# Costs over 20 Years", Canadian dollars; rubber against sand (not wood fiber), three sizes.
WINDSOR = {
    "small": {"rubber": (173_757, 449_517), "sand": (129_783, 536_787)},
    "medium": {"rubber": (261_550, 605_952), "sand": (194_641, 671_731)},
    "large": {"rubber": (326_306, 670_708), "sand": (252_384, 731_011)},
}


@pytest.mark.parametrize("size", WINDSOR)
@pytest.mark.parametrize("rate", [0.02, 0.03, 0.05])
def test_windsors_surface_that_is_cheaper_at_first_is_dearer_over_20_years(size, rate):
    # The report tells no rate and no yearly upkeep: an even amount a year is derived from each
    # total, at rates round those that towns use.
    streams = {}
    for name, (first, total) in WINDSOR[size].items():
        yearly = [(total - first) * capital_recovery(rate, 20)] * 20
        assert present_worth(first, yearly, rate) == pytest.approx(total, abs=0.5)
        streams[name] = (first, yearly)
    rubber, sand = streams["rubber"], streams["sand"]
    assert sand[0] < rubber[0]
    assert present_worth(*sand, rate) > present_worth(*rubber, rate)
    assert 1 < pays_back_in(rubber, sand, rate) < 20
    # over its first year alone sand is still the cheaper
    assert present_worth(sand[0], sand[1][:1], rate) < present_worth(rubber[0], rubber[1][:1], rate)


def test_windsors_small_playground_implies_the_worth_of_its_upkeep():
    implied = {name: total - first for name, (first, total) in WINDSOR["small"].items()}
    assert implied == {"rubber": 275_760, "sand": 407_004}
    yearly = {name: worth / uniform_present_value(0.03, 20) for name, worth in implied.items()}
    for name, amount in yearly.items():
        assert present_worth(0.0, [amount] * 20, 0.03) == pytest.approx(implied[name], abs=0.5)


def test_percentiles_of_one_triangular_law():
    # Closed form: below the peak F(x) = (x - a)^2 / ((b - a)(c - a)).
    drawn = triangular(shares("one line"), 10.0, 20.0, 50.0)
    exact = (
        10 + np.sqrt(0.1 * 40 * 10),
        *(50 - np.sqrt((1 - p) * 40 * 30) for p in (0.5, 0.8, 0.9)),
    )
    assert percentiles(drawn) == pytest.approx(exact, rel=0.015)
    assert drawn.mean() == pytest.approx((10 + 20 + 50) / 3, rel=0.005)
    assert drawn.std() == pytest.approx(
        np.sqrt((100 + 400 + 2500 - 200 - 500 - 1000) / 18), rel=0.02
    )


def _irwin_hall_4(x):
    """Distribution of the sum of four even laws, for 2 <= x <= 4 by its symmetry."""
    rest = 4 - x
    return 1 - (rest**4 - 4 * np.maximum(rest - 1, 0) ** 4) / 24


def test_percentiles_of_a_sum_of_two_triangular_laws_that_are_free_of_each_other():
    # Derived: a symmetric triangular law is the sum of two even ones, so two of them are the
    # Irwin-Hall law of four, with a polynomial for its distribution.
    total = sum(triangular(shares(name), 0.0, 1.0, 2.0) for name in ("first", "second"))
    _, p50, p80, p90 = percentiles(total)
    assert _irwin_hall_4(np.array([p50, p80, p90])) == pytest.approx([0.5, 0.8, 0.9], abs=0.012)


def test_percentiles_of_a_sum_of_triangular_laws_that_move_as_one():
    # Derived: percentiles of laws that move as one add up, exactly.
    laws = [(0, 1, 2), (10, 12, 30), (5, 5, 9)]
    drawn = [
        triangular(shares(f"line {place}", correlation=1.0), *law) for place, law in enumerate(laws)
    ]
    alone = np.sum([percentiles(each) for each in drawn], axis=0)
    assert percentiles(sum(drawn)) == pytest.approx(alone, rel=1e-12)


def test_a_correlation_leaves_each_law_as_it_is_and_widens_the_sum():
    def spread(correlation):
        drawn = [
            triangular(shares(f"line {place}", correlation=correlation), 0, 1, 2)
            for place in range(20)
        ]
        assert np.mean([percentiles(each)[2] for each in drawn]) == pytest.approx(
            2 - np.sqrt(0.2 * 2), rel=0.02
        )
        return np.std(sum(drawn))

    # 20 laws of variance 1/6: sqrt(20/6) apart, 20/sqrt(6) as one
    assert spread(0.0) == pytest.approx(np.sqrt(20 / 6), rel=0.03)
    assert spread(0.0) < spread(0.5) < spread(1.0) == pytest.approx(20 / np.sqrt(6), rel=0.03)
