"""Laws of how firm a ranking is, tried on chance tables."""

import numpy as np
import pandas as pd
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from playsite.ranking.dominance import dominators
from playsite.ranking.firmness import ranks_by_method, regrets
from playsite.ranking.lead_changes import lead_changes
from playsite.ranking.near_ties import drawn_totals, probability_ahead
from playsite.ranking.robustness import pairs_table
from playsite.ranking.scores import totals
from playsite.ranking.shares import all_weightings, rank_shares, share_ahead, weightings_around

NAMES = ["a", "b", "c", "d"]
SCORES = st.integers(0, 20).map(lambda n: n / 20)
TABLES = st.integers(2, 8).flatmap(lambda rows: arrays(float, (rows, 4), elements=SCORES))
WEIGHTS = st.lists(st.integers(1, 100), min_size=4, max_size=4).map(
    lambda drawn: dict(zip(NAMES, drawn, strict=True))
)


def _frame(table):
    return pd.DataFrame(table, columns=NAMES, index=[f"p{i}" for i in range(len(table))])


def _drawn(weights):
    return weightings_around(weights, count=200)


@given(TABLES, WEIGHTS)
def test_one_candidate_less_takes_no_first_place_from_another(table, weights):
    whole = rank_shares(_frame(table), _drawn(weights))
    fewer = rank_shares(_frame(table[:-1]), _drawn(weights))
    assert (fewer[1] >= whole[1].iloc[:-1]).all()


@given(TABLES, WEIGHTS)
def test_a_candidate_worse_than_another_on_everything_changes_no_first_place(table, weights):
    scores = _frame(table)
    scores.loc["worse"] = scores.loc["p0"] - 0.05
    whole = rank_shares(scores, _drawn(weights))
    assert whole.loc["worse", 1] == 0
    assert whole[1].drop("worse").equals(rank_shares(_frame(table), _drawn(weights))[1])
    assert pd.notna(dominators(scores, weights)["worse"])


@given(TABLES, WEIGHTS, st.randoms())
def test_the_order_of_rows_changes_no_share_and_no_dominance(table, weights, chance):
    scores = _frame(table)
    order = list(scores.index)
    chance.shuffle(order)
    turned = scores.loc[order]
    shares = rank_shares(scores, _drawn(weights))
    assert rank_shares(turned, _drawn(weights)).loc[scores.index].equals(shares)
    told = dominators(turned, weights).loc[scores.index].notna()
    assert told.equals(dominators(scores, weights).notna())


@given(TABLES, WEIGHTS, st.integers(2, 50))
def test_all_weights_times_a_number_change_no_share_and_no_factor(table, weights, times):
    scores = _frame(table)
    more = {name: times * weight for name, weight in weights.items()}
    assert np.allclose(_drawn(weights), _drawn(more), atol=1e-15)
    pair = {"ahead": "p0", "behind": "p1"}
    one, other = lead_changes(scores, weights, **pair), lead_changes(scores, more, **pair)
    assert one["criterion"].tolist() == other["criterion"].tolist()
    assert np.allclose(one["factor"], other["factor"], rtol=1e-9)


@given(TABLES, WEIGHTS)
def test_a_factor_put_back_in_gives_a_tie(table, weights):
    scores = _frame(table)
    changes = lead_changes(scores, weights, ahead="p0", behind="p1")
    for name, factor in zip(changes["criterion"], changes["factor"], strict=True):
        score = totals(scores, weights | {name: weights[name] * factor})["score"]
        assert abs(score["p0"] - score["p1"]) <= 2e-9


@given(TABLES, WEIGHTS)
def test_where_no_factor_turns_the_order_no_weight_of_one_criterion_does(table, weights):
    scores = _frame(table)
    score = totals(scores, weights)["score"]
    assume(score["p0"] > score["p1"])
    changes = set(lead_changes(scores, weights, ahead="p0", behind="p1")["criterion"])
    for name in set(NAMES) - changes:
        for factor in (1e-6, 0.5, 2, 1e6):
            moved = totals(scores, weights | {name: weights[name] * factor})["score"]
            assert moved["p0"] >= moved["p1"]


@given(TABLES)
def test_the_exact_shares_of_a_pair_add_up_to_one(table):
    forth, back = share_ahead(table[0], table[1]), share_ahead(table[1], table[0])
    assert abs(forth + back - 1) <= 1e-12


@settings(max_examples=30, deadline=None)
@given(TABLES)
def test_sampled_shares_of_a_pair_agree_with_the_exact_ones(table):
    drawn = all_weightings(dict.fromkeys(NAMES, 1), count=4000)
    gap = drawn.to_numpy() @ (table[0] - table[1])
    sampled = ((gap > 1e-12).mean() + (np.abs(gap) <= 1e-12).mean() / 2) if len(gap) else 0
    exact = share_ahead(table[0], table[1])
    assert abs(sampled - exact) <= 5 * np.sqrt(max(exact * (1 - exact), 1e-4) / 4000)


@given(TABLES, WEIGHTS)
def test_better_on_every_criterion_ranks_no_lower_by_any_method(table, weights):
    scores = _frame(table)
    scores.loc["better"] = np.minimum(scores.loc["p0"] + 0.05, 1)
    ranks = ranks_by_method(scores, weights)
    assert (ranks.loc["better"] <= ranks.loc["p0"]).all()


@given(TABLES, WEIGHTS)
def test_the_best_under_every_set_regrets_nothing_and_nobody_less(table, weights):
    scores = _frame(table)
    regret = regrets(scores, pd.DataFrame([weights, dict.fromkeys(NAMES, 1)]))
    assert (regret.to_numpy() >= 0).all()
    assert (regret[[0, 1]].min() == 0).all()
    lower = regrets(scores, pd.DataFrame([weights]))["regret_max"]
    assert (regret["regret_max"] >= lower).all()


@settings(max_examples=30, deadline=None)
@given(TABLES, WEIGHTS)
def test_the_chances_of_a_pair_add_up_to_one_and_need_no_third(table, weights):
    scores = _frame(table)
    ends = (scores - 0.1).clip(0, 1), (scores + 0.1).clip(0, 1)
    drawn = drawn_totals(scores, *ends, weights, count=500)
    there = probability_ahead(drawn, "p0", "p1")
    assert abs(there + probability_ahead(drawn, "p1", "p0") - 1) <= 1e-12
    two = drawn_totals(scores.iloc[:2], *ends, weights, count=500)
    assert probability_ahead(two, "p0", "p1") == there


@settings(max_examples=30, deadline=None)
@given(TABLES, WEIGHTS)
def test_pairs_stand_in_the_order_of_their_scores(table, weights):
    scores = _frame(table)
    pairs = pairs_table(scores, None, None, weights, count=10)
    score = totals(scores, weights)["score"]
    assert len(pairs) == len(scores) * (len(scores) - 1) // 2
    gap = score[pairs["ahead"]].to_numpy() - score[pairs["behind"]].to_numpy()
    assert (gap >= 0).all()
    # with no error in doubt one is ahead for sure, or they are level
    assert pairs["probability"].tolist() == np.where(gap > 1e-8, 1.0, 0.5).tolist()
