"""The way in: as wide as it says, through no piece, swing's zone or slide's exit; to what it can."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from made_up_zones import FT, STRIP_M, random_zones, rectangle_m, seven_zones, zone_of

from playsite.program.layout import Layout, layout_of, pieces_in, spread
from playsite.program.packing import Packing
from playsite.program.way_in import _ways, way_in

WIDTH_M = 5 * FT
TOUCH_M = 0.03  # a disc is grown by up to 5 mm more, so the way's edge ends as near as that


def layout_at(*places, length_ft, width_ft, ring_ft=8):
    """Layout of zones whose lower left corners are given, in feet."""
    zones = [zone for zone, _ in places]
    at = np.array([[place, place] for _, place in places], float).transpose(2, 0, 1) * FT
    pieces = pieces_in(zones, Packing(at[0], at[1], (0,) * len(zones)))
    return Layout(length_ft * FT, width_ft * FT, ring_ft * FT, pieces)


def clear(layout, route):
    """Whether the strip of ground along the way is free, by buffers and areas alone."""
    half_m = route.width_m / 2 - 0.001
    strip = route.ways.buffer(half_m - 1e-6, cap_style="flat", join_style="mitre", mitre_limit=1.0)
    closed = [shape for piece in layout.pieces for shape in (piece.body, piece.exclusive)]
    near_m = min(route.ways.distance(shape) for shape in closed if not shape.is_empty)
    overlap_m2 = max(strip.intersection(shape).area for shape in closed)
    return (
        layout.pad.buffer(1e-6).covers(route.ways)
        and near_m >= half_m - 1e-6
        and not (overlap_m2 > 1e-6)
    )


def is_reached(piece, route):
    target = piece.body if piece.zone.overlaps == "stationary" else piece.exclusive
    return route.ways.distance(target) <= route.width_m / 2 + TOUCH_M


def holds(layout, route):
    """Everything that is said of a route."""
    assert clear(layout, route)
    assert layout.pad.exterior.distance(route.gate) < 1e-9
    joined = shapely.union_all(route.ways.buffer(1e-6))
    assert joined.geom_type == "Polygon"  # one way, from the gate
    assert joined.distance(route.gate) < 1e-6
    for piece in layout.pieces:
        assert is_reached(piece, route) == (piece.label not in route.unreached)


def test_the_way_into_the_worked_program_reaches_every_piece():
    zones = seven_zones()
    for length_ft, width_ft in ((102, 54), (96, 64), (120, 80)):
        sides = {"length_m": length_ft * FT, "width_m": width_ft * FT}
        packing = spread(zones, **sides, strip_m=STRIP_M).packing
        layout = layout_of(zones, packing, **sides, ring_m=8 * FT)
        route = way_in(layout, WIDTH_M)
        holds(layout, route)
        assert route.unreached == ()
        # The gate stands at an end of the strip between the ages.
        (strip,) = layout.strips
        inner = layout.surfacing.exterior.distance(route.gate)
        assert strip.distance(route.gate) == pytest.approx(inner)


def test_ways_through_random_programs_keep_what_is_said_of_them():
    rng, ways = np.random.default_rng(41), 0
    for number in range(40):
        zones = random_zones(rng, 2 + number % 9, two_areas=bool(number % 2))
        sides = rectangle_m(rng, zones, (1.3, 1.8))
        packing = spread(zones, **sides).packing
        del sides["strip_m"]
        if packing is None:
            continue
        layout = layout_of(zones, packing, **sides, ring_m=float(rng.choice([0.0, 1.6, 2.4])))
        route = way_in(layout, WIDTH_M)
        if route is not None:
            ways += 1
            holds(layout, route)
    assert ways >= 25


def test_a_way_exactly_as_wide_as_the_ring_is_a_way():
    # A bucket swing's own zone from edge to edge: only the ring of 5 ft leads round it.
    swing = zone_of("bucket swing", 10, pivot_height_m=8, seat_height_m=2, moving=True)
    layout = layout_at((swing, (-6, 0)), length_ft=10, width_ft=24, ring_ft=5)
    route = way_in(layout, WIDTH_M)
    holds(layout, route)
    assert route.unreached == ()


def test_what_is_walled_in_by_swings_is_told_as_unreached():
    # Two swings' own zones from edge to edge, no ring: the climber between them is cut off from
    # the climbers outside.
    def swing(name):
        return zone_of("belt swing", 30, label=name, pivot_height_m=8, moving=True)

    def climber(name):
        return zone_of("climber", 8, 8, 6, label=name)

    # Along y from 0: climber (20), swing (32), climber (20), swing (32), climber (20); 30 wide.
    places = [(climber("low"), (5, 0)), (swing("one"), (-6, 20)), (climber("middle"), (5, 52))]
    places += [(swing("two"), (-6, 72)), (climber("high"), (5, 104))]
    layout = layout_at(*places, length_ft=30, width_ft=124, ring_ft=0)
    route = way_in(layout, WIDTH_M)
    holds(layout, route)
    reached = {piece.label for piece in layout.pieces} - set(route.unreached)
    # One of the three parts of the ground, and the swing zones at its edge.
    assert len(reached & {"low", "middle", "high"}) == 1
    # A ring of 8 ft leads round: all are reached.
    assert way_in(replace(layout, ring_m=8 * FT), WIDTH_M).unreached == ()


def test_the_way_goes_round_a_slide_exit_and_not_through_it():
    # The exit of a wide slide lies between the only gate's side and the climber.
    slide = zone_of("slide", 8, 20, 8, label="slide", exit="right", exit_height_m=8)
    climber = zone_of("climber", 8, 8, 6, label="climber")
    layout = layout_at((slide, (0, 0)), (climber, (22, 6)), length_ft=42, width_ft=32)
    route = way_in(layout, WIDTH_M)
    holds(layout, route)
    assert route.unreached == ()
    exit_zone = layout.pieces[0].exclusive
    assert exit_zone.area / FT**2 == pytest.approx(160)
    assert route.ways.distance(exit_zone) >= WIDTH_M / 2 - 0.0011


def test_ways_are_the_shortest_that_there_are():
    # Round a block of 2 x 6 m in the middle: by hand, two diagonals of 3 m and its side of 2 m.
    room = shapely.box(0, 0, 10, 10).difference(shapely.box(4, 2, 6, 8))
    stops = [shapely.Point(9, 5), shapely.Point(1, 9)]
    ways = _ways(room, shapely.Point(1, 5), stops)
    assert [way.length for way in ways] == pytest.approx([2 * 18**0.5 + 2, 4.0])


def test_there_is_no_way_into_what_is_full():
    swing = zone_of("belt swing", 20, pivot_height_m=8, moving=True)
    layout = layout_at((swing, (-6, 0)), length_ft=20, width_ft=32, ring_ft=0)
    assert way_in(layout, WIDTH_M) is None


def test_an_empty_pad_has_a_gate():
    route = way_in(Layout(10.0, 8.0, 2.0, ()), WIDTH_M)
    assert route.unreached == ()
    assert route.ways.length == pytest.approx(WIDTH_M / 2, abs=0.002)
