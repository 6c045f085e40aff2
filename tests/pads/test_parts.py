"""Pads of several rectangles: their outline, and back to rectangles."""

import numpy as np
import pytest
import shapely
from shapely import Polygon, box
from shapely.affinity import rotate, scale, translate

from playsite.pads.parts import Part, compound_polygons, mirrored
from playsite.pads.rectangles import rectangles_of
from playsite.pads.shape import pad_polygon, pad_polygons

ELL = [Part(20, 10, 40, 20), Part(10, 35, 20, 30)]
FAR = (512_345.678, 4_654_321.012)


def assert_covers_without_overlap(outline, rectangles):
    pads = [pad_polygon(*row[:3], length_m=row[3], width_m=row[4]) for row in rectangles]
    assert shapely.union_all(pads).symmetric_difference(outline).area < 1e-6
    assert sum(pad.area for pad in pads) == pytest.approx(outline.area, abs=1e-6)


def test_an_L_is_one_polygon_of_6_corners_at_every_rotation_and_place():
    rng = np.random.default_rng(0)
    places = np.column_stack([rng.uniform(0, 6e6, (300, 2)), rng.uniform(0, 360, 300)])
    outlines = compound_polygons(places, ELL)
    assert shapely.get_type_id(outlines).tolist() == [3] * 300
    assert (shapely.get_num_coordinates(outlines) == 7).all()
    assert shapely.area(outlines) == pytest.approx(1400, rel=1e-8)


def test_an_outline_is_what_turning_and_moving_the_drawing_gives():
    drawn = Polygon([(0, 0), (40, 0), (40, 20), (20, 20), (20, 50), (0, 50)])
    (outline,) = compound_polygons([(30, -20, 77)], ELL)
    expected = translate(rotate(drawn, 77, origin=(0, 0)), 30, -20)
    assert outline.symmetric_difference(expected).area < 1e-9


def test_one_part_is_the_pad_itself():
    places = [(10, 20, 33), (0, 0, 140)]
    (one, other) = compound_polygons(places, [Part(0, 0, 30, 18)])
    expected = pad_polygons(places, length_m=30, width_m=18)
    assert one.symmetric_difference(expected[0]).area < 1e-9
    assert other.symmetric_difference(expected[1]).area < 1e-9


def test_parts_may_lie_apart_or_overlap():
    (apart,) = compound_polygons([(0, 0, 20)], [Part(0, 0, 10, 10), Part(20, 0, 10, 10)])
    assert apart.geom_type == "MultiPolygon"
    assert apart.area == pytest.approx(200)
    (over,) = compound_polygons([(0, 0, 20)], [Part(0, 0, 10, 10), Part(5, 5, 10, 10)])
    assert over.geom_type == "Polygon"
    assert over.area == pytest.approx(175)


def test_sides_that_meet_on_paper_meet_whatever_their_rounding():
    third = 31.6 / 3
    parts = [Part(third * k + third / 2, 0.1 + 0.2, third, 0.7) for k in range(3)]
    (outline,) = compound_polygons([(*FAR, 17)], parts)
    assert outline.geom_type == "Polygon"
    assert len(outline.exterior.coords) == 5
    assert outline.area == pytest.approx(31.6 * 0.7, rel=1e-7)


def test_the_mirror_image_is_the_drawing_seen_from_behind():
    (drawn,) = compound_polygons([(0, 0, 0)], ELL)
    (seen,) = compound_polygons([(0, 0, 0)], mirrored(ELL))
    assert seen.equals(scale(drawn, xfact=-1, origin=(0, 0)))
    assert mirrored(mirrored(ELL)) == tuple(ELL)


def test_no_places_give_no_outlines():
    assert compound_polygons(np.empty((0, 3)), ELL).shape == (0,)


@pytest.mark.parametrize("side_m", [0.0, -1.0, np.nan, np.inf])
def test_a_part_without_sides_is_refused(side_m):
    with pytest.raises(ValueError, match="two sides above 0"):
        Part(0, 0, 10, side_m)


def test_a_pad_without_parts_is_refused():
    with pytest.raises(ValueError, match="at least one part"):
        compound_polygons([(0, 0, 0)], [])


def test_a_rectangle_gives_back_its_place_and_sides():
    rng = np.random.default_rng(1)
    for _ in range(100):
        width_m = rng.uniform(5, 20)
        length_m = width_m + rng.uniform(0.1, 30)
        place = (*rng.uniform(0, 6e6, 2), rng.uniform(0, 180))
        pad = pad_polygon(*place, length_m=length_m, width_m=width_m)
        (row,) = rectangles_of(pad)
        assert row == pytest.approx([*place, length_m, width_m], abs=1e-6)


def test_an_L_is_cut_at_its_reflex_corner_into_two_that_cover_it_exactly():
    rng = np.random.default_rng(2)
    for _ in range(100):
        long_m, wide_m, arm_m, other_m = rng.uniform((30, 30, 8, 8), (60, 60, 25, 25))
        parts = [
            Part(long_m / 2, arm_m / 2, long_m, arm_m),
            Part(other_m / 2, wide_m / 2, other_m, wide_m),
        ]
        if rng.random() < 0.5:
            parts = mirrored(parts)
        (outline,) = compound_polygons([(*FAR, rng.uniform(0, 360))], parts)
        rectangles = rectangles_of(outline)
        assert len(rectangles) == 2
        assert (rectangles[:, 3] >= rectangles[:, 4]).all()
        assert ((rectangles[:, 2] >= 0) & (rectangles[:, 2] < 180)).all()
        assert_covers_without_overlap(outline, rectangles)
        # the larger of the two cuts' largest
        largest = max(long_m * arm_m, wide_m * other_m)
        assert (rectangles[:, 3] * rectangles[:, 4]).max() == pytest.approx(largest)


TEE = box(0, 0, 30, 8) | box(11, 8, 19, 30)
CUP = box(0, 0, 30, 8) | box(0, 8, 8, 30) | box(22, 8, 30, 25)
FRAME = box(0, 0, 30, 20) - box(5, 5, 20, 15)


@pytest.mark.parametrize(("outline", "count"), [(TEE, 2), (CUP, 3), (FRAME, 4)])
@pytest.mark.parametrize("turn_deg", [0, 31.7, 90, 200])
def test_any_outline_of_right_angles_is_cut_into_rectangles(outline, count, turn_deg):
    outline = translate(rotate(outline, turn_deg), *FAR)
    rectangles = rectangles_of(outline)
    assert len(rectangles) == count
    assert_covers_without_overlap(outline, rectangles)


def test_outlines_apart_give_the_rectangles_of_each():
    ell, pad = (*compound_polygons([(0, 0, 12)], ELL), pad_polygon(90, 0, 5, length_m=9, width_m=4))
    rectangles = rectangles_of(shapely.MultiPolygon([ell, pad]))
    assert len(rectangles) == 3
    assert rectangles[2] == pytest.approx([90, 0, 5, 9, 4])


def test_an_outline_told_to_the_millimetre_is_still_an_L():
    (outline,) = compound_polygons([(*FAR, 28.3)], ELL)
    told = shapely.transform(outline, lambda points: np.round(points, 3))
    rectangles = rectangles_of(told)
    assert rectangles[:, 3:] == pytest.approx(np.array([[50, 20], [20, 20]]), abs=5e-3)


def test_points_on_a_side_and_repeated_points_are_no_corners():
    pad = Polygon([(0, 0), (7, 0), (7, 0), (20, 0), (20, 10), (3, 10), (0, 10)])
    assert rectangles_of(pad).tolist() == [[10, 5, 0, 20, 10]]


@pytest.mark.parametrize(
    "outline", [Polygon([(0, 0), (30, 0), (0, 20)]), Polygon([(0, 0), (30, 0), (32, 20), (2, 20)])]
)
def test_an_outline_aslant_is_refused(outline):
    with pytest.raises(ValueError, match="right angles"):
        rectangles_of(outline)


def test_nothing_gives_no_rectangle():
    assert rectangles_of(Polygon()).shape == (0, 5)
