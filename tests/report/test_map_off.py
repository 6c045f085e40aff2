"""Visits that all differ from the map to one side are told, and nothing is corrected by them."""

import math
from dataclasses import replace

import pandas as pd
import pytest
from report.made_up_result import made_up_result

from playsite.report.map_off import map_off_sentences
from playsite.result import VISIT_COLUMNS


@pytest.fixture(scope="module")
def result():
    return made_up_result(6)


def _told(result, rows):
    table = pd.DataFrame(
        [
            {"parcel_id": f"P{n}", "criterion": name, "value": value, "unit": unit,
             "map_value": map_value, "standing": standing}
            for n, (name, value, unit, map_value, standing) in enumerate(rows)
        ],
        columns=list(VISIT_COLUMNS),
    )  # fmt: skip
    return list(map_off_sentences(replace(result, visits=table)))


def _grades(*pairs, standing="counts"):
    return [("grade", value, "pct", on_map, standing) for value, on_map in pairs]


def test_three_visits_to_one_side_are_told_with_their_middle(result):
    told = _told(result, _grades((2.6, 2.0), (3.0, 2.0), (4.5, 4.1)))
    assert len(told) == 1
    assert told[0].startswith(
        "At all 3 sites where it was measured, grade is more than the map has it, by 0.6 points in the middle"
    )
    less = _told(result, _grades((1.4, 2.0), (1.0, 2.0), (4.0, 4.1)))
    assert "grade is less than the map has it, by 0.6 points" in less[0]


def test_two_sides_two_visits_and_what_does_not_count_tell_nothing(result):
    assert not _told(result, _grades((2.6, 2.0), (1.9, 2.0), (4.5, 4.1)))
    assert not _told(result, _grades((2.6, 2.0), (2.0, 2.0), (4.5, 4.1)))
    assert not _told(result, _grades((2.6, 2.0), (3.0, 2.0)))
    assert not _told(result, _grades((2.6, 2.0), (3.0, 2.0), (4.5, 4.1), standing="withdrawn"))


def test_none_found_and_not_known_are_no_difference(result):
    rows = [
        ("restroom", math.inf, "m", 50.0, "counts"),
        ("restroom", 80.0, "m", math.nan, "counts"),
    ]
    assert not _told(result, [*rows, ("restroom", 80.0, "m", 50.0, "counts"), *rows])
