"""Use zones where something is not known, odd, or not theirs to say."""

import pytest
import shapely

from playsite.problems import Problems
from playsite.program.equipment import Piece
from playsite.program.use_zones import body_of, handbook_zone, overlap_m
from playsite.program.use_zones_europe import check_fall_heights, european_zone

FT = 0.3048


def metal(kind, length_m=3.0, width_m=2.0, **more):
    return Piece(kind, kind, more.pop("ages", "5-12"), length_m, width_m, **more)


@pytest.mark.parametrize("zone_of", [handbook_zone, european_zone])
@pytest.mark.parametrize(
    ("kind", "known", "needs"),
    [
        ("belt swing", {}, "(pivot|seat)'s height"),
        ("bucket swing", {"pivot_height_m": 2.4}, "seat's height"),
        ("multi-axis swing", {"seat_height_m": 0.5}, "pivot's height"),
    ],
)
def test_the_zone_of_a_swing_is_never_guessed(zone_of, kind, known, needs):
    with pytest.raises(ValueError, match=f"{kind}: the zone of a {kind} needs the {needs}"):
        zone_of(metal(kind, **known))


def test_a_slide_of_unknown_height_gets_the_longest_exit():
    zone = handbook_zone(metal("slide", exit="right"))
    assert zone.square.bounds[2] - 1.5 == pytest.approx(8 * FT)


def test_a_piece_of_unknown_height_counts_as_high():
    low = handbook_zone(metal("climber", height_m=0.5, surface_height_m=0.5))
    unknown = handbook_zone(metal("rocker"))
    assert (low.is_high, unknown.is_high) == (False, True)
    assert unknown.fall_height_m is None
    assert overlap_m(low, unknown) == pytest.approx(3 * FT)
    # in Europe as the highest that is allowed
    assert european_zone(metal("rocker")).margin_m == pytest.approx(2.5)
    assert european_zone(metal("spinner")).margin_m == pytest.approx(2.5)


def test_narrow_zones_of_high_pieces_stand_apart():
    # two toddlers' slides, 3 ft each, over 30 in high: 9 ft between them, so 3 ft between zones
    slide = metal("slide", ages="6-23 months", height_m=0.9, surface_height_m=0.9, exit="right")
    narrow = handbook_zone(slide, limited_access=True)
    assert overlap_m(narrow, narrow) == pytest.approx(-3 * FT)


def test_limited_access_changes_only_slides_of_toddlers():
    older = metal("slide", height_m=1.0, exit="right")
    climber = metal("climber", ages="6-23 months", height_m=1.0)
    for piece in (older, climber):
        assert handbook_zone(piece, limited_access=True) == handbook_zone(piece)


def test_a_wide_frame_stays_inside_the_zone_of_its_swing():
    frame = {"pivot_height_m": 1.2, "seat_height_m": 0.5}
    for zone_of in (handbook_zone, european_zone):
        zone = zone_of(metal("bucket swing", 3.0, 4.0, **frame))
        assert zone.square.buffer(1e-9).covers(zone.body)


def test_an_exit_is_never_wider_than_its_side():
    zone = handbook_zone(metal("slide", 4.0, 0.6, height_m=1, exit="right", exit_width_m=2.0))
    _, south, _, north = zone.exclusive.bounds
    assert north - south == pytest.approx(0.6)


def test_bodies_are_discs_where_they_turn_and_a_swings_beam_can_be_seen():
    assert body_of(metal("spinner", 2.0, 2.0)).area == pytest.approx(3.14, abs=0.01)
    assert body_of(metal("spinner", 3.0, 2.0)).equals(shapely.box(-1.5, -1, 1.5, 1))
    beam = body_of(metal("belt swing", 6.0, 0.0))
    assert 0 < beam.area < 2


def test_makers_are_asked_under_the_rules_that_hold():
    (us,) = handbook_zone(metal("spinner", height_m=0.3)).needs_test
    (europe,) = european_zone(metal("spinner", height_m=0.3)).needs_test
    assert "ASTM F1487" in us
    assert "EN 1176" in europe
    assert "ASTM" not in europe
    assert handbook_zone(metal("rocker")).needs_test == ()


def test_every_rule_says_where_it_is_from():
    kinds = ["composite", "slide", "spinner", "rocker", "seesaw", "track ride", "belt swing"]
    known = {"height_m": 1.0, "pivot_height_m": 2.4, "seat_height_m": 0.5}
    for zone_of, edition in ((handbook_zone, "CPSC"), (european_zone, "EN 1176")):
        for kind in kinds:
            rules = zone_of(metal(kind, **known)).rules
            assert rules
            assert all(rule.source.startswith(edition) and rule.section for rule in rules)


def test_a_european_fall_that_is_too_high_is_told_with_a_remedy():
    swing = metal("belt swing", pivot_height_m=6.0, seat_height_m=0.5)
    problems = Problems()
    check_fall_heights((swing, metal("rocker"), metal("climber", height_m=2.9)), problems)
    (told,) = problems.items
    assert str(told) == (
        "[program.equipment]: belt swing: a free height of fall of 3.25 m; European rules allow "
        "3 m (EN 1176-1). Lower the piece, or check what its height means."
    )
