"""Laws that use zones, surfacing and counts keep, tried on chance pieces."""

import dataclasses

from hypothesis import given
from hypothesis import strategies as st

from playsite.program.accessible import access, ground_components_due, ramp_area_m2, route_width_m
from playsite.program.equipment import SWINGS, Piece
from playsite.program.surfacing import SURFACINGS, depth
from playsite.program.use_zones import handbook_zone, overlap_m
from playsite.program.use_zones_europe import european_zone, falling_space_m

STANDING = ["composite", "slide", "climber", "overhead climber", "rocker", "seesaw", "track ride"]
TURNING = ["spinner", "merry-go-round"]
SIDES = st.floats(0.3, 12)
HEIGHTS = st.none() | st.floats(0, 3)
MORE = st.floats(0, 3)
AGES = st.sampled_from(["6-23 months", "2-5", "5-12"])
_SLACK_M = 1e-6


@st.composite
def pieces(draw):
    kind = draw(st.sampled_from([*STANDING, *TURNING, *SWINGS]))
    length_m = draw(SIDES)
    known = {"length_m": length_m, "width_m": length_m if kind in TURNING else draw(SIDES)}
    if kind in SWINGS:
        seat_m = draw(st.floats(0.2, 1))
        known |= {"seat_height_m": seat_m, "pivot_height_m": seat_m + draw(st.floats(0.8, 3))}
    else:
        height_m = draw(HEIGHTS)
        known |= {"height_m": height_m, "surface_height_m": height_m, "exit_height_m": height_m}
    if kind in {"slide", "composite"}:
        known["exit"] = draw(st.sampled_from(["left", "right", "front", "back"]))
        known["exit_width_m"] = draw(st.none() | st.floats(0.3, 2))
    return Piece(kind, kind, draw(AGES), **known)


ZONES = st.sampled_from([handbook_zone, european_zone])


def limited(piece):
    return handbook_zone(piece, limited_access=True)


def holds(outer, inner):
    return inner.is_empty or outer.buffer(_SLACK_M).covers(inner)


@given(pieces(), ZONES)
def test_rounded_lies_within_square_and_the_piece_within_both(piece, zone_of):
    zone = zone_of(piece)
    assert holds(zone.square, zone.rounded)
    assert holds(zone.rounded, zone.body)
    assert holds(zone.square, zone.exclusive)
    assert zone.square.is_valid
    assert zone.rounded.is_valid
    assert zone.square.geom_type == zone.rounded.geom_type == "Polygon"


@given(pieces(), ZONES)
def test_a_zone_is_as_wide_as_it_says_at_every_side(piece, zone_of):
    zone = zone_of(piece)
    signs = (-1, -1, 1, 1)
    reach_m = [
        s * (z - b) for s, z, b in zip(signs, zone.square.bounds, zone.body.bounds, strict=True)
    ]
    for reach, is_open in zip(reach_m, zone.open_sides, strict=True):
        if is_open:
            assert abs(reach - zone.margin_m) < _SLACK_M
        elif piece.kind not in SWINGS:
            assert reach >= zone.margin_m - _SLACK_M


@given(pieces(), MORE, MORE, ZONES)
def test_a_larger_piece_never_gets_a_smaller_zone(piece, longer_m, wider_m, zone_of):
    wider_m = longer_m if piece.kind in TURNING else wider_m
    larger = dataclasses.replace(
        piece, length_m=piece.length_m + longer_m, width_m=piece.width_m + wider_m
    )
    # an exit moves out with its side, so its zone is compared by size
    small, large = zone_of(piece).square, zone_of(larger).square
    assert large.area >= small.area - _SLACK_M
    if not piece.exit:
        assert holds(large, small)


@given(pieces(), st.floats(0, 3), st.booleans())
def test_a_higher_slide_or_pivot_never_gets_a_smaller_zone(piece, higher_m, is_limited):
    zone_of = limited if is_limited else handbook_zone
    raised = {
        key: getattr(piece, key) + higher_m
        for key in ("height_m", "surface_height_m", "exit_height_m", "pivot_height_m")
        if getattr(piece, key) is not None
    }
    low, high = zone_of(piece), zone_of(dataclasses.replace(piece, **raised))
    assert holds(high.square, low.square)
    assert holds(high.exclusive, low.exclusive)
    assert high.is_high >= low.is_high


@given(pieces(), st.floats(0, 1))
def test_a_higher_piece_never_gets_a_smaller_falling_space(piece, share):
    if piece.height_m is None:
        return
    lower = dataclasses.replace(piece, height_m=piece.height_m * share)
    assert holds(european_zone(piece).square, european_zone(lower).square)


@given(pieces(), ZONES)
def test_not_to_know_a_height_never_makes_a_zone_smaller(piece, zone_of):
    if piece.kind in SWINGS:
        return
    unknown = dataclasses.replace(piece, height_m=None, surface_height_m=None, exit_height_m=None)
    assert holds(zone_of(unknown).square, zone_of(piece).square)
    assert zone_of(unknown).is_high


@given(pieces(), pieces(), st.sampled_from([handbook_zone, european_zone, limited]))
def test_how_far_two_may_overlap(one, other, zone_of):
    a, b = zone_of(one), zone_of(other)
    overlap = overlap_m(a, b)
    assert overlap == overlap_m(b, a)
    if overlap == 0:
        return
    high = a.is_high or b.is_high
    apart_m = max(a.apart_m[high], b.apart_m[high])
    # pieces keep their distance, and none stands in another's zone
    assert abs(a.margin_m + b.margin_m - overlap - apart_m) < _SLACK_M
    assert overlap <= min(a.margin_m, b.margin_m) + _SLACK_M
    assert a.overlaps == b.overlaps != "never"


@given(pieces(), pieces(), st.floats(0, 2))
def test_higher_surfaces_never_come_nearer(one, other, higher_m):
    if one.surface_height_m is None:
        return
    raised = dataclasses.replace(one, surface_height_m=one.surface_height_m + higher_m)
    fixed = handbook_zone(other)
    assert overlap_m(handbook_zone(raised), fixed) <= overlap_m(handbook_zone(one), fixed)


@given(st.floats(0, 3), st.floats(0, 3))
def test_a_higher_fall_never_needs_less_falling_space(one_m, other_m):
    low_m, high_m = sorted([one_m, other_m])
    assert 1.5 <= falling_space_m(low_m) <= falling_space_m(high_m) <= 2.5


@given(st.sampled_from(sorted(SURFACINGS)), st.floats(0, 5), st.floats(0, 5))
def test_a_deeper_fall_never_needs_less_depth(material, one_m, other_m):
    low, high = (depth(material, fall_m) for fall_m in sorted([one_m, other_m]))
    if high.settled_m is not None:
        assert low.settled_m is not None
        assert low.settled_m <= high.settled_m <= high.filled_m
        assert low.enough
    if low.enough is False:
        assert high.enough is False


@given(st.sampled_from(sorted(SURFACINGS)))
def test_no_depth_is_given_under_a_fall_that_is_not_known(material):
    found = depth(material, None)
    assert (found.settled_m, found.filled_m, found.enough) == (None, None, None)


@given(st.integers(0, 499))
def test_one_elevated_component_more_never_asks_for_fewer(elevated):
    fewer, more = ground_components_due(elevated), ground_components_due(elevated + 1)
    assert fewer[0] <= more[0] <= fewer[0] + 1
    assert fewer[1] <= more[1] <= more[0]


@given(st.integers(0, 60), st.integers(0, 60), st.lists(pieces(), max_size=5))
def test_what_access_asks_for(elevated, ramped, others):
    ramped = min(elevated, ramped)
    counts = {"elevated_components": elevated, "ramped_components": ramped}
    one = Piece("one", "composite", "5-12", 6, 6, 2, 2, ground_components=0, **counts)
    found = access([one, *others])
    assert 2 * found.elevated_due >= elevated
    assert found.types_due <= found.ground_due
    assert found.types_due >= found.ground_types
    assert (found.ramps_due > 0) == (elevated >= 20)
    if found.waived:
        assert 2 * ramped >= elevated
    assert access([*others, one]) == found


@given(st.floats(1, 1e5), st.floats(1, 1e5), st.floats(0.1, 4), st.floats(0.1, 4))
def test_larger_play_areas_have_no_narrower_routes_and_higher_decks_no_less_ramp(a, b, c, d):
    assert route_width_m(min(a, b))[0] <= route_width_m(max(a, b))[0]
    assert ramp_area_m2(min(c, d)) <= ramp_area_m2(max(c, d))
