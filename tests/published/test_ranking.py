"""Rankings, counts and shares against published tables and closed forms."""

import itertools

import numpy as np
import pandas as pd
import pytest

from playsite.ranking.ballot_counts import (
    first_choices,
    pairwise_majority,
    pairwise_winner,
    positional_points,
)
from playsite.ranking.lead_changes import lead_changes
from playsite.ranking.rank_order import concordance, rank_order_centroid
from playsite.ranking.scores import ranks, totals
from playsite.ranking.shares import all_weightings, rank_shares, share_ahead

# Barron and Barrett 1996, Decision Quality Using Ranked Attribute Weights, Management Science 42.
# A table that goes round for four (48.33, 27.08, 14.58, 10.00 %) is wrong.
CENTROIDS = {
    2: [0.75, 0.25],
    3: [0.6111, 0.2778, 0.1111],
    4: [0.5208, 0.2708, 0.1458, 0.0625],
    5: [0.4567, 0.2567, 0.1567, 0.0900, 0.0400],
    6: [0.4083, 0.2417, 0.1583, 0.1028, 0.0611, 0.0278],
}


@pytest.mark.parametrize("count", CENTROIDS)
def test_rank_order_centroids(count):
    assert rank_order_centroid(count).round(4).tolist() == CENTROIDS[count]
    assert rank_order_centroid(count).sum() == pytest.approx(1, abs=1e-12)


@pytest.mark.parametrize("count", CENTROIDS)
def test_all_weightings_put_in_order_have_the_centroid_as_their_mean(count):
    # Derived: the centroid is the mean over the part of the simplex that has the order.
    drawn = all_weightings(dict.fromkeys(map(str, range(count)), 1.0)).to_numpy()
    ordered = -np.sort(-drawn, axis=1)
    error = ordered.std(axis=0) / np.sqrt(len(drawn))
    assert (np.abs(ordered.mean(axis=0) - rank_order_centroid(count)) <= 4 * error).all()


# The election of the capital of Tennessee, a textbook example: 42, 26, 15, 17 % of the votes.
ELECTION = (
    [
        ["Memphis", "Nashville", "Chattanooga", "Knoxville"],
        ["Nashville", "Chattanooga", "Knoxville", "Memphis"],
        ["Chattanooga", "Knoxville", "Nashville", "Memphis"],
        ["Knoxville", "Chattanooga", "Nashville", "Memphis"],
    ],
    [42, 26, 15, 17],
)


def test_positional_points_of_the_four_cities():
    points = {"Nashville": 194, "Chattanooga": 173, "Memphis": 126, "Knoxville": 107}
    assert positional_points(*ELECTION).to_dict() == points


def test_the_pairwise_winner_of_the_four_cities_is_not_the_one_with_most_first_choices():
    before = pairwise_majority(*ELECTION)
    assert pairwise_winner(before) == "Nashville"
    others = ["Memphis", "Chattanooga", "Knoxville"]
    assert before.loc["Nashville", others].tolist() == [58, 68, 68]
    assert before.loc[others, "Nashville"].tolist() == [42, 32, 32]
    assert first_choices(*ELECTION).idxmax() == "Memphis"
    assert (before.loc["Memphis"] < 50).all()


def test_a_cycle_has_no_pairwise_winner():
    # Condorcet's cycle (common knowledge): each of three loses to another by 2 to 1.
    ballots = [["A", "B", "C"], ["B", "C", "A"], ["C", "A", "B"]]
    before = pairwise_majority(ballots, [1, 1, 1])
    assert pairwise_winner(before) is None
    assert before.loc["A", "B"] == before.loc["B", "C"] == before.loc["C", "A"] == 2


def test_concordance_of_four_judges_on_three_items():
    # Proof wiki's example: rank sums 7, 9, 8, so S = 2 and W = 1/16.
    judges = [[1, 2, 3], [2, 3, 1], [1, 2, 3], [3, 2, 1]]
    assert np.sum(judges, axis=0).tolist() == [7, 9, 8]
    assert concordance(judges) == pytest.approx(1 / 16)


def test_concordance_of_three_executives_on_six_applicants():
    # Siegel 1956, Nonparametric Statistics (from memory): S = 25.5, W = .162.
    judges = [[1, 6, 3, 2, 5, 4], [1, 5, 6, 4, 2, 3], [6, 3, 2, 5, 4, 1]]
    assert concordance(judges) == pytest.approx(0.162, abs=5e-4)


def test_concordance_of_four_judges_on_five_items():
    # Rank sums 9, 7, 8, 18, 18: a worked answer in circulation prints .73; S is 122, W .7625.
    judges = [[1, 2, 3, 4, 5], [3, 2, 1, 4, 5], [2, 1, 3, 5, 4], [3, 2, 1, 5, 4]]
    assert np.sum(judges, axis=0).tolist() == [9, 7, 8, 18, 18]
    assert concordance(judges) == pytest.approx(0.7625)


# Four fighter aircraft by six criteria, the fourth a cost: Hwang and Yoon 1981, Multiple Attribute
# Decision Making. Totals recomputed (the book's, from memory: .835 .709 .852 .738).
AIRCRAFT = pd.DataFrame(
    [
        (2.0, 1500, 20000, 5.5, 5, 9),
        (2.5, 2700, 18000, 6.5, 3, 5),
        (1.8, 2000, 21000, 4.5, 7, 7),
        (2.2, 1800, 20000, 5.0, 5, 5),
    ],
    columns=list("abcdef"),
    index=["A1", "A2", "A3", "A4"],
)
AIRCRAFT_WEIGHTS = dict(zip("abcdef", (0.2, 0.1, 0.1, 0.1, 0.2, 0.3), strict=True))


def _aircraft_scores():
    scores = AIRCRAFT / AIRCRAFT.max()
    return scores.assign(d=AIRCRAFT["d"].min() / AIRCRAFT["d"])


def test_additive_weighting_of_the_four_aircraft():
    score = totals(_aircraft_scores(), AIRCRAFT_WEIGHTS)["score"]
    assert score.round(4).tolist() == [0.8355, 0.7073, 0.8514, 0.7374]
    assert score.index[ranks(score).argsort()].tolist() == ["A3", "A1", "A4", "A2"]


def test_the_weight_that_turns_the_aircraft_gives_a_tie_when_put_back_in():
    scores = _aircraft_scores()
    changes = lead_changes(scores, AIRCRAFT_WEIGHTS, ahead="A3", behind="A1")
    assert len(changes)
    for criterion, factor in zip(changes["criterion"], changes["factor"], strict=True):
        moved = AIRCRAFT_WEIGHTS | {criterion: factor * AIRCRAFT_WEIGHTS[criterion]}
        score = totals(scores, moved)["score"]
        assert score["A3"] == pytest.approx(score["A1"], abs=2e-9)


def test_acceptability_of_a_specialist_and_an_all_rounder():
    # Derived: (1, 0) beats (.6, .6) where its first weight is over .6, so for 40 % of weightings.
    # Central weights are the means over those: .80 and .30.
    scores = pd.DataFrame({"a": [1, 0.6], "b": [0, 0.6]}, index=["A", "B"])
    assert share_ahead([1, 0], [0.6, 0.6]) == pytest.approx(0.4, abs=1e-12)
    drawn = all_weightings({"a": 1, "b": 1})
    shares = rank_shares(scores, drawn, depth=2)
    assert abs(shares.loc["A", 1] - 0.4) <= 4 * np.sqrt(0.4 * 0.6 / len(drawn))
    assert shares.sum(axis=1).tolist() == pytest.approx([1, 1])
    won = drawn["a"] > 0.6
    for central, own in ((0.8, drawn["a"][won]), (0.3, drawn["a"][~won])):
        assert abs(own.mean() - central) <= 4 * own.std() / np.sqrt(len(own))


def test_acceptability_of_three_specialists():
    # Derived: each is first for a third; the central weights of the first are 11/18, 7/36, 7/36.
    scores = pd.DataFrame(np.eye(3), columns=list("abc"), index=list("ABC"))
    drawn = all_weightings(dict.fromkeys("abc", 1))
    first = rank_shares(scores, drawn)[1]
    assert (np.abs(first - 1 / 3) <= 4 * np.sqrt(2 / 9 / len(drawn))).all()
    won = drawn[drawn.idxmax(axis=1) == "a"]
    for name, central in zip("abc", (11 / 18, 7 / 36, 7 / 36), strict=True):
        assert abs(won[name].mean() - central) <= 4 * won[name].std() / np.sqrt(len(won))


def test_every_order_of_a_ballot_counts_the_same_points():
    # Derived: each voter hands out 0 + 1 + ... + (n - 1) points.
    ballots = [list(order) for order in itertools.permutations("ABCD")]
    assert set(positional_points(ballots, [1] * 24)) == {24 * 6 / 4}
