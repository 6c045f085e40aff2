"""Near-ties by joint draws, the weight that turns a lead, and what to measure next."""

import numpy as np
import pandas as pd
import pytest
from scipy.stats import norm

from playsite.ranking.lead_changes import lead_changes, lead_lost
from playsite.ranking.near_ties import (
    askable,
    best_measurements,
    drawn_totals,
    normal_probability_ahead,
    probability_ahead,
    score_intervals,
)
from playsite.ranking.robustness import (
    PAIR_COLUMNS,
    ROBUSTNESS_COLUMNS,
    pairs_table,
    robustness_table,
)
from playsite.ranking.scores import totals
from playsite.ranking.shares import rank_shares, weightings_around

Z95 = norm.ppf(0.95)


def _pair(errors=(0.05, 0.04), scores=(0.72, 0.69)):
    middle = pd.DataFrame({"grade": scores}, index=["A", "B"], dtype=float)
    reach = Z95 * pd.DataFrame({"grade": errors}, index=["A", "B"])
    return middle, middle - reach, middle + reach


def _common(shared, signs=(1, 1)):
    return pd.DataFrame({"grade": np.sqrt(shared) * np.array(signs)}, index=["A", "B"])


@pytest.mark.parametrize(("shared", "told"), [(0.6, 0.767), (0.0, 0.680)])
def test_joint_draws_agree_with_the_normal_formula(shared, told):
    # Normal law of a difference (common knowledge): Phi(.03 / sqrt(.05^2 + .04^2 - 2 r .05 .04)).
    formula = normal_probability_ahead(
        0.03, error_ahead=0.05, error_behind=0.04, correlation=shared
    )
    assert round(formula, 3) == told
    drawn = drawn_totals(*_pair(), {"grade": 1}, common=_common(shared), count=40_000)
    sampled = probability_ahead(drawn, "A", "B")
    assert abs(sampled - formula) <= 4 * np.sqrt(formula * (1 - formula) / 40_000)


def test_a_shared_error_that_moves_two_scores_apart_makes_them_harder_to_tell():
    # one lies below the best of a peaked curve and the other above it: the correlation is negative
    formula = normal_probability_ahead(0.03, error_ahead=0.05, error_behind=0.04, correlation=-0.6)
    drawn = drawn_totals(*_pair(), {"grade": 1}, common=_common(0.6, (1, -1)), count=40_000)
    sampled = probability_ahead(drawn, "A", "B")
    assert abs(sampled - formula) <= 4 * np.sqrt(formula * (1 - formula) / 40_000)


def test_shared_and_own_errors_of_several_criteria_add_up_as_the_normal_law_says():
    rng = np.random.default_rng(3)
    names, index, share = list("abc"), ["A", "B"], np.array([0.5, 0.3, 0.2])
    scores = pd.DataFrame(rng.uniform(0.4, 0.6, (2, 3)), columns=names, index=index)
    error = pd.DataFrame(rng.uniform(0.02, 0.08, (2, 3)), columns=names, index=index)
    shared = np.array([0.8, 0.5, 0.0])
    common = pd.DataFrame([np.sqrt(shared)] * 2, columns=names, index=index)
    ends = scores - Z95 * error, scores + Z95 * error
    weights = dict(zip(names, share, strict=True))
    drawn = drawn_totals(scores, *ends, weights, common=common, count=40_000)
    # of normal errors: each variance, and the covariance of what is shared
    variance = (share**2 * error**2).sum(axis=1)
    covariance = float((share**2 * shared * error.prod()).sum())
    told = np.cov(drawn.to_numpy().T)
    deviation = 4 * np.sqrt((variance["A"] * variance["B"] + covariance**2) / 40_000)
    assert abs(told[0, 1] - covariance) <= deviation
    one, other = drawn.columns[:2]
    formula = normal_probability_ahead(
        float((scores.loc[one] - scores.loc[other]) @ share),
        error_ahead=float(np.sqrt(variance[one])),
        error_behind=float(np.sqrt(variance[other])),
        correlation=covariance / float(np.sqrt(variance["A"] * variance["B"])),
    )
    sampled = probability_ahead(drawn, one, other)
    assert abs(sampled - formula) <= 4 * np.sqrt(formula * (1 - formula) / 40_000)


def test_what_one_site_alone_shares_and_what_is_unknown_is_drawn_for_each():
    middle, low, high = _pair()
    visited = _common(0.9).where(middle.index.to_series().eq("B"), 0.0)
    assert visited.loc["A", "grade"] == 0.0
    drawn = drawn_totals(middle, low, high, {"grade": 1}, common=visited, count=40_000)
    assert abs(np.corrcoef(drawn.to_numpy().T)[0, 1]) <= 4 / np.sqrt(40_000)
    nothing = middle * np.nan
    ends = middle * 0, middle * 0 + 1
    drawn = drawn_totals(nothing, *ends, {"grade": 1}, common=_common(1.0), count=40_000)
    assert abs(np.corrcoef(drawn.to_numpy().T)[0, 1]) <= 4 / np.sqrt(40_000)


def test_no_error_leaves_no_doubt_and_a_tie_is_even():
    assert normal_probability_ahead(0.1, error_ahead=0.1, error_behind=0.1, correlation=1) == 1
    assert normal_probability_ahead(0.0, error_ahead=0, error_behind=0) == 0.5
    sure = drawn_totals(_pair()[0], None, None, {"grade": 1}, count=10)
    assert probability_ahead(sure, "A", "B") == 1
    even = drawn_totals(_pair(scores=(0.5, 0.5))[0], None, None, {"grade": 1}, count=10)
    assert probability_ahead(even, "A", "B") == 0.5


def test_the_interval_of_one_score_is_the_one_it_was_drawn_from():
    middle, low, high = _pair()
    ends = score_intervals(drawn_totals(middle, low, high, {"grade": 3}, count=40_000))
    # error of a sampled 5th percentile: sqrt(.05 x .95 / n) / density
    error = np.sqrt(0.05 * 0.95 / 40_000) / norm.pdf(Z95) * np.array([0.05, 0.04])
    assert (np.abs(ends["p5"] - low["grade"]) <= 4 * error).all()
    assert (np.abs(ends["p95"] - high["grade"]) <= 4 * error).all()


def test_an_unknown_score_is_drawn_from_nothing_to_all():
    scores = pd.DataFrame({"wetland": [np.nan]}, index=["A"])
    drawn = drawn_totals(scores, None, None, {"wetland": 1}, count=40_000)["A"]
    assert abs(drawn.mean() - 0.5) <= 4 / np.sqrt(12 * 40_000)
    assert drawn.std() == pytest.approx(1 / np.sqrt(12), rel=0.02)


def test_the_draws_of_a_site_are_its_own_whoever_else_is_there():
    middle, low, high = _pair()
    both = drawn_totals(middle, low, high, {"grade": 1}, count=50)
    alone = drawn_totals(middle.loc[["B"]], low.loc[["B"]], high.loc[["B"]], {"grade": 1}, count=50)
    assert both["B"].equals(alone["B"])
    turned = drawn_totals(middle[::-1], low, high, {"grade": 1}, count=50)
    assert turned["A"].equals(both["A"])


# by hand: A (.9, .4, .6), B (.5, .8, .6), weights .5, .2, .3; criterion 2 must count 2.5 times as
# much, that is .3846 of all; both then have .63846
SCORES = pd.DataFrame([[0.9, 0.4, 0.6], [0.5, 0.8, 0.6]], columns=list("abc"), index=["A", "B"])
WEIGHTS = {"a": 0.5, "b": 0.2, "c": 0.3}


def test_the_weight_that_turns_a_lead_by_hand():
    row = lead_changes(SCORES, WEIGHTS, ahead="A", behind="B").set_index("criterion").loc["b"]
    assert row.tolist() == pytest.approx([2.5, 0.384615], abs=1e-6)
    tie = totals(SCORES, WEIGHTS | {"b": 0.5})["score"]
    assert tie.round(5).tolist() == [0.63846, 0.63846]


def test_a_dominated_rival_and_a_tie_have_no_such_weight():
    worse = SCORES.assign(b=[0.8, 0.4])
    assert lead_changes(worse, WEIGHTS, ahead="A", behind="B").empty
    even = pd.DataFrame([[0.2, 0.8], [0.8, 0.2]], columns=list("ab"), index=["A", "B"])
    assert lead_changes(even, {"a": 1, "b": 1}, ahead="A", behind="B").empty
    assert lead_lost(even, {"a": 1, "b": 1}).empty


def test_the_lead_is_lost_to_the_rival_that_comes_first():
    scores = pd.concat([SCORES, pd.DataFrame({"a": [0.5], "b": [1.0], "c": [0.6]}, index=["C"])])
    table = lead_lost(scores, WEIGHTS)
    up = table[table["factor"] > 1]
    assert up[["criterion", "rival"]].to_numpy().tolist() == [["b", "C"]]
    # (.5 x .4) / (.2 x .6)
    assert up["factor"].tolist() == pytest.approx([5 / 3])
    down = table[table["factor"] < 1]
    assert down[["criterion", "rival"]].to_numpy().tolist() == [["a", "C"]]
    assert down["factor"].tolist() == pytest.approx([0.6])


def test_the_best_measurement_is_worth_what_draws_say():
    # Raiffa and Schlaifer 1961 (from memory): here against plain draws of measuring and choosing.
    middle, low, high = _pair()
    told = best_measurements(middle, low, high, {"grade": 1}, ahead="A", behind="B")
    assert told["parcel_id"].tolist() == ["A", "B"]
    rng = np.random.default_rng(0)
    for s, left, row in zip((0.05, 0.04), (0.04, 0.05), told.itertuples(), strict=True):
        gap = 0.03 + s * rng.standard_normal(1_000_000)
        won = np.maximum(gap, 0) - gap
        assert abs(won.mean() - row.gain) <= 4 * won.std() / 1000
        assert abs((gap < 0).mean() - row.turns) <= 4 * np.sqrt(row.turns * (1 - row.turns)) / 1000
        # what the other site's error leaves open, once this one is known
        apart = np.maximum(norm.cdf(gap / left), norm.cdf(-gap / left)) >= 0.75
        error = np.sqrt(row.settles * (1 - row.settles)) / 1000
        assert abs(apart.mean() - row.settles) <= 4 * error


def test_the_only_doubtful_value_settles_the_order_for_sure():
    middle, low, high = _pair(errors=(0.05, 0.0))
    told = best_measurements(middle, low, high, {"grade": 1}, ahead="A", behind="B")
    assert told["parcel_id"].tolist() == ["A"]
    assert told["settles"].tolist() == pytest.approx([1.0])


def test_a_lopsided_interval_counts_by_what_is_to_be_expected():
    # ahead by its likeliest value, and more likely behind: draws and formula agree near enough
    scores = pd.DataFrame({"soil": [0.60, 0.57]}, index=["A", "B"])
    low, high = scores.assign(soil=[0.3, 0.57]), scores.assign(soil=[0.65, 0.57])
    own = drawn_totals(scores, low, high, {"soil": 1}, count=40_000)["A"].to_numpy()
    row = best_measurements(scores, low, high, {"soil": 1}, ahead="A", behind="B").iloc[0]
    assert row["turns"] > 0.5
    assert own.mean() < 0.57
    won = np.maximum(own - 0.57, 0)
    assert row["gain"] == pytest.approx(won.mean(), rel=0.2)
    assert row["turns"] == pytest.approx((own < 0.57).mean(), abs=0.2)


def test_what_is_shared_is_not_learnt_twice():
    middle, low, high = _pair(errors=(0.05, 0.05))
    both = {"ahead": "A", "behind": "B"}
    alone = best_measurements(middle, low, high, {"grade": 1}, **both)
    shared = best_measurements(middle, low, high, {"grade": 1}, **both, common=_common(0.8))
    assert (shared["gain"] < alone["gain"]).all()
    wholly = best_measurements(middle, low, high, {"grade": 1}, **both, common=_common(1.0))
    assert wholly.empty


def test_an_unknown_of_weight_comes_first_unless_it_takes_too_long():
    scores = pd.DataFrame({"grade": [0.7, 0.6], "soil": [np.nan, 0.7]}, index=["A", "B"])
    low, high = scores - 0.1, scores + 0.1
    ask = {"ahead": "A", "behind": "B"}
    weights = {"grade": 1, "soil": 1}
    first = best_measurements(scores, low, high, weights, **ask).iloc[0]
    assert first[["parcel_id", "criterion"]].tolist() == ["A", "soil"]
    slow = best_measurements(scores, low, high, weights, **ask, hours={"soil": 1e6}).iloc[0]
    assert slow["criterion"] == "grade"


def test_a_visit_is_not_asked_for_what_it_cannot_make_known():
    scores = pd.DataFrame({"traffic": [np.nan, 0.7], "soil": [0.6, 0.5]}, index=["A", "B"])
    low, high = scores - 0.1, scores + 0.1
    weights = {"traffic": 1, "soil": 1}
    told = best_measurements(scores, low, high, weights, ahead="A", behind="B")
    assert told["criterion"].iloc[0] == "traffic"
    left = askable(told, scores, {"traffic"})
    # the known one may be measured again: it moves in proportion
    assert left[["parcel_id", "criterion"]].to_numpy().tolist() == [
        row
        for row in told[["parcel_id", "criterion"]].to_numpy().tolist()
        if row != ["A", "traffic"]
    ]
    assert len(left) == 3
    assert askable(told, scores, ()).equals(told)


def test_two_sites_that_differ_by_less_than_the_error_are_not_separable():
    # Golden case of the trade (common practice, no source); the threshold is 0.75.
    near = pairs_table(*_pair(scores=(0.70, 0.69)), {"grade": 1})
    assert tuple(near.columns) == PAIR_COLUMNS
    assert near["separable"].tolist() == [False]
    far = pairs_table(*_pair(scores=(0.90, 0.60)), {"grade": 1})
    assert far["separable"].tolist() == [True]
    assert far[["ahead", "behind"]].to_numpy().tolist() == [["A", "B"]]


def _town(count, criteria=6, seed=0):
    drawn = np.random.default_rng(seed).uniform(size=(count, criteria))
    names = [f"c{k}" for k in range(criteria)]
    return pd.DataFrame(drawn, columns=names, index=[f"p{i}" for i in range(count)])


def test_a_large_town_has_a_bounded_table_of_pairs():
    scores = _town(3000)
    weights = dict.fromkeys(scores.columns, 1)
    table = pairs_table(scores, scores - 0.1, scores + 0.1, weights, count=200)
    assert len(table) == 12 * 11 // 2 + 100 - 11
    place = totals(scores, weights)["score"].rank(ascending=False)
    gap = place[table["behind"]].to_numpy() - place[table["ahead"]].to_numpy()
    assert (gap > 0).all()
    assert (gap[66:] == 1).all()


def test_a_site_dominated_on_everything_is_never_first_under_any_weights():
    # Golden case of the trade (common practice, no source).
    scores = _town(6)
    scores.loc["worse"] = scores.loc["p2"] - 0.01
    table = robustness_table(scores.clip(0, 1), dict.fromkeys(scores.columns, 1))
    assert tuple(table.columns) == ROBUSTNESS_COLUMNS
    row = table.set_index("parcel_id").loc["worse"]
    assert row["dominated_by"] in set(scores.index) - {"worse"}
    assert row["rank_1_share"] == 0
    wide = weightings_around(dict.fromkeys(scores.columns, 1), spread=1.0)
    assert rank_shares(scores, wide).loc["worse", 1] == 0


def test_the_table_says_what_its_parts_say():
    scores = _town(8, 3)
    weights = {"c0": 3, "c1": 2, "c2": 1}
    table = robustness_table(scores, weights).set_index("parcel_id")
    assert table.index.tolist() == scores.index.tolist()
    shares = rank_shares(scores, weightings_around(weights))
    assert table["rank_1_share"].tolist() == shares[1].tolist()
    assert table["top_3_share"].tolist() == shares.sum(axis=1).tolist()
    assert table["weakest"].tolist() == scores.idxmin(axis=1).tolist()
    alone = robustness_table(scores, weights, weight_sets=pd.DataFrame([weights]))
    best = totals(scores, weights)["score"]
    assert alone["regret_max"].tolist() == pytest.approx((best.max() - best).tolist())


def test_tables_of_one_site_and_of_none():
    one = robustness_table(pd.DataFrame({"a": [0.5]}, index=["A"]), {"a": 1})
    assert one[["rank_1_share", "top_3_share", "regret_max"]].to_numpy().tolist() == [[1, 1, 0]]
    none = pd.DataFrame({"a": []}, dtype=float)
    assert robustness_table(none, {"a": 1}).empty
    assert tuple(pairs_table(none, None, None, {"a": 1}).columns) == PAIR_COLUMNS
