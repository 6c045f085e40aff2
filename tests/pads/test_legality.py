"""The exact check and its tolerance of a thousandth of a millimetre."""

import numpy as np
import pytest
from shapely import MultiPolygon, Polygon, box

from playsite.pads.legality import is_legal, settle
from playsite.pads.shape import Place

PAD = {"length_m": 31.6, "width_m": 22.7}


@pytest.mark.parametrize(("short_m", "legal"), [(0.0, True), (5e-7, True), (3e-6, False)])
def test_a_line_may_be_crossed_by_no_more_than_a_micrometre(short_m, legal):
    lot = box(0, 0, 31.6 - short_m, 22.7)
    centre = [[lot.centroid.x + short_m / 2, 11.35, 0]]
    assert is_legal(lot, centre, **PAD).tolist() == [legal]


def test_a_pin_in_the_middle_of_the_pad_makes_it_illegal():
    pin = box(20, 20, 20.001, 20.001)
    assert is_legal(box(0, 0, 40, 40).difference(pin), [[20, 20, 0]], **PAD).tolist() == [False]


def test_a_pad_over_two_parts_is_illegal():
    land = MultiPolygon([box(0, 0, 20, 40), box(20.01, 0, 40, 40)])
    assert is_legal(land, [[20, 20, 0]], **PAD).tolist() == [False]


def test_a_missing_coordinate_and_missing_land_are_illegal():
    assert is_legal(box(0, 0, 90, 90), [[np.nan, 45, 0], [45, 45, 0]], **PAD).tolist() == [
        False,
        True,
    ]
    assert is_legal(Polygon(), [[45, 45, 0]], **PAD).tolist() == [False]
    assert is_legal(box(0, 0, 90, 90), np.empty((0, 3)), **PAD).shape == (0,)


def test_a_found_place_is_told_to_the_millimetre_where_it_can_be():
    found = Place(45.000_123, 45.000_987, 12.345_678_9)
    assert settle(box(0, 0, 90, 90), found, **PAD) == Place(45.0, 45.001, 12.3457)


def test_an_exact_fit_keeps_its_digits():
    lot = box(0.0004, 0, 31.6004, 22.7)
    assert settle(lot, Place(15.8004, 11.35, 180.0), **PAD) == Place(15.8004, 11.35, 0.0)
    assert settle(lot, Place(15.9, 11.35, 0.0), **PAD) is None
