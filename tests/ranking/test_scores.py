"""Scores, intervals and ranks on tables small enough to check by hand."""

import numpy as np
import pandas as pd
import pytest

from playsite.ranking.scores import ranks, totals


def test_an_unknown_counts_nothing_low_and_all_high_and_the_score_is_the_middle():
    table = pd.DataFrame({"a": [0.8], "b": [np.nan], "c": [0.2]})
    row = totals(table, {"a": 2, "b": 1, "c": 1}).iloc[0]
    assert row["score_low"] == pytest.approx(0.45)
    assert row["score_high"] == pytest.approx(0.70)
    assert row["score"] == pytest.approx((row["score_low"] + row["score_high"]) / 2)
    assert row["known_share"] == pytest.approx(0.75)


def test_ties_are_printed_as_ties():
    assert ranks(pd.Series([0.7, 0.9, 0.9, 0.1])).tolist() == [3, 1, 1, 4]


def test_a_difference_beyond_nine_places_is_no_difference():
    assert ranks(pd.Series([0.5, 0.5 + 1e-12])).tolist() == [1, 1]


def test_what_is_not_ranked_has_no_rank():
    given = ranks(pd.Series([0.5, np.nan]))
    assert given.isna().tolist() == [False, True]
