"""What binds a pad, in words."""

import pytest

from playsite.report.binding import change_sentences, room_texts, shape_text

CHANGE = {"kind": "margin", "rule": "setback from the parcel line", "source": "the study",
          "limit_m": 6.096, "fits_at_m": 4.26, "change_m": 1.836}  # fmt: skip


@pytest.mark.parametrize(
    ("units", "said"),
    [
        ("feet", "It would fit with 14 ft instead of 20 ft of this one rule: "),
        ("metres", "It would fit with 4.3 m instead of 6.1 m of this one rule: "),
    ],
)
def test_a_margin_is_told_as_it_is_and_as_it_would_do(units, said):
    assert change_sentences([CHANGE], units) == [said + "setback from the parcel line."]


def test_a_margin_that_reads_the_same_when_rounded_is_told_by_its_difference():
    near = {**CHANGE, "fits_at_m": 6.0, "change_m": 0.096}
    assert change_sentences([near], "feet")[0].startswith("It would fit with under 1 ft less")


def test_a_rule_that_must_go_is_named_with_its_source_and_a_bare_lot_blames_no_rule():
    gone = {**CHANGE, "kind": "gone", "rule": "easements", "source": "plats.gpkg"}
    lot = {**CHANGE, "kind": "parcel", "rule": "", "source": "", "change_m": 3.048}
    told = change_sentences([gone, lot, CHANGE], "feet")
    assert told == [
        "It would fit if this one rule did not hold: easements (plats.gpkg).",
        "No rule is to blame: on the bare lot the play area's width is 10 ft too much.",
    ]


def test_room_is_told_tightest_first_with_its_wind():
    rooms = [
        {"direction": "N", "distance_m": 12.0, "limit": "parcel line"},
        {"direction": "SW", "distance_m": 0.01, "limit": "water and 3 m around them"},
        {"direction": "E", "distance_m": 2.1, "limit": "off limits by the study"},
    ]
    assert room_texts(rooms, "metres") == [
        "no room to the water and 3 m around them, south-west",
        "2.1 m to off limits by the study, east",
        "12 m to the parcel line, north",
    ]


def test_only_another_shape_than_the_one_looked_for_is_told():
    assert shape_text("") == ""
    assert shape_text("an L").startswith("Fits as an L, not")
