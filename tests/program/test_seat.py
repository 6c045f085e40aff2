"""One seat: at most 25 m away, behind nothing that hides, in the ring or a strip."""

import numpy as np
import pytest
import shapely
from made_up_zones import FT, STRIP_M, seven_zones, zone_of

from playsite.program.layout import Layout, layout_of, pieces_in, spread
from playsite.program.packing import Packing
from playsite.program.seat import SIGHT_M, best_seat


def layout_at(*places, length_m, width_m, ring_m=2.4):
    """Layout of zones whose lower left corners are given, in metres."""
    zones = [zone for zone, _ in places]
    at = np.array([[place, place] for _, place in places], float).transpose(2, 0, 1)
    pieces = pieces_in(zones, Packing(at[0], at[1], (0,) * len(zones)))
    return Layout(length_m, width_m, ring_m, pieces)


def rocker(name, ages="5-12"):
    return zone_of("rocker", 3, 1, 2, label=name, ages=ages)


def seen_points(layout, piece, place):
    """Random points beside a piece: the share seen from a place, sight lines one by one."""
    rng = np.random.default_rng(51)
    west, south, east, north = piece.use_zone.bounds
    known = [(p.body, p.zone.piece) for p in layout.pieces]
    walls = [body for body, p in known if "swing" not in p.kind and p.height_m > 1.0]
    bodies = shapely.union_all([p.body for p in layout.pieces])
    seen = []
    while len(seen) < 1500:
        point = shapely.Point(rng.uniform(west, east), rng.uniform(south, north))
        if piece.use_zone.contains(point) and not bodies.contains(point):
            line = shapely.LineString([place, point])
            seen.append(line.length <= SIGHT_M and not any(line.intersects(w) for w in walls))
    return np.mean(seen)


def test_one_seat_sees_both_areas_of_the_worked_program():
    zones = seven_zones()
    sides = {"length_m": 102 * FT, "width_m": 54 * FT}
    packing = spread(zones, **sides, strip_m=STRIP_M).packing
    layout = layout_of(zones, packing, **sides, ring_m=8 * FT)
    seat = best_seat(layout)
    assert set(seat.seen_pct) == {"2-5", "5-12"}
    assert min(seat.seen_pct.values()) > 50
    assert not any(piece.use_zone.contains(seat.place) for piece in layout.pieces)
    assert layout.pad.contains(seat.place)
    # What it says is so: the share by area, from random points with sight lines of their own.
    for age, told_pct in seat.seen_pct.items():
        own = [piece for piece in layout.pieces if piece.ages == age]
        free = [p.use_zone.area - p.body.area for p in own]
        shares = [seen_points(layout, piece, seat.place) for piece in own]
        assert told_pct == pytest.approx(100 * np.average(shares, weights=free), abs=10)


def test_all_is_seen_where_nothing_is_high():
    seat = best_seat(
        layout_at((rocker("a"), (0, 0)), (rocker("b", "2-5"), (9, 0)), length_m=14, width_m=6)
    )
    assert (seat.seen_pct, seat.unseen) == ({"2-5": 100.0, "5-12": 100.0}, ())


@pytest.mark.parametrize(("height_ft", "hides"), [(3.2, False), (6, True)])
def test_a_wall_from_edge_to_edge_hides_the_other_area_if_it_is_over_a_metre(height_ft, hides):
    # A wall of 60 x 2 ft across the pad and its ring: one area on each side of it.
    wall = zone_of("climber", 2, 60, height_ft, label="wall")
    places = [(rocker("west", "2-5"), (0, 7)), (wall, (8, 0)), (rocker("east"), (14, 7))]
    layout = layout_at(*places, length_m=19, width_m=22, ring_m=0.0)
    layout = Layout(19, 22, 2.0, layout.pieces)
    walls = layout.pieces[1].body
    assert walls.bounds[1] == pytest.approx(6 * FT)
    seat = best_seat(layout)
    assert (min(seat.seen_pct.values()) < 80) == hides


def test_nobody_sees_through_a_tower_but_through_a_swing():
    # A tower of 60 x 40 ft with a rocker at each end, more than 25 m from any view past it.
    for kind, more, unseen in (
        ("climber", {}, 1),
        ("belt swing", {"pivot_height_m": 8, "moving": True}, 0),
    ):
        tower = zone_of(kind, 60, 0 if more else 40, 9, label="tower", **more)
        west, south, east, north = tower.square.bounds
        long_m, high_m = east - west, north - south
        places = [
            (rocker("left"), (0, high_m / 2)),
            (tower, (5, 2)),
            (rocker("right", "2-5"), (5 + long_m, high_m / 2)),
        ]
        layout = layout_at(*places, length_m=10 + long_m, width_m=high_m + 4, ring_m=2.0)
        assert (len(best_seat(layout).unseen) >= 1) == bool(unseen), kind


def test_what_is_further_than_25_metres_counts_as_unseen():
    # Two rockers 60 m apart: no place is within 25 m of both.
    far = layout_at((rocker("a"), (0, 0)), (rocker("b", "2-5"), (60, 0)), length_m=65, width_m=5)
    seat = best_seat(far)
    assert len(seat.unseen) == 1
    assert min(seat.seen_pct.values()) == 0.0
    near = layout_at((rocker("a"), (0, 0)), (rocker("b", "2-5"), (40, 0)), length_m=45, width_m=5)
    seat = best_seat(near)
    assert seat.unseen == ()
    for piece in near.pieces:
        assert seat.place.distance(piece.body) <= SIGHT_M


def test_where_there_is_no_room_to_sit_there_is_no_seat():
    assert best_seat(layout_at((rocker("a"), (0, 0)), length_m=5, width_m=5, ring_m=0.5)) is None
    assert best_seat(Layout(5.0, 5.0, 2.0, ())) is None
