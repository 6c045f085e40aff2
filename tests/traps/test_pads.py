"""Lots that look large enough and are not, and one that looks too small and is not."""

import pytest
from shapely import MultiPolygon, Polygon, box
from shapely.affinity import rotate

from playsite.pads.buildable import buildable_land
from playsite.pads.search import find_place, largest_scale, legal_centres, legal_places
from playsite.pads.shape import pad_polygon

FOOT = 0.3048
PAD = {"length_m": 104 * FOOT, "width_m": 74.5 * FOOT}


def test_area_is_not_room_a_lot_of_40_by_272_ft_holds_no_pad_of_104_by_74_5_ft():
    lot = box(0, 0, 40 * FOOT, 272 * FOOT)
    assert lot.area > PAD["length_m"] * PAD["width_m"]
    assert find_place(lot, **PAD) is None
    assert len(legal_places(lot, **PAD)) == 0
    # the width blocks: 40 / 74.5
    assert largest_scale(lot, **PAD).scale == pytest.approx(40 / 74.5, rel=1e-6)


@pytest.mark.parametrize("turn_deg", [36.5, 37.0])
def test_a_lot_of_120_by_90_ft_turned_fits_only_the_turned_pad(turn_deg):
    lot = rotate(box(0, 0, 120 * FOOT, 90 * FOOT), turn_deg)
    land = buildable_land(lot, [], line_error_m=1.0).land
    for rotation_deg in (0, 90):
        assert legal_centres(land, **PAD, rotation_deg=rotation_deg).is_empty
    place = find_place(land, **PAD)
    assert place is not None
    assert land.covers(pad_polygon(*place, **PAD))
    assert place.rotation_deg == pytest.approx(turn_deg, abs=5)


def test_an_l_of_twice_the_area_holds_no_pad_but_holds_two_age_areas():
    lot = Polygon([(0, 0), (46.5, 0), (46.5, 20), (20, 20), (20, 46.5), (0, 46.5)])
    assert lot.area > 2 * 31.6 * 22.7
    assert find_place(lot, length_m=31.6, width_m=22.7) is None
    assert largest_scale(lot, length_m=31.6, width_m=22.7).at_most < 1
    # 70.5 x 47 ft and 48 x 32 ft, 12 ft apart
    for_older = find_place(lot, length_m=70.5 * FOOT, width_m=47 * FOOT)
    assert for_older is not None
    taken = pad_polygon(*for_older, length_m=70.5 * FOOT, width_m=47 * FOOT)
    rest = lot.difference(taken.buffer(12 * FOOT, join_style="mitre"))
    for_younger = find_place(rest, length_m=48 * FOOT, width_m=32 * FOOT)
    assert for_younger is not None
    assert pad_polygon(*for_younger, length_m=48 * FOOT, width_m=32 * FOOT).distance(taken) >= (
        12 * FOOT - 1e-6
    )


def test_area_over_parts_that_do_not_join_is_no_room():
    parts = MultiPolygon([box(0, 0, 31.6, 11), box(0, 11.7, 31.6, 22.7)])
    assert parts.area > 0.96 * 31.6 * 22.7
    assert find_place(parts, length_m=31.6, width_m=22.7) is None


def test_two_parts_that_touch_at_a_corner_do_not_join():
    touching = MultiPolygon([box(0, 0, 22, 40), box(22, 40, 44, 80)])
    assert find_place(touching, length_m=31.6, width_m=22.7) is None


def test_a_hole_thinner_than_any_cell_is_not_stepped_over():
    wire = box(0, 11, 70, 11.002).union(box(20, 0, 20.002, 40)).union(box(50, 0, 50.002, 40))
    land = box(0, 0, 70, 40).difference(wire)
    assert find_place(land, length_m=31.6, width_m=22.7) is None
    assert largest_scale(land, length_m=31.6, width_m=22.7).scale < 1
