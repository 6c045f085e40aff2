"""Where an L fits: exactly at a rotation, and no rotation missed."""

import numpy as np
import pytest
import shapely
from shapely import MultiPolygon, Polygon, box
from shapely.affinity import rotate, translate

from playsite.pads.compound import (
    Part,
    compound_polygons,
    is_legal_fixed,
    iterate_legal_places_of_fixed,
    legal_centres_of_fixed,
    legal_places_of_fixed,
    mirrored,
)
from playsite.pads.search import find_place, legal_centres

# 40 x 50 m with arms of 20 m, in a lot of 60 x 70 m with arms of 25 m: 5 m to spare both ways
PAD = [Part(20, 10, 40, 20), Part(10, 25, 20, 50)]
LOT = Polygon([(0, 0), (60, 0), (60, 25), (25, 25), (25, 70), (0, 70)])
SMALL = [Part(12, 5, 24, 10), Part(5, 14, 10, 28)]
SLOW = pytest.mark.slow


def assert_on_land(land, places, parts):
    """Not by the check of the package: the pad's area outside is no more than rounding."""
    pads = compound_polygons(places, parts)
    assert shapely.area(shapely.difference(pads, land)).max() < 1e-6 * pads[0].length


def test_legal_centres_of_an_L_in_an_L_have_the_area_of_the_room_to_spare():
    # by hand: 5 m x 5 m
    assert legal_centres_of_fixed(LOT, PAD, rotation_deg=0).area == pytest.approx(25, abs=1e-9)


@pytest.mark.parametrize(("rotation_deg", "fits"), [(-6, False), (-5, True), (7, True), (8, False)])
def test_an_L_turns_in_an_L_so_far(rotation_deg, fits):
    # limits from a search by steps of 1 degree in another program, by hand at the corners
    centres = legal_centres_of_fixed(LOT, PAD, rotation_deg=rotation_deg)
    assert (not centres.is_empty) == fits


def test_rotations_found_are_those_at_which_the_L_turns():
    places = legal_places_of_fixed(LOT, PAD)
    turned = (places[:, 2] + 180) % 360 - 180
    assert turned.min() > -6
    assert turned.max() < 8
    assert turned.min() < -4.5
    assert turned.max() > 6.5
    assert_on_land(LOT, places, PAD)
    assert is_legal_fixed(LOT, places, PAD).all()


def test_one_part_has_the_centres_of_the_plain_pad():
    land = LOT.difference(box(8, 8, 12, 12))
    one = legal_centres_of_fixed(land, [Part(0, 0, 24, 11)], rotation_deg=40)
    other = legal_centres(land, length_m=24, width_m=11, rotation_deg=40)
    assert one.area == pytest.approx(other.area)
    assert one.symmetric_difference(other).area < 1e-9


@pytest.mark.parametrize("rotation_deg", [0, 33, 200, 315])
def test_a_point_is_a_legal_centre_just_where_the_drawn_pad_is_covered(rotation_deg):
    rng = np.random.default_rng(5)
    land = box(0, 0, 60, 55) - rotate(box(30, 30, 36, 33), 20) - box(50, 5, 52, 8)
    centres = legal_centres_of_fixed(land, SMALL, rotation_deg=rotation_deg)
    points = rng.uniform(-10, 70, (4000, 2))
    pads = compound_polygons(np.column_stack([points, np.full(4000, rotation_deg)]), SMALL)
    covered = shapely.covers(land, pads)
    assert np.array_equal(shapely.contains_xy(centres, points), covered)
    assert covered.sum() > 50


def cluttered_lot(rng, parts, *, spare_m):
    """A lot full of obstacles, with one pad's ground kept free at a chance rotation."""
    (pad,) = compound_polygons([(*rng.uniform(35, 55, 2), rng.uniform(0, 360))], parts)
    kept = pad.buffer(spare_m, join_style="mitre")
    centres, halves = rng.uniform(0, 90, (150, 2)), rng.uniform(0.5, 6, (150, 2))
    obstacles = [
        rotate(box(*(c - h), *(c + h)), turn)
        for c, h, turn in zip(centres, halves, rng.uniform(0, 180, 150), strict=True)
    ]
    land = box(0, 0, 90, 90).difference(shapely.union_all(obstacles)).union(kept)
    return translate(land, 500_000, 4_650_000)


@pytest.mark.parametrize("lots", [5, pytest.param(20, marks=SLOW)])
def test_no_planted_L_is_missed_at_any_rotation_or_as_its_mirror_image(lots):
    rng = np.random.default_rng(20)
    by_steps = 0
    for lot in range(lots):
        parts = mirrored(SMALL) if lot % 2 else SMALL
        land = cluttered_lot(rng, parts, spare_m=0.25)
        places = legal_places_of_fixed(land, parts)
        assert len(places) > 0
        assert_on_land(land, places, parts)
        by_steps += any(
            not legal_centres_of_fixed(land, parts, rotation_deg=15.0 * k).is_empty
            for k in range(24)
        )
    assert by_steps < lots / 2  # else the lots would prove nothing


@pytest.mark.parametrize("rotation_deg", [33.3, 123.3, 213.3, 303.3])
def test_a_lot_of_the_very_shape_fits_and_its_mirror_image_does_not(rotation_deg):
    (lot,) = compound_polygons([(512_345.678, 4_654_321.012, rotation_deg)], SMALL)
    places = legal_places_of_fixed(lot, SMALL)
    assert len(places) > 0
    assert_on_land(lot, places, SMALL)
    assert places[:, 2] == pytest.approx(rotation_deg, abs=1e-4)
    assert legal_places_of_fixed(lot, mirrored(SMALL)).shape == (0, 3)


def test_places_are_told_to_the_millimetre_and_no_coarser_than_asked():
    land = rotate(box(0, 0, 61.234567, 57.654321), 12.3456)
    places = legal_places_of_fixed(land, SMALL, step_m=2, spare_m=1)
    assert np.array_equal(places[:, :2], np.round(places[:, :2], 3))
    assert np.array_equal(places[:, 2], np.round(places[:, 2], 4))
    at_30 = places[places[:, 2] == 30, :2]
    centres = legal_centres_of_fixed(land, SMALL, rotation_deg=30)
    rng = np.random.default_rng(0)
    west, south, east, north = centres.bounds
    tries = rng.uniform((west, south), (east, north), (300, 2))
    deep = tries[shapely.contains_xy(centres.buffer(-2 * np.sqrt(2)), tries)]
    apart = np.hypot(*(deep[:, None] - at_30).transpose(2, 0, 1)).min(axis=1)
    assert len(deep) > 20
    assert (apart <= np.sqrt(2) + 1e-3).all()


def test_an_L_fits_where_no_rectangle_of_its_area_does():
    # the L's arms of 10 m in a lot with arms of 11 m; a pad of its area, 24 x 17.5, needs 17.5
    lot = Polygon([(0, 0), (26, 0), (26, 11), (11, 11), (11, 30), (0, 30)])
    assert find_place(lot, length_m=24, width_m=17.5) is None
    assert len(legal_places_of_fixed(lot, SMALL)) > 0


def test_parts_that_lie_apart_may_span_a_gap_but_an_L_may_not():
    two = MultiPolygon([box(0, 0, 20, 20), box(25, 0, 45, 20)])
    apart = [Part(-12.5, 0, 18, 18), Part(12.5, 0, 18, 18)]
    assert len(legal_places_of_fixed(two, apart)) > 0
    assert legal_places_of_fixed(two, [Part(0, 0, 30, 5), Part(0, 5, 5, 10)]).shape == (0, 3)


def test_a_land_of_area_enough_but_one_part_too_wide_is_refused():
    assert legal_places_of_fixed(box(0, 0, 200, 19), PAD).shape == (0, 3)


@pytest.mark.parametrize("land", [Polygon(), MultiPolygon(), box(0, 0, 10, 10)])
def test_where_nothing_fits_there_is_no_place(land):
    assert legal_places_of_fixed(land, PAD).shape == (0, 3)
    assert legal_centres_of_fixed(land, PAD, rotation_deg=10).is_empty


def test_blocks_are_of_one_rotation_and_those_with_a_lattice_come_first():
    blocks = list(iterate_legal_places_of_fixed(box(0, 0, 50, 40), SMALL, step_m=1, spare_m=1))
    assert all(len(np.unique(block[:, 2])) == 1 for block in blocks)
    counts = np.array([len(block) for block in blocks])
    assert (counts[:24] > 1).all()
    assert (counts[24:] == 1).all()
    assert len(counts) > 48


def test_senseless_options_are_refused():
    with pytest.raises(ValueError, match="above 0"):
        legal_places_of_fixed(LOT, PAD, step_m=0)
    with pytest.raises(ValueError, match="above 0"):
        legal_places_of_fixed(LOT, PAD, spare_m=0)
    with pytest.raises(ValueError, match="at least one part"):
        legal_places_of_fixed(LOT, [])
