"""Legal centres at one rotation, against closed forms and a check point by point."""

import numpy as np
import pytest
import shapely
from shapely import MultiPolygon, Point, Polygon, box
from shapely.affinity import rotate, translate

from playsite.pads.erosion import legal_centres
from playsite.pads.legality import is_legal

PAD = {"length_m": 31.6, "width_m": 22.7}


def test_a_rectangle_erodes_to_a_rectangle_smaller_by_the_pads_sides():
    centres = legal_centres(box(0, 0, 60, 50), **PAD, rotation_deg=0)
    assert centres.area == pytest.approx((60 - 31.6) * (50 - 22.7))
    across = legal_centres(box(0, 0, 60, 50), **PAD, rotation_deg=90)
    assert across.area == pytest.approx((60 - 22.7) * (50 - 31.6))


def test_turned_land_erodes_to_the_turned_answer_at_map_coordinates():
    lot = translate(rotate(box(0, 0, 60, 50), 31, origin=(0, 0)), 612_345.678, 4_987_654.321)
    centres = legal_centres(lot, **PAD, rotation_deg=31)
    assert centres.area == pytest.approx((60 - 31.6) * (50 - 22.7), rel=1e-6)


def test_an_l_shaped_pad_is_the_intersection_of_two_erosions():
    # Derived: L pad 40 x 50 with arms of 20 in an L lot 60 x 70 with arms of 25 may move by
    # 5 m along each arm: 25 m2 of legal places of its inner corner.
    lot = Polygon([(0, 0), (60, 0), (60, 25), (25, 25), (25, 70), (0, 70)])
    foot = legal_centres(lot, length_m=40, width_m=20, rotation_deg=0)
    upright = legal_centres(lot, length_m=50, width_m=20, rotation_deg=90)
    both = translate(foot, -20, -10).intersection(translate(upright, -10, -25))
    assert both.area == pytest.approx(25.0)


def test_a_convex_hole_costs_its_hull_and_every_part_is_kept():
    tree = Point(50, 50).buffer(3)
    far = box(200, 0, 240, 30)
    land = MultiPolygon([box(0, 0, 100, 100).difference(tree), far])
    centres = legal_centres(land, length_m=20, width_m=10, rotation_deg=0)
    # Steiner's formula for a convex body and a rectangle: the sum of both areas and of each
    # side times the body's width across it; a circle is 6 m wide all round
    hole_m2 = tree.area + 20 * 10 + 20 * 6 + 10 * 6
    assert centres.area == pytest.approx(80 * 90 - hole_m2 + 20 * 20)
    assert len(shapely.get_parts(centres)) == 2


def test_a_hole_that_is_not_convex_keeps_its_bay():
    # a pad of 4 x 4 fits into the bay of a horseshoe of buildings
    horseshoe = Polygon(
        [(30, 30), (60, 30), (60, 34), (34, 34), (34, 56), (60, 56), (60, 60), (30, 60)]
    )
    land = box(0, 0, 90, 90).difference(horseshoe)
    centres = legal_centres(land, length_m=4, width_m=4, rotation_deg=0)
    assert centres.contains(Point(45, 45))
    assert not centres.intersects(Point(32, 45))


@pytest.mark.parametrize("seed", range(8))
def test_centres_inside_are_legal_and_centres_outside_are_not(seed):
    rng = np.random.default_rng(seed)
    holes = [
        rotate(box(x, y, x + w, y + h), turn)
        for x, y, w, h, turn in rng.uniform([0, 0, 1, 1, 0], [100, 100, 9, 9, 90], (12, 5))
    ]
    land = translate(box(0, 0, 100, 100).difference(shapely.union_all(holes)), 5e5, 4e6)
    rotation_deg = rng.uniform(0, 180)
    centres = legal_centres(land, length_m=20, width_m=12, rotation_deg=rotation_deg)
    points = rng.uniform((5e5, 4e6), (5e5 + 100, 4e6 + 100), (400, 2))
    places = np.column_stack([points, np.full(400, rotation_deg)])
    legal = is_legal(land, places, length_m=20, width_m=12)
    clear = shapely.distance(shapely.points(points), centres.boundary) > 1e-5
    inside = shapely.contains_xy(centres, points)
    assert legal.any()
    assert (legal[clear] == inside[clear]).all()


def test_nothing_fits_on_no_land():
    assert legal_centres(Polygon(), **PAD, rotation_deg=0).is_empty
    assert legal_centres(box(0, 0, 30, 30), **PAD, rotation_deg=0).is_empty
