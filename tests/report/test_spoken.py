"""Values that have no unit of their own are said in words that tell what they are."""

import math

import pytest

from playsite.criteria._registry import installed, load
from playsite.criteria._spoken import Spoken
from playsite.report.people_units import hours_text, interval_text, value_text
from playsite.report.wording import straight_text, value_in_words
from playsite.units import Unit

BARE = {Unit.COUNT, Unit.RATIO, Unit.LEVEL, Unit.RATING}
CRITERIA = {name: load(name)[0] for name in installed()}


def said(name, value):
    criterion = CRITERIA[name]
    return value_text(value, criterion.unit, "feet", criterion.spoken)


@pytest.mark.parametrize(
    "name", [name for name, criterion in CRITERIA.items() if criterion.unit in BARE]
)
def test_no_criterion_leaves_a_number_bare(name):
    spoken = CRITERIA[name].spoken
    assert spoken.form or spoken.steps
    words = [word for _, word in spoken.steps]
    assert len(set(words)) == len(words)


def test_levels_ratings_and_multiples_are_told_in_their_criterions_words():
    assert said("below", 0.0) == "none found"
    assert said("below", 3.0) == "a regulated site"
    assert [said("soil", each) for each in (1.0, 0.5, 0.745, 0.2)] == [
        "good (1 of 1)",
        "fair (0.5 of 1)",
        "good (0.75 of 1)",  # the word is that of the number that is read
        "poor (0.2 of 1)",
    ]
    assert said("fit", 1.31) == "1.3 times its sides"
    assert said("need", 97.7) == "98 children"
    assert said("falling_trees", 3.0) == "3 trees"
    assert said("drop_offs", 0.1778) == "7 in"


def test_what_is_not_known_is_never_put_into_a_sentence():
    for name in CRITERIA:
        assert said(name, math.nan) == "unknown"
        assert said(name, None) == "unknown"


@pytest.mark.parametrize(
    ("name", "low", "high", "reads"),
    [
        ("below", 1.0, 3.0, "between weak evidence and a regulated site"),
        ("soil", 0.0, 1.0, "between poor (0 of 1) and good (1 of 1)"),
        ("need", 85.9, 120.3, "between 86 and 120 children"),
        ("wetland", 262.0, 768.0, "between 860 and 2,520 ft"),
        ("wetland", 262.0, math.inf, "860 ft or more"),
        ("wetland", 0.05, 3.0, "up to 10 ft"),
        ("drop_offs", 0.001, 0.3, "up to 12 in"),
        ("grade", 1.9, 2.2, "between 1.9% and 2.2%"),
    ],
)
def test_intervals_say_their_unit_once_and_never_under_something(name, low, high, reads):
    criterion = CRITERIA[name]
    assert interval_text(low, high, criterion.unit, "feet", criterion.spoken) == reads


def test_the_measured_thing_and_its_words_make_one_phrase():
    phrase = value_in_words(CRITERIA["below"], 0.0, "feet")
    assert phrase == ("evidence of old buildings, fill, buried water or dumps: none found")


def test_a_level_or_a_rating_without_words_still_says_what_it_is():
    assert value_text(2, "level", "feet", Spoken()) == "level 2"
    assert value_text(0.6, "rating", "metres") == "0.6 of 1"


def test_a_straight_distance_that_reads_as_the_way_is_not_said_again():
    row = {"origin": "map", "value": 23.8, "straight_m": 23.7}
    assert straight_text(row, "feet") == ""
    assert straight_text({**row, "value": 40.0}, "feet") == "78 ft straight"


def test_water_that_stays_for_weeks_is_told_in_days():
    assert hours_text(743) == "31 days"
    assert hours_text(47.6) == "48 hours"
