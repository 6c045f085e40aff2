"""Room at each side of a pad, by hand and against the shapes' own distances."""

import numpy as np
import pytest
import shapely
from shapely import MultiPolygon, Point, Polygon, box
from shapely.affinity import rotate, translate

from playsite.pads.sides import PARCEL_LINE, room_at_sides

PAD = box(0, 0, 30, 20)
WIDE = box(-500, -500, 500, 500)


def told(rooms):
    return {room.direction: (room.distance_m, room.limit) for room in rooms}


def test_each_side_tells_the_nearest_that_bars_its_ground():
    limits = [("water", box(0, 28, 30, 40)), ("buildings", box(41.2345, 5, 60, 9))]
    rooms = room_at_sides(PAD, limits, parcel=box(-7, -500, 500, 500))
    assert told(rooms) == {
        "N": (8.0, "water"),
        "E": (11.234, "buildings"),
        "S": (np.inf, ""),
        "W": (7.0, PARCEL_LINE),
    }
    assert [room.direction for room in rooms] == ["N", "E", "S", "W"]


def test_the_line_to_draw_goes_from_the_side_to_the_limit_from_its_middle_where_it_can():
    limits = [("water", box(-100, 28, 100, 40)), ("buildings", box(36, 15, 60, 16))]
    north, east, south, _ = room_at_sides(PAD, limits, parcel=WIDE)
    assert north.line == ((15, 20), (15, 28))
    (x, y), (to_x, to_y) = east.line
    assert (x, to_x) == (30, 36)
    assert y == to_y
    assert 15 <= y <= 16
    assert south.line is None


def test_what_touches_a_strip_at_its_very_edge_is_not_missed():
    # from the corner of the strip on, outward of the west line
    rooms = room_at_sides(PAD, [("tree", box(-9, 33, 0, 40))], parcel=WIDE)
    assert told(rooms)["N"] == (13.0, "tree")


def test_what_lies_off_a_corner_counts_for_the_side_in_whose_half_it_lies():
    # from the corner (30, 20): 3 east and 4 north
    rooms = told(room_at_sides(PAD, [("tree", box(33, 24, 34, 25))], parcel=WIDE))
    assert rooms["N"] == (5.0, "tree")
    assert rooms["E"] == (np.inf, "")
    on_the_diagonal = told(room_at_sides(PAD, [("tree", box(33, 23, 34, 24))], parcel=WIDE))
    assert on_the_diagonal["N"] == on_the_diagonal["E"] == (4.243, "tree")


def test_a_line_along_one_side_does_not_limit_the_sides_across_it():
    rooms = told(room_at_sides(PAD, [], parcel=box(-2, -30, 500, 500)))
    assert rooms["W"] == (2.0, PARCEL_LINE)
    assert rooms["S"] == (30.0, PARCEL_LINE)
    assert rooms["N"] == (np.inf, "")


def test_of_limits_equally_near_the_first_is_told():
    near, hair = ("easements", box(0, 26, 30, 30)), ("water", box(0, 25.9995, 30, 30))
    assert told(room_at_sides(PAD, [near, hair], parcel=WIDE))["N"] == (6.0, "easements")
    assert told(room_at_sides(PAD, [hair, near], parcel=WIDE))["N"][1] == "water"
    nearer = ("water", box(0, 25.99, 30, 30))
    assert told(room_at_sides(PAD, [near, nearer], parcel=WIDE))["N"] == (5.99, "water")
    at_the_line = told(room_at_sides(PAD, [near], parcel=box(-90, -90, 90, 26)))
    assert at_the_line["N"] == (6.0, PARCEL_LINE)


def test_a_limit_at_the_side_itself_leaves_no_room():
    rooms = room_at_sides(PAD, [("setback", box(30, -50, 40, 50))], parcel=box(0, -9, 99, 99))
    assert told(rooms)["E"] == (0.0, "setback")
    assert told(rooms)["W"] == (0.0, PARCEL_LINE)
    start, end = rooms[1].line
    assert start == end


def test_holes_and_parts_of_the_parcel_are_seen():
    lot = box(-50, -50, 80, 80) - box(32, 8, 36, 12)
    assert told(room_at_sides(PAD, [], parcel=lot))["E"] == (2.0, PARCEL_LINE)
    both = MultiPolygon([box(-5, -5, 35, 25), box(40, -5, 90, 25)])
    assert told(room_at_sides(PAD, [], parcel=both))["E"] == (5.0, PARCEL_LINE)


@pytest.mark.parametrize(
    ("turn_deg", "directions"),
    [
        (0, ["N", "E", "S", "W"]),
        (44, ["NE", "SE", "SW", "NW"]),
        (20, ["N", "E", "S", "W"]),
        (22.5, ["N", "E", "S", "W"]),
        (67.5, ["NE", "SE", "SW", "NW"]),
        (112.5, ["N", "E", "S", "W"]),
        (157.5, ["NE", "SE", "SW", "NW"]),
    ],
)
def test_sides_face_four_different_winds_at_every_rotation(turn_deg, directions):
    rooms = room_at_sides(rotate(PAD, turn_deg), [], parcel=WIDE)
    assert [room.direction for room in rooms] == directions


def test_the_way_round_and_the_first_corner_of_the_pad_change_nothing():
    limits = [("water", Point(50, 30).buffer(12))]
    expected = room_at_sides(PAD, limits, parcel=WIDE)
    for points in (list(PAD.exterior.coords)[::-1], [*PAD.exterior.coords[2:], (30, 20)][:4]):
        assert room_at_sides(Polygon(points), limits, parcel=WIDE) == expected


@pytest.mark.parametrize("seed", range(20))
def test_the_least_room_is_the_pads_distance_to_all_that_is_barred(seed):
    rng = np.random.default_rng(seed)
    pad = translate(rotate(PAD, rng.uniform(0, 180)), 512_345.6, 4_654_321.1)
    middle = np.array(pad.centroid.coords[0])
    away = rng.uniform(18, 55, 6)[:, None] * np.exp(1j * rng.uniform(0, 6.28, 6))[:, None]
    where = middle + np.hstack([away.real, away.imag])
    blobs = [Point(p).buffer(r) for p, r in zip(where, rng.uniform(0.5, 4, 6), strict=True)]
    limits = [(str(k), blob.difference(pad)) for k, blob in enumerate(blobs)]
    parcel = Point(middle + rng.uniform(-10, 10, 2)).buffer(40)
    rooms = room_at_sides(pad, limits, parcel=parcel)
    outside = box(*parcel.buffer(100).bounds).difference(parcel)
    barred = shapely.union_all([outside, *(shape for _, shape in limits)])
    assert min(room.distance_m for room in rooms) == pytest.approx(pad.distance(barred), abs=1.6e-3)
    shapes = {PARCEL_LINE: outside, **dict(limits)}
    for room in rooms:
        if room.line is not None:
            start, end = (Point(point) for point in room.line)
            assert start.distance(end) == pytest.approx(room.distance_m, abs=6e-4)
            assert start.distance(pad.boundary) < 1e-6
            assert end.distance(shapes[room.limit]) < 1e-6


def test_without_a_shape_there_is_no_limit():
    rooms = room_at_sides(PAD, [("water", None), ("easements", Polygon())], parcel=WIDE)
    assert {room.limit for room in rooms} == {""}
    far = room_at_sides(PAD, [("water", box(0, 50, 30, 60))], parcel=WIDE, reach_m=29.9)
    assert told(far)["N"] == (np.inf, "")


def test_senseless_pads_and_reaches_are_refused():
    with pytest.raises(ValueError, match="rectangle"):
        room_at_sides(PAD | box(0, 0, 10, 40), [], parcel=WIDE)
    with pytest.raises(ValueError, match="rectangle"):
        room_at_sides(MultiPolygon([PAD, box(90, 0, 99, 9)]), [], parcel=WIDE)
    with pytest.raises(ValueError, match="right angles"):
        room_at_sides(Polygon([(0, 0), (9, 0), (0, 9)]), [], parcel=WIDE)
    with pytest.raises(ValueError, match="reach"):
        room_at_sides(PAD, [], parcel=WIDE, reach_m=0)
