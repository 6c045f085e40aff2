"""Which rule stands in the way, and by how much: lots whose answer is known by hand."""

import pytest
import shapely
from shapely import Point, box
from shapely.affinity import rotate, translate

from playsite.pads import relaxing
from playsite.pads.legality import is_legal
from playsite.pads.relaxing import Rule, relaxations
from playsite.pads.search import find_place
from playsite.pads.setback import setback_land

PAD = {"length_m": 24.0, "width_m": 16.0}


def setback(lot, limit_m, name="setback"):
    return Rule(name, limit_m, lambda margin_m: setback_land(lot, all_m=margin_m), "the town")


def around(shape, limit_m, name="buildings"):
    def removal(margin_m):
        return shape.buffer(margin_m, join_style="mitre")

    return Rule(name, limit_m, removal, "the map")


def test_a_setback_of_8_m_on_30_by_40_m_must_be_7_m_for_a_pad_of_24_by_16_m():
    # 30 - 2 x 7 = 16 for the width; 40 - 2 x 7 = 26 for the length
    lot = translate(rotate(box(0, 0, 30, 40), 17), 512_345, 4_654_321)
    (only,) = relaxations(lot, [setback(lot, 8.0)], **PAD)
    assert (only.kind, only.rule, only.limit_m) == ("margin", "setback", 8.0)
    assert (only.fits_at_m, only.change_m) == (7.0, 1.0)
    assert only.source == "the town"
    # 16 x 26 less 14 x 24
    assert only.given_back_m2 == pytest.approx(80, abs=1e-6)
    assert is_legal(lot.buffer(-7), [only.place], **PAD).all()


def test_a_setback_to_the_foot_is_told_to_the_centimetre_below():
    # 24 of 30.05 m: 3.025 m on each side
    lot = box(0, 0, 30.05, 22.1)
    (only,) = relaxations(lot, [setback(lot, 25 * 0.3048)], **PAD)
    assert only.fits_at_m == 3.02
    assert only.change_m == pytest.approx(7.62 - 3.02)


def test_room_round_a_building_may_shrink_to_what_is_left_beside_it():
    # 28 m to the building, 24 of them for the pad
    lot, house = box(0, 0, 60, 20), box(28, 0, 32, 20)
    (only,) = relaxations(lot, [around(house, 6.0)], **PAD)
    assert (only.fits_at_m, only.change_m) == (4.0, 2.0)


def test_a_building_in_the_middle_must_go_whatever_its_margin():
    lot, house = box(0, 0, 40, 20), box(18, 0, 22, 20)
    (only,) = relaxations(lot, [around(house, 6.0)], **PAD)
    assert (only.kind, only.rule, only.limit_m) == ("gone", "buildings", 6.0)
    assert only.fits_at_m is None
    assert only.change_m is None
    assert only.given_back_m2 == pytest.approx(16 * 20)
    assert is_legal(lot, [only.place], **PAD).all()


@pytest.mark.parametrize("limit_m", [None, 0.0])
def test_a_rule_without_a_margin_can_only_go(limit_m):
    lot = box(0, 0, 40, 20)
    (only,) = relaxations(lot, [around(box(18, 0, 22, 20), limit_m)], **PAD)
    assert (only.kind, only.limit_m) == ("gone", limit_m)
    assert only.given_back_m2 == pytest.approx(80)


def test_the_least_change_comes_first_and_rules_that_must_go_come_last():
    # three rules meet on a strip 50 m long; 20 m wide leaves the pad no other way
    lot = box(0, 0, 50, 20)
    rules = [
        Rule("off limits", None, lambda _: box(23, 0, 24, 20), "the study"),
        around(box(50, 0, 60, 20), 4.0, "water"),  # bars from 46 on: 22 m are left, 24 needed
        around(box(-10, 0, 0, 20), 2.5, "street"),  # bars to 2.5: 20.5 m are left, of at most 23
    ]
    found = relaxations(lot, rules, **PAD)
    assert [(each.rule, each.kind, each.change_m) for each in found] == [
        ("water", "margin", 2.0),
        ("off limits", "gone", None),
    ]


def test_of_rules_that_must_go_the_one_that_gives_back_least_comes_first():
    lot = box(0, 0, 40, 20)
    one = Rule("easements", None, lambda _: box(18, 0, 22, 20), "the map")
    other = Rule("water", None, lambda _: box(19, 0, 21, 20), "the map")
    # each bars the middle, so neither alone is enough
    assert relaxations(lot, [one, other], **PAD) == []
    apart = Rule("water", None, lambda _: box(24, 0, 25, 20), "the map")
    lot = box(0, 0, 43, 20)
    found = relaxations(lot, [one, apart], **PAD)
    assert [(each.rule, round(each.given_back_m2)) for each in found] == [("easements", 80)]
    two_lots = shapely.union_all([box(0, 0, 26, 20), box(100, 0, 126, 20)])
    narrow = Rule("narrow", None, lambda _: box(12, 0, 13, 20), "the map")
    wide = Rule("wide", None, lambda _: box(110, 0, 116, 20), "the map")
    found = relaxations(two_lots, [wide, narrow], **PAD)
    assert [each.rule for each in found] == ["narrow", "wide"]


def test_a_parcel_too_small_by_itself_says_so_and_by_how_much():
    # 12 m wide: the pad at 12 / 16 of its size, so 4 m of its width too much
    lot = box(0, 0, 12, 100)
    (only,) = relaxations(lot, [setback(lot, 3.0)], **PAD)
    assert (only.kind, only.rule, only.place) == ("parcel", "", None)
    assert only.change_m == pytest.approx(4.0, abs=0.02)


def test_no_land_at_all_is_short_by_the_whole_width():
    (only,) = relaxations(shapely.Polygon(), [], **PAD)
    assert (only.kind, only.change_m) == ("parcel", 16.0)


def test_the_lines_error_is_taken_off_and_is_no_rule():
    lot = box(0, 0, 30, 40)
    # what is left of 7 m a side, the first metre counts for the error
    (only,) = relaxations(lot, [setback(lot, 8.0)], **PAD, line_error_m=1.0)
    assert only.fits_at_m == 7.0
    (short,) = relaxations(box(0, 0, 17, 100), [], **PAD, line_error_m=1.0)
    assert short.kind == "parcel"
    assert short.change_m == pytest.approx(1.0, abs=0.02)


def test_two_rules_each_enough_alone_to_bar_the_pad_give_no_single_answer():
    lot = box(0, 0, 30, 40)
    rules = [setback(lot, 8.0, "one"), setback(lot, 8.0, "other")]
    assert relaxations(lot, rules, **PAD) == []


def test_where_the_pad_fits_nothing_is_to_be_relaxed():
    lot = box(0, 0, 60, 40)
    assert relaxations(lot, [setback(lot, 8.0)], **PAD) == []


def test_a_rule_that_takes_nothing_here_is_asked_once_and_passed_over(monkeypatch):
    lot, asked = box(0, 0, 30, 40), []

    def far(margin_m):
        asked.append(margin_m)
        return Point(500, 500).buffer(margin_m)

    rules = [Rule("far", 5.0, far, "x"), Rule("none", 5.0, lambda _: None, "x"), setback(lot, 8.0)]
    found = relaxations(lot, rules, **PAD)
    assert [each.rule for each in found] == ["setback"]
    assert asked == [5.0]
    searched = []
    monkeypatch.setattr(
        relaxing,
        "find_place",
        lambda land, **sides: searched.append(1) or find_place(land, **sides),
    )
    relaxations(lot, rules, **PAD)
    with_all, _ = len(searched), searched.clear()
    relaxations(lot, rules[2:], **PAD)
    assert with_all == len(searched)


def test_senseless_sides_are_refused():
    with pytest.raises(ValueError, match="length"):
        relaxations(box(0, 0, 9, 9), [], length_m=10, width_m=20)
    with pytest.raises(ValueError, match="below 0"):
        relaxations(box(0, 0, 9, 9), [], **PAD, line_error_m=-1)
