"""Sentences and numbers as people read them: what they say, and what they must never say."""

import importlib.util
import math
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from playsite.report import wording
from playsite.report.people_units import (
    area_text,
    depth_text,
    distance_text,
    in_readers_units,
    margin_text,
    percent_text,
    value_text,
)


def _made_up():
    path = Path(__file__).parent / "made_up_result.py"
    spec = importlib.util.spec_from_file_location("made_up_result", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module.made_up_result


made_up_result = _made_up()


def row_of(result, status, place=0):
    return result.sites[result.sites["status"] == status].iloc[place]


# The international foot is 0.3048 m exactly (U.S. National Bureau of Standards, 1959); the
# international acre is 43,560 square feet of it, 4,046.8564 m².
@pytest.mark.parametrize(
    ("metres", "feet", "said"),
    [
        (30.48, "100 ft", "30 m"),
        (30.7, "100 ft", "31 m"),
        (32.0, "100 ft", "32 m"),
        (137.16, "450 ft", "137 m"),
        (1609.344, "5,280 ft", "1,609 m"),
        (3.048, "10 ft", "3 m"),
        (9.94, "33 ft", "9.9 m"),
        (0.0, "0 ft", "0 m"),
    ],
)
def test_distances_round_as_the_look_says(metres, feet, said):
    assert distance_text(metres, "feet") == feet
    assert distance_text(metres, "metres") == said


def test_an_acre_and_a_hectare_are_said_from_one_on():
    assert area_text(4046.8564224, "feet") == "1 acre"
    assert area_text(4046.0, "feet") == "43,550 sq ft"
    assert area_text(10_000, "metres") == "1 ha"
    assert area_text(9_994, "metres") == "9,990 m²"


def test_depths_are_inches_then_feet():
    assert depth_text(0.5, "feet") == "20 in"
    assert depth_text(0.7, "feet") == "2.3 ft"
    assert depth_text(0.998, "metres") == "1 m"


@given(st.floats(0, 1e6), st.floats(0, 1e6), st.sampled_from(["feet", "metres"]))
def test_a_longer_distance_never_reads_as_a_shorter_one(one, other, units):
    def number(text):
        return 0.25 if text.startswith("under") else float(text.split()[0].replace(",", ""))

    less, more = sorted([one, other])
    assert number(distance_text(less, units)) <= number(distance_text(more, units))


@given(st.floats(0, 1e5))
def test_what_is_read_in_feet_is_within_half_a_step_of_what_was_measured(metres):
    text = distance_text(metres, "feet")
    if text.startswith("under"):
        assert metres < 0.1524
        return
    feet = float(text.split()[0].replace(",", ""))
    assert abs(feet - metres / 0.3048) <= (5.0001 if metres / 0.3048 >= 100.4 else 0.5001)


@pytest.mark.parametrize("unit", ["m", "m2", "m3", "pct", "ratio", "deg", "min", "count"])
def test_missing_is_unknown_and_never_zero_in_any_unit(unit):
    for missing in (None, math.nan):
        assert value_text(missing, unit, "feet") == "unknown"
        assert margin_text(missing, unit, "feet") == "unknown"


def test_what_has_no_end_is_none_found():
    assert value_text(math.inf, "m", "feet") == "none found"


def test_percent_has_no_space_and_halves_go_up():
    assert percent_text(12.5) == "13%"
    assert percent_text(0.25) == "0.3%"
    assert margin_text(-1, "pct", "feet") == "1 point"


@pytest.mark.parametrize(
    ("text", "feet", "metres"),
    [
        ("no way within 2,000 m", "no way within 6,560 ft", "no way within 2,000 m"),
        ("81.4 m round", "270 ft round", "81 m round"),
        ("5120 m of streets", "16,800 ft of streets", "5,120 m of streets"),
        ("assumed 3 to 4 m/s", "assumed 10 to 13 ft/s", "assumed 3 to 4 m/s"),
        ("5 to 10 m off", "16 to 33 ft off", "5 to 10 m off"),
        ("a fall of 0.75 m", "a fall of 2 ft", "a fall of 0.75 m"),
        ("41,300 m² drain to it", "10.2 acres drain to it", "41,300 m² drain to it"),
        ("29 CFR 1926.1408, 7 min", "29 CFR 1926.1408, 7 min", "29 CFR 1926.1408, 7 min"),
    ],
)
def test_numbers_with_units_inside_a_text(text, feet, metres):
    assert in_readers_units(text, "feet") == feet
    assert in_readers_units(text, "metres") == metres


def test_metres_inside_a_text_are_said_in_feet_for_those_who_read_feet():
    text = "within 6 m of an arterial, 30 m² in 5 min, lot 7 m-b"
    assert in_readers_units(text, "feet").startswith(
        "within 20 ft of an arterial, 320 sq ft in 5 min"
    )
    assert in_readers_units(text, "metres") == text


@pytest.mark.parametrize(
    ("score", "text", "word"),
    [
        (0.745, "75", "strong"),
        (0.7449, "74", "fair"),
        (0.495, "50", "fair"),
        (0.4949, "49", "weak"),
        (1.0, "100", "strong"),
        (0.0, "0", "weak"),
        (math.nan, "unknown", "unknown"),
        (None, "unknown", "unknown"),
    ],
)
def test_a_score_is_rounded_first_and_named_then(score, text, word):
    assert wording.score_text(score) == text
    assert wording.word_of(score) == word


@given(st.floats(0, 1), st.floats(0, 1))
def test_a_higher_score_never_has_a_lower_word(one, other):
    order = ["weak", "fair", "strong"]
    less, more = sorted([one, other])
    assert order.index(wording.word_of(less)) <= order.index(wording.word_of(more))


def test_a_range_across_a_break_says_perhaps_and_a_wide_one_unknown():
    assert wording.word_of(0.6, 0.4, 0.7) == "fair, perhaps weak"
    assert wording.word_of(0.6, 0.45, 0.9) == "fair, perhaps weak or strong"
    assert wording.word_of(0.6, 0.3, 0.81) == "unknown"


def test_the_answer_names_the_leader():
    result = made_up_result(12)
    first = result.sites.iloc[0]
    said = f"Site {first['site_no']}, {first['name']}, comes first."
    assert wording.answer_sentence(result) == said


def test_two_and_three_that_share_the_first_place_are_tied():
    two = wording.answer_sentence(made_up_result(12, tied=2))
    three = wording.answer_sentence(made_up_result(12, tied=3))
    assert two.count("Site") == 2
    assert two.endswith(" are tied.")
    assert " and Site " in three
    assert three.count("Site") == 3


def test_many_that_share_the_first_place_are_counted():
    assert wording.answer_sentence(made_up_result(12, tied=6)) == "6 sites are tied for first."


def test_no_ranked_parcel_is_said_with_the_nearest_miss():
    result = made_up_result(6, statuses=("screened out",))
    assert wording.answer_sentence(result) == "No parcel passes every rule."
    share = (result.misses["margin"] / result.misses["limit"]).abs()
    nearest = result.misses.loc[share.idxmin(), "parcel_id"]
    number = result.sites.set_index("parcel_id").loc[nearest, "site_no"]
    assert wording.nearest_miss_sentence(result).startswith(f"The nearest miss is Site {number},")


def test_fewer_than_four_are_compared_and_not_put_in_an_order():
    three = made_up_result(3, statuses=("ranked",))
    assert (
        wording.answer_sentence(three)
        == "Three parcels pass every rule. Compare them side by side."
    )
    assert "no order" in wording.rank_text(three.sites.iloc[0], three)
    one = wording.answer_sentence(made_up_result(1, statuses=("ranked",)))
    assert one.startswith("One parcel passes every rule: Site 1")


def test_the_tally_says_exclusions_first_and_adds_up():
    result = made_up_result(24)
    assert wording.tally_sentence(result) == (
        "We looked at 24 parcels. 6 are screened out (3 near water, 3 too steep), 4 are too tight "
        "for the play area, 2 could not be assessed. 12 are ranked."
    )
    assert wording.tally_sentence(made_up_result(1, statuses=("ranked",))) == (
        "We looked at 1 parcel. 1 is ranked."
    )
    none = wording.tally_sentence(made_up_result(2, statuses=("screened out",)))
    assert none == (
        "We looked at 2 parcels. 2 are screened out (1 near water, 1 too steep). None is ranked."
    )


def test_a_rank_says_with_whom_it_is_shared():
    result = made_up_result(12, tied=2)
    first, second = result.sites.iloc[0], result.sites.iloc[1]
    assert wording.rank_text(first, result) == f"Tied for 1st with Site {second['site_no']}"
    assert wording.rank_text(result.sites.iloc[2], result) == "3rd of 6"


def test_a_screened_parcel_says_rule_value_limit_and_margin():
    result = made_up_result(12)
    row = row_of(result, "screened out")
    miss = result.misses[result.misses["parcel_id"] == row["parcel_id"]].iloc[0]
    said = wording.reason_sentence(row, result, units="metres")
    for number in (miss["value"], miss["limit"], miss["margin"]):
        assert f"{abs(number):g}" in said.replace("%", "")


def test_one_that_does_not_fit_is_never_said_to_fit_whole():
    result = made_up_result(12)
    row = row_of(result, "does not fit")
    miss = {"unit": "ratio", "value": 0.9999, "rule": "", "limit": 1.0, "margin": -0.0001}
    assert "99%" in wording.reason_sentence(row, result, misses=[miss])
    nothing = {**miss, "value": 0.0}
    assert "No land is left" in wording.reason_sentence(row, result, misses=[nothing])


def test_one_that_could_not_be_assessed_says_why_and_a_ranked_one_nothing():
    result = made_up_result(12)
    unknown = wording.reason_sentence(row_of(result, "not assessed"), result)
    assert unknown == "The elevation does not reach this parcel."
    assert wording.reason_sentence(row_of(result, "ranked"), result) == ""


def test_a_condition_says_the_remedy_once():
    condition = {
        "rule": "nearer to a street than its class requires",
        "needs": "only with a barrier between the play area and the street",
        "value": 0.512,
        "limit": 1.0,
        "unit": "ratio",
    }
    said = wording.condition_sentence(condition, "feet")
    assert said.startswith("Ranked, only with a barrier between the play area and the street: ")
    assert said.count("only with") == 1
    assert "(51%; without it at least 100%)" in said


def test_no_sentence_holds_the_word_nan():
    result = made_up_result(24)
    result = replace(result, sites=result.sites.assign(name=None, reason=math.nan))
    said = [wording.answer_sentence(result), wording.tally_sentence(result)]
    for row in wording.records(result.sites):
        said += [wording.site_title(row), wording.verdict_title(row)]
        said += [wording.rank_text(row, result), wording.reason_sentence(row, result)]
    assert not any("nan" in text.lower() or "none" in text.lower().split() for text in said)


def test_dates_of_the_data_are_said_and_a_missing_one_too():
    result = made_up_result(4)
    assert wording.data_dates(result) == "Elevation 2023, parcels 2025."
    result.layers.loc[result.layers["kind"] == "elevation", "date"] = pd.NA
    assert "elevation of unknown date" in wording.data_dates(result).lower()
