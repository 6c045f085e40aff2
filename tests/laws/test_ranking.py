"""Laws that every ranking keeps, tried on chance tables."""

import numpy as np
import pandas as pd
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from playsite.ranking.scores import ranks, totals

SCORES = st.floats(0, 1, width=32)
TABLES = st.integers(2, 8).flatmap(lambda rows: arrays(float, (rows, 4), elements=SCORES))
WEIGHTS = st.lists(st.floats(0.1, 10), min_size=4, max_size=4)
NAMES = ["a", "b", "c", "d"]


def _totals(table, weights):
    frame = pd.DataFrame(table, columns=NAMES)
    return totals(frame, dict(zip(NAMES, weights, strict=True)))["score"]


@given(TABLES, WEIGHTS)
def test_ten_times_all_weights_changes_nothing(table, weights):
    ten = _totals(table, [10 * weight for weight in weights])
    assert np.allclose(_totals(table, weights), ten, atol=2e-9)


@given(TABLES, WEIGHTS, st.randoms())
def test_the_order_of_rows_changes_nothing(table, weights, chance):
    order = list(range(len(table)))
    chance.shuffle(order)
    score = _totals(table, weights)
    assert _totals(table[order], weights).tolist() == score.iloc[order].tolist()


@given(TABLES, WEIGHTS)
def test_one_candidate_less_never_swaps_two_others(table, weights):
    whole, fewer = _totals(table, weights), _totals(table[1:], weights)
    assert whole.iloc[1:].tolist() == fewer.tolist()


@given(TABLES, WEIGHTS)
def test_better_on_every_criterion_never_ranks_lower(table, weights):
    better = np.minimum(table[:1] + 0.05, 1.0)
    score = _totals(np.vstack([table, better]), weights)
    rank = ranks(score)
    assert rank.iloc[-1] <= rank.iloc[0]


@given(TABLES, WEIGHTS, st.integers(0, 3))
def test_an_interval_holds_every_value_that_the_unknown_could_have(table, weights, hidden):
    frame = pd.DataFrame(table, columns=NAMES)
    weight = dict(zip(NAMES, weights, strict=True))
    true = totals(frame, weight)["score"]
    frame[NAMES[hidden]] = np.nan
    interval = totals(frame, weight)
    assert (interval["score_low"] <= true + 2e-9).all()
    assert (interval["score_high"] >= true - 2e-9).all()
