"""Curves moved, criteria left out, methods, weakest links, doubles, regret, dominance."""

import numpy as np
import pandas as pd
import pytest

from playsite.criteria._contract import Measured
from playsite.criteria._curve import Curve, Knot
from playsite.ranking.dominance import dominators, has_more_of
from playsite.ranking.firmness import (
    knots_moved,
    left_out,
    ranks_by_method,
    regrets,
    score_bounds,
    shared_errors,
    told_twice,
    weakest_links,
)
from playsite.ranking.scores import ranks, totals
from playsite.units import Unit

RESTROOM = Curve.falling(ideal=60, acceptable=120, poor=200, unit=Unit.METRE, source="")
SHADE = Curve.rising(poor=5, acceptable=15, ideal=30, unit=Unit.PERCENT, source="")


class _Chosen:
    """What a bound reads of a criterion in use."""

    def __init__(self, name, curve, shared_error=0.0):
        self.name, self.curve, self.shared_error = name, curve, shared_error


def _frame(rows, columns="abc"):
    return pd.DataFrame(rows, columns=list(columns), index=list("ABCDEFGH")[: len(rows)])


def test_deleting_the_hopeless_candidate_changes_no_order():
    # Golden case of the trade (common practice, no source): A (60, 20), B (100, 40), C (400, 40),
    # E (100, 95), restroom in metres and shade in percent.
    values = pd.DataFrame(
        {"restroom": [60, 100, 400, 100], "shade": [20, 40, 40, 95]}, index=list("ABCE")
    )
    scores = values.assign(
        restroom=RESTROOM.score(values["restroom"]), shade=SHADE.score(values["shade"])
    )
    weights = {"restroom": 1, "shade": 2}
    whole, fewer = totals(scores, weights), totals(scores.drop(index="C"), weights)
    assert whole["score"].drop("C").tolist() == fewer["score"].tolist()
    assert ranks(fewer["score"])["A"] > ranks(fewer["score"])["B"]
    for table in (
        ranks_by_method(scores, weights),
        ranks_by_method(scores.drop(index="C"), weights),
    ):
        assert (table.loc["B"] <= table.loc["A"]).all()


def test_a_missing_layer_is_an_interval_not_a_full_score():
    # Golden case of the trade (common practice, no source): no wetland layer.
    scores = pd.DataFrame({"wetland": [np.nan, np.nan], "shade": [0.8, 0.4]}, index=["A", "B"])
    total = totals(scores, {"wetland": 1, "shade": 1})
    assert total.loc["A", ["score_low", "score", "score_high"]].tolist() == [0.4, 0.65, 0.9]
    assert total["known_share"].tolist() == [0.5, 0.5]


def test_a_site_dominated_on_everything_is_told_with_the_best_that_does():
    scores = _frame([[0.9, 0.9, 0.5], [0.8, 0.8, 0.4], [0.7, 0.8, 0.4], [0.1, 0.1, 0.9]])
    by = dominators(scores, {"a": 1, "b": 1, "c": 1})
    assert by.fillna("").tolist() == ["", "A", "A", ""]


def test_equal_sites_do_not_dominate_each_other():
    assert dominators(_frame([[0.5, 0.5, 0.5]] * 2), dict.fromkeys("abc", 1)).isna().all()


def test_what_is_unknown_counts_against_a_dominance():
    weights = dict.fromkeys("abc", 1)
    dominated = dominators(_frame([[0.9, 0.9, 0.9], [0.1, 0.1, np.nan]]), weights)
    assert dominated.isna().all()
    sure = dominators(_frame([[0.9, 0.9, 1.0], [0.1, 0.1, np.nan]]), weights)
    assert sure.fillna("").tolist() == ["", "A"]
    nowhere = dominators(_frame([[0.9, 0.9, np.nan], [0.1, 0.1, np.nan]]), weights)
    assert nowhere.fillna("").tolist() == ["", "A"]


def test_a_criterion_of_no_weight_saves_nobody_from_dominance():
    by = dominators(_frame([[0.9, 0.9, 0.1], [0.1, 0.1, 0.9]]), {"a": 1, "b": 1, "c": 0})
    assert by.fillna("").tolist() == ["", "A"]


@pytest.mark.parametrize("criteria", [2, 4, 30, 70])
def test_dominance_is_what_a_look_at_every_pair_finds(criteria):
    rng = np.random.default_rng(criteria)
    quality = rng.uniform(size=(250, 1))
    drawn = np.clip(quality + rng.normal(0, 0.15, (250, criteria)), 0, 1).round(1)
    drawn[rng.uniform(size=drawn.shape) < 0.01] = np.nan
    scores = pd.DataFrame(drawn, columns=[f"c{k}" for k in range(criteria)])
    scores.index = scores.index.astype(str)
    low, high = scores.fillna(0).to_numpy(), scores.fillna(1).to_numpy()
    all_as_good = (low[:, None] >= high[None]).all(axis=2)
    beaten = (all_as_good & (low[:, None] > high[None]).any(axis=2)).any(axis=0)
    by = dominators(scores, dict.fromkeys(scores.columns, 1))
    assert by.notna().to_numpy().tolist() == beaten.tolist()
    assert 0 < beaten.sum() < 250
    for site, other in by.dropna().items():
        assert (low[int(other)] >= high[int(site)]).all()


def test_what_the_one_behind_has_more_of():
    scores = _frame([[0.9, 0.4, np.nan], [0.5, 0.8, 0.7]])
    table = has_more_of(scores, {"a": 2, "b": 1, "c": 1}, one="B", other="A")
    assert table["criterion"].tolist() == ["b"]
    assert table["lead"].tolist() == pytest.approx([0.4])
    assert table["points"].tolist() == pytest.approx([0.1])


def test_knots_moved_by_a_fifth_turn_a_lead_that_hangs_on_them():
    # by hand: A has .75 from 90 m to a restroom, B has .7 from 21 % of shade
    reads = pd.DataFrame({"restroom": [90.0, 260.0], "shade": [5.0, 21.0]}, index=["A", "B"])
    curves, weights = {"restroom": RESTROOM, "shade": SHADE}, {"restroom": 1, "shade": 1}
    table = knots_moved(reads, curves, weights).set_index(["criterion", "change"])
    assert table.loc[("restroom", "knots +20 %")].tolist() == ["A", 1]
    # knots at 48, 96, 160 give A .5625; B has .7 from shade
    assert table.loc[("restroom", "knots -20 %")].tolist() == ["B", 2]
    # knots at 4, 12, 24 give B .875, and A .75 and .0625
    assert table.loc[("shade", "knots -20 %")].tolist() == ["B", 2]


def test_a_criterion_left_out_turns_the_lead_that_it_made():
    table = left_out(_frame([[1.0, 0.5, 0.4], [0.2, 0.6, 0.5]]), {"a": 1, "b": 1, "c": 1})
    assert table["leader"].tolist() == ["B", "A", "A"]
    assert table["present_leader_rank"].tolist() == [2, 1, 1]
    assert left_out(_frame([[1.0], [0.5]], "a"), {"a": 1}).empty


def test_a_weak_link_cannot_hide_in_a_product_or_behind_the_worst():
    scores = _frame([[1.0, 1.0, 0.0], [0.5, 0.6, 0.5]])
    table = ranks_by_method(scores, dict.fromkeys("abc", 1))
    assert table.loc["A"].tolist() == [1, 2, 2]
    assert weakest_links(scores, dict.fromkeys("abc", 1)).loc["A"].tolist() == ["c", 0.0]


def test_of_equal_weak_links_the_heaviest_is_told_and_of_nothing_nothing():
    scores = _frame([[0.5, 0.5, 0.9], [np.nan, np.nan, np.nan], [np.nan, 0.7, 0.8]])
    links = weakest_links(scores, {"a": 1, "b": 2, "c": 1})["weakest"]
    assert links.iloc[[0, 2]].tolist() == ["b", "b"]
    assert links.isna().tolist() == [False, True, False]


def test_criteria_that_order_the_sites_alike_are_told():
    rising = np.array([0.1, 0.2, 0.3, 0.4, 0.9])
    scores = pd.DataFrame(
        {
            "walk": rising,
            "bus": rising**2,
            "slope": 1 - rising,
            "flat": 0.5,
            "shade": [4, 1, 5, 2, 3],
        }
    )
    told = told_twice(scores, dict.fromkeys(scores.columns, 1))
    assert told[["one", "other"]].to_numpy().tolist() == [
        ["walk", "bus"],
        ["walk", "slope"],
        ["bus", "slope"],
    ]
    assert told["correlation"].tolist() == pytest.approx([1, -1, -1])
    assert told["sites"].tolist() == [5, 5, 5]


def test_the_site_of_least_regret_may_be_nobody_s_first():
    scores = _frame([[1.0, 0.0], [0.0, 1.0], [0.8, 0.8]], "ab")
    sets = pd.DataFrame({"a": [9, 1], "b": [1, 9]}, index=["one", "other"])
    table = regrets(scores, sets)
    assert table["one"].tolist() == pytest.approx([0, 0.8, 0.1])
    assert table["regret_max"].tolist() == pytest.approx([0.8, 0.8, 0.1])


def test_bounds_of_a_score_look_at_the_knots_inside_the_interval():
    peaked = Curve((Knot("few", 0, 0), Knot("best", 40, 1), Knot("many", 80, 0)), Unit.PERCENT)
    values = pd.Series([30.0, 70.0, np.nan])
    got = Measured(values, low=values - 10, high=values + 20)
    low, high = score_bounds({"shade": got}, [_Chosen("shade", peaked)])
    assert low["shade"].tolist()[:2] == pytest.approx([0.5, 0.0])
    assert high["shade"].tolist()[:2] == pytest.approx([1.0, 0.5])
    assert low["shade"].isna().tolist() == high["shade"].isna().tolist() == [False, False, True]


def test_a_shared_error_has_the_sign_in_which_the_score_moves():
    peaked = Curve((Knot("few", 0, 0), Knot("best", 40, 1), Knot("many", 80, 0)), Unit.PERCENT)
    values = pd.Series([20.0, 60.0, 40.0, np.nan])
    got = Measured(values, low=values - 10, high=values + 10)
    told = shared_errors({"shade": got}, [_Chosen("shade", peaked, 0.25)])["shade"]
    assert told.tolist() == [0.5, -0.5, 0.0, 0.0]


def test_bounds_follow_what_the_curve_reads():
    way = pd.Series([100.0, np.inf])
    ratio = pd.Series([1.0, np.inf])
    curve = Curve.rising(poor=0.5, acceptable=1, ideal=2, unit=Unit.RATIO, source="")
    got = Measured(way, low=way - 25, high=way + 50, reads=ratio)
    low, high = score_bounds({"traffic": got}, [_Chosen("traffic", curve)])
    assert low["traffic"].tolist() == [0.25, 1]
    assert high["traffic"].tolist() == [0.75, 1]
