"""The compiled measures of the search, against plain ones."""

import numpy as np
import pytest
import shapely
from shapely import GeometryCollection, LineString, MultiPolygon, Point, Polygon, box
from shapely.affinity import rotate, translate

from playsite.pads.outline import edge_angles_deg, outline, polygonal
from playsite.pads.refusal import most_scale
from playsite.pads.scale import largest_scale
from playsite.pads.separation import inside, inside_by_slab, scale_at, segment_scale, slabs
from playsite.pads.subdivision import _inner_half_sides


def holed_land(seed):
    rng = np.random.default_rng(seed)
    holes = [Point(*p).buffer(r, quad_segs=3) for *p, r in rng.uniform(1, 60, (9, 3)) / (1, 1, 12)]
    return polygonal(rotate(box(0, 0, 60, 60).difference(shapely.union_all(holes)), 17))


def test_a_segment_is_met_where_a_growing_square_first_touches_it():
    rng = np.random.default_rng(0)
    along = np.linspace(0, 1, 20_001)[:, None]
    for p, q in rng.uniform(-3, 3, (200, 2, 2)):
        plain = np.abs(p + along * (q - p)).max(axis=1).min()
        assert segment_scale(*p, *q) == pytest.approx(plain, abs=3e-4)
        assert segment_scale(*p, *q) <= plain + 1e-12


@pytest.mark.parametrize("seed", range(4))
def test_a_point_lies_inside_as_the_reference_says(seed):
    # Reference: GEOS through shapely
    land = holed_land(seed)
    shape = outline(land)
    points = np.random.default_rng(seed).uniform(-60, 60, (2000, 2))
    expected = shapely.contains_xy(land, points + shape.origin)
    in_slabs = slabs(shape.segments)
    assert [inside(shape.segments, *p) for p in points] == expected.tolist()
    assert [inside_by_slab(shape.segments, in_slabs, *p) for p in points] == expected.tolist()


@pytest.mark.parametrize("seed", range(4))
def test_the_scale_at_a_place_is_where_the_pad_first_touches(seed):
    land = holed_land(seed)
    shape = outline(land)
    local = translate(land, -shape.origin[0], -shape.origin[1])
    for x, y, turn_deg in np.random.default_rng(seed).uniform(
        [-30, -30, 0], [30, 30, 180], (60, 3)
    ):
        scale = scale_at(shape.segments, x, y, np.radians(turn_deg), 3.0, 2.0)
        if not local.contains(Point(x, y)):
            assert scale == 0
            continue
        unit = translate(rotate(box(-3, -2, 3, 2), turn_deg, origin=(0, 0)), x, y)
        for factor, fits in ((1 - 1e-7, True), (1 + 1e-7, False)):
            pad = shapely.affinity.scale(unit, scale * factor, scale * factor)
            assert local.contains(pad) == fits


@pytest.mark.parametrize(("a", "b", "half_deg"), [(15.8, 11.35, 7.5), (30, 3, 2.8), (5, 5, 7.5)])
def test_the_inner_rectangle_lies_in_every_turn_of_the_pad(a, b, half_deg):
    a_in, b_in = _inner_half_sides(a, b, np.radians(half_deg))
    inner = box(-a_in, -b_in, a_in, b_in)
    for turn_deg in np.linspace(-half_deg, half_deg, 31):
        pad = rotate(box(-a, -b, a, b), turn_deg)
        assert inner.difference(pad).area < 1e-9
    # and touches the two outermost, or it could be larger
    outermost = rotate(box(-a, -b, a, b), half_deg)
    assert inner.exterior.distance(outermost.exterior) < 1e-9


def test_the_cheap_bound_is_never_below_the_scale_found():
    rng = np.random.default_rng(2)
    for _ in range(25):
        land = translate(holed_land(rng.integers(1000)), 500_000, 4_650_000)
        parts = np.array(land.geoms)
        bound = most_scale(parts, length_m=12, width_m=9).max()
        assert largest_scale(land, length_m=12, width_m=9).scale <= bound * (1 + 1e-9)


def test_main_directions_are_those_of_the_long_edges():
    segments = outline(polygonal(rotate(box(0, 0, 60, 30), 23.4))).segments
    assert sorted(edge_angles_deg(segments)) == pytest.approx([23.4, 113.4])
    round_land = outline(polygonal(Point(0, 0).buffer(30, quad_segs=64))).segments
    assert len(edge_angles_deg(round_land)) == 0


def test_lines_and_points_are_no_land():
    mixed = GeometryCollection([box(0, 0, 2, 2), LineString([(0, 0), (9, 9)]), box(1, 0, 3, 2)])
    assert polygonal(mixed).area == pytest.approx(6)
    assert polygonal(LineString([(0, 0), (1, 1)])).is_empty
    assert polygonal(Polygon([(0, 0, 5), (1, 0, 5), (0, 1, 5)])).has_z is False
    assert polygonal(MultiPolygon()).geom_type == "MultiPolygon"
