"""The way of a truck: exact gaps, what is opened, and at what price."""

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from shapely import LineString, Point, box

from playsite.routes.truck_way import truck_way, widest_m

PAD = box(-15, -25, 15, 0)
STREET = gpd.GeoSeries([box(-400, 20, 400, 27)])


def standing(*parts):
    """Rows of kind, what sparing one is worth, what a metre in it is worth, shape."""
    table = pd.DataFrame([part[:3] for part in parts], columns=["kind", "worth_m", "worth_per_m"])
    return gpd.GeoDataFrame(table, geometry=[part[3] for part in parts])


def wall(*lines, kind="wall", worth_m=np.inf):
    return [(kind, worth_m, 0.0, LineString(line)) for line in lines]


def gapped(gap_m, at=0.0):
    return wall([(-400, 10), (at, 10)], [(at + gap_m, 10), (400, 10)])


@pytest.mark.parametrize("gap_m", [2.0, 3.0, 3.66, 3.74, 5.0, 6.9])
def test_the_width_of_a_gap_is_found_to_three_centimetres(gap_m):
    around = standing(*gapped(gap_m))
    assert widest_m(PAD, STREET, around.geometry) == pytest.approx(gap_m, abs=0.03)
    assert np.isfinite(truck_way(PAD, STREET, around).length_m) == (gap_m >= 3.7)


@pytest.mark.parametrize("angle_deg", [0, 17, 45, 80])
def test_two_posts_and_two_corners_of_houses_leave_what_is_between_them(angle_deg):
    def turned(shape):
        return shapely.affinity.rotate(shape, angle_deg, origin=(0, 0))

    pad, street = turned(PAD), gpd.GeoSeries([turned(STREET[0])])
    ends = wall([(-400, 10), (-2.5, 10)], [(2.5, 10), (400, 10)])
    posts = standing(*[(*row[:3], turned(row[3])) for row in ends])
    assert widest_m(pad, street, posts.geometry) == pytest.approx(5.0, abs=0.03)
    houses = gpd.GeoSeries([turned(box(-400, 8, -3, 12)), turned(box(1, 11, 400, 15))])
    assert widest_m(pad, street, houses) == pytest.approx(4.0, abs=0.03)


def test_nothing_between_is_the_straight_way():
    way = truck_way(PAD, STREET, standing(*wall([(100, 5), (110, 5)])))
    assert way.length_m == pytest.approx(20)
    assert way.widest_m == pytest.approx(7.3)
    assert way.untouched_m == pytest.approx(20)
    assert not len(way.opened)


def test_a_fence_is_opened_only_if_that_is_worth_the_detour():
    for gate_at, is_opened in ((20, False), (90, True)):
        fence = [("fence", 30.0, 0.0, part[3]) for part in gapped(4, at=gate_at)]
        way = truck_way(PAD, STREET, standing(*fence))
        assert (list(way.opened["kind"]) == ["fence"]) == is_opened
        assert way.untouched_m > way.length_m or not is_opened


def test_roots_are_gone_round_or_crossed_and_measured():
    roots = ("root zone", 5.0, 1.0, Point(0, 10).buffer(6, quad_segs=16))
    free = truck_way(PAD, STREET, standing(roots))
    assert not len(free.opened)
    wide = ("root zone", 5.0, 1.0, box(-390, 6, 390, 14))
    way = truck_way(PAD, STREET, standing(wide))
    assert list(way.opened["kind"]) == ["root zone"]
    assert way.opened["metres"].sum() == pytest.approx(8)
    assert way.length_m == pytest.approx(20)
    assert way.untouched_m == np.inf


def test_buildings_and_water_stay():
    way = truck_way(PAD, STREET, standing(("water", np.inf, 0.0, box(-400, 8, 400, 12))))
    assert way.length_m == np.inf
    assert way.path is None
    assert way.widest_m == pytest.approx(0, abs=0.03)


def test_the_middle_of_the_corridor_keeps_half_its_width_from_all_that_stands():
    house = ("building", np.inf, 0.0, box(-30, 5, 30, 15))
    way = truck_way(PAD, STREET, standing(house))
    assert shapely.distance(way.path, house[3]) == pytest.approx(1.85, abs=0.02)
    assert way.path.length == pytest.approx(way.length_m)


def test_without_streets_there_is_no_way():
    way = truck_way(PAD, STREET.iloc[:0], standing(*gapped(4)))
    assert way.length_m == np.inf
    assert way.widest_m == 0
