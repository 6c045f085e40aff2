"""Shares of weightings: the exact recursion, the sampled shares, and the bounded search."""

import tracemalloc
from fractions import Fraction

import numpy as np
import pandas as pd
import pytest

from playsite.ranking.shares import (
    all_weightings,
    rank_shares,
    share_ahead,
    weightings_around,
)


def _power_formula(gap):
    """Share by the power formula in exact fractions (Ali 1973): only for distinct positive parts."""
    gap = [Fraction(d) for d in gap]
    share = Fraction(0)
    for h, x in enumerate(gap):
        if x > 0:
            below = Fraction(1)
            for i, d in enumerate(gap):
                below *= x - d if i != h else 1
            share += x ** (len(gap) - 1) / below
    return float(share)


def _table(rows, columns, seed=0):
    scores = np.random.default_rng(seed).uniform(size=(rows, columns))
    names = [f"c{k}" for k in range(columns)]
    return pd.DataFrame(scores, columns=names, index=[f"p{i}" for i in range(rows)])


def _plain(scores, weightings, depth):
    """Ranks one weighting at a time: rank is one more than how many are better."""
    counted = np.zeros((len(scores), depth))
    for weights in weightings.to_numpy():
        score = (scores[weightings.columns].to_numpy() @ weights).round(9)
        rank = (score[None, :] > score[:, None]).sum(axis=1)
        for site in np.flatnonzero(rank < depth):
            counted[site, rank[site]] += 1
    return counted / len(weightings)


@pytest.mark.parametrize("seed", range(20))
def test_the_recursion_is_the_power_formula_in_exact_fractions(seed):
    rng = np.random.default_rng(seed)
    gap = rng.uniform(-1, 1, rng.integers(2, 16))
    gap[rng.uniform(size=len(gap)) < 0.1] = 0.0
    assert share_ahead(gap, 0 * gap) == pytest.approx(_power_formula(gap), abs=1e-12)


def test_shares_that_can_be_told_by_hand():
    # Derived: a line cut in two; a corner of the triangle cut off half way along both sides.
    assert share_ahead([0.4, -0.6], [0, 0]) == pytest.approx(0.4, abs=1e-12)
    assert share_ahead([1, -1, -1], [0, 0, 0]) == pytest.approx(0.25, abs=1e-12)
    assert share_ahead([0.5, 0.2], [0.4, 0.2]) == 1
    assert share_ahead([0.4, 0.2], [0.5, 0.2]) == 0
    assert share_ahead([0.4, 0.2], [0.4, 0.2]) == 0.5


def test_what_is_unknown_has_no_exact_share():
    with pytest.raises(ValueError, match="fill it with its middle"):
        share_ahead([0.4, np.nan], [0.4, 0.2])


@pytest.mark.parametrize("criteria", [2, 5, 15])
def test_sampled_shares_of_a_pair_lie_within_four_standard_errors_of_the_exact_one(criteria):
    scores = _table(2, criteria, seed=criteria)
    drawn = all_weightings(dict.fromkeys(scores.columns, 1))
    exact = share_ahead(scores.loc["p0"], scores.loc["p1"])
    sampled = rank_shares(scores, drawn).loc["p0", 1]
    assert abs(sampled - exact) <= 4 * np.sqrt(exact * (1 - exact) / len(drawn))


@pytest.mark.parametrize(("sites", "criteria", "depth"), [(5, 3, 5), (300, 7, 3), (1500, 15, 4)])
@pytest.mark.parametrize("around", [True, False])
def test_blocks_passed_over_change_no_share(sites, criteria, depth, around):
    scores = _table(sites, criteria)
    weights = dict(zip(scores.columns, np.linspace(0.2, 1, criteria), strict=True))
    drawn = (weightings_around if around else all_weightings)(weights, count=200)
    assert np.array_equal(rank_shares(scores, drawn, depth=depth), _plain(scores, drawn, depth))


def test_equal_sites_share_a_rank_and_take_as_many_places_as_they_are():
    one = _table(400, 6)
    scores = pd.concat([one, one.iloc[:60], one.iloc[:60]], ignore_index=True)
    drawn = all_weightings(dict.fromkeys(one.columns, 1), count=300)
    shares = rank_shares(scores, drawn, depth=4)
    assert np.array_equal(shares, _plain(scores, drawn, 4))
    twins = pd.DataFrame({"a": [0.3, 0.1 + 0.2, 0.3, 0.2]})
    assert rank_shares(twins, all_weightings({"a": 1})).to_numpy().tolist() == [
        *[[1.0, 0.0, 0.0]] * 3,
        [0.0, 0.0, 0.0],
    ]


def test_batches_change_nothing():
    scores = _table(300, 5)
    drawn = all_weightings(dict.fromkeys(scores.columns, 1), count=500)
    assert rank_shares(scores, drawn, batch=70).equals(rank_shares(scores, drawn))


def test_no_table_of_sites_by_weightings_is_kept():
    scores = _table(20_000, 15)
    drawn = weightings_around(dict.fromkeys(scores.columns, 1), count=2_000)
    rank_shares(scores, drawn.iloc[:1])
    tracemalloc.start()
    rank_shares(scores, drawn)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    # the table would take 320 MB; the scores take 2.4 MB
    assert peak < 20 * scores.memory_usage().sum()


def test_what_is_unknown_stands_at_its_middle():
    scores = pd.DataFrame({"a": [np.nan, 0.5, 0.4]}, index=list("ABC"))
    assert rank_shares(scores, all_weightings({"a": 1}, count=10))[1].tolist() == [1, 1, 0]


def test_weightings_are_the_same_each_time_and_stay_in_their_bounds():
    weights = {"a": 6, "b": 3, "c": 0, "d": 1}
    drawn = weightings_around(weights, spread=0.3, count=1000)
    assert drawn.equals(weightings_around(weights, spread=0.3, count=1000))
    assert not drawn.equals(weightings_around(weights, spread=0.3, count=1000, seed=1))
    assert list(drawn.columns) == ["a", "b", "d"]
    assert np.allclose(drawn.sum(axis=1), 1, atol=1e-12)
    ratio = drawn["a"] / drawn["b"] / 2
    assert 0.7 / 1.3 <= ratio.min() < 0.65
    assert 1.6 < ratio.max() <= 1.3 / 0.7


def test_nobody_has_no_shares():
    nobody = rank_shares(pd.DataFrame({"a": []}), all_weightings({"a": 1}))
    assert nobody.shape == (0, 3)
