"""Layouts: busy pieces apart, shapes on the map, and an exact check that finds what is planted."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from made_up_zones import FT, STRIP_M, random_zones, rectangle_m, seven_zones, zone_of
from shapely.affinity import translate

from playsite.program.layout import (
    BUSY,
    Layout,
    blocks_of,
    layout_of,
    overlaps_of,
    pieces_in,
    placed,
    spread,
)
from playsite.program.layout_check import faults_of
from playsite.program.packing import Packing, pack
from playsite.program.seat import best_seat
from playsite.program.way_in import way_in


def laid(zones, length_ft, width_ft, *, strip_m=STRIP_M, ring_ft=8):
    """Layout with busy pieces spread, in feet."""
    sides = {"length_m": length_ft * FT, "width_m": width_ft * FT}
    packing = spread(zones, **sides, strip_m=strip_m).packing
    assert packing is not None
    return layout_of(zones, packing, **sides, ring_m=ring_ft * FT)


def standing(*places):
    """Pieces whose zones have their lower left corners at places, in feet, not turned."""
    zones = [zone for zone, _ in places]
    at = np.array([[place, place] for _, place in places], float).transpose(2, 0, 1) * FT
    return pieces_in(zones, Packing(at[0], at[1], (0,) * len(zones)))


def faults_at(*places, length_ft=200, width_ft=100, strip_m=0.0):
    layout = Layout(length_ft * FT, width_ft * FT, 0.0, standing(*places))
    return faults_of(layout, strip_m=strip_m)


def test_busy_pieces_stand_further_apart_than_in_a_packing_alone():
    zones = seven_zones()
    sides = {"length_m": 120 * FT, "width_m": 72 * FT}
    alone = pack(blocks_of(zones), overlaps_of(zones), **sides, strip_m=STRIP_M).packing
    assert alone is not None
    tight = layout_of(zones, alone, **sides, ring_m=0.0)
    layout = laid(zones, 120, 72)
    assert layout.busy_gap_m > tight.busy_gap_m
    assert faults_of(layout, strip_m=STRIP_M) == []
    busy = [piece for piece in layout.pieces if piece.zone.piece.kind in BUSY]
    gaps = [
        one.body.distance(other.body)
        for i, one in enumerate(busy)
        for other in busy[i + 1 :]
        if one.ages == other.ages
    ]
    assert layout.busy_gap_m == pytest.approx(min(gaps))


def test_two_busy_pieces_alone_are_spread_by_six_metres_at_the_most():
    # Two composites in a row of 60 m: zones 6 m apart, or whatever more the middle of the room
    # that is left gives; never less.
    zones = [zone_of("composite", 10, 10, label=name) for name in "ab"]
    sides = {"length_m": 60.0, "width_m": 22 * FT}
    packing = spread(zones, **sides, strip_m=0.0).packing
    layout = layout_of(zones, packing, **sides, ring_m=0.0)
    # Margins of 6 ft and an overlap of 3 that isn't used: distance of zones is gap less overlap.
    assert layout.busy_gap_m >= 12 * FT + 6.0 - 0.1 - 3 * FT


def test_spread_layouts_of_random_programs_keep_every_rule():
    rng, spread_ones = np.random.default_rng(31), 0
    for number in range(30):
        zones = random_zones(rng, 3 + number % 8, two_areas=bool(number % 2))
        sides = rectangle_m(rng, zones, (1.3, 1.8))
        packing = spread(zones, **sides).packing
        strip_m = sides.pop("strip_m")
        if packing is not None:
            spread_ones += 1
            layout = layout_of(zones, packing, **sides, ring_m=2.0)
            assert faults_of(layout, strip_m=strip_m) == []
    assert spread_ones >= 20


def test_what_has_no_room_is_impossible_to_spread():
    decision = spread(seven_zones(), length_m=87.8 * FT, width_m=58.5 * FT, strip_m=STRIP_M)
    assert (decision.outcome, decision.packing) == ("impossible", None)


def test_zones_of_a_layout_by_hand():
    # One climber of 12 x 6 ft: its zone rounded is 72 + 2 x 6 x 18 + 36 pi sq ft.
    layout = laid([zone_of("climber", 12, 6)], 30, 30)
    area = 72 + 216 + 36 * np.pi
    assert layout.zones_union_m2 / FT**2 == pytest.approx(area, rel=1e-3)
    assert layout.pad.area / FT**2 == pytest.approx(46 * 46)
    assert layout.busy_gap_m is None


def test_the_strip_is_drawn_between_the_ages_and_nothing_stands_in_it():
    layout = laid(seven_zones(), 110, 60)
    (strip,) = layout.strips
    west, south, east, north = strip.bounds
    assert min(east - west, north - south) == pytest.approx(STRIP_M)
    for piece in layout.pieces:
        assert strip.intersection(piece.square).area == pytest.approx(0.0, abs=1e-9)
    across = shapely.LineString([(west, south), (east, north)])
    assert layout.surfacing.difference(strip.buffer(1e-9)).geom_type == "MultiPolygon"
    assert strip.covers(across)


@pytest.mark.parametrize("rotation_deg", [0.0, 36.5, 90.0, -120.0])
def test_a_layout_lies_on_the_map_to_scale_about_the_middle_of_its_pad(rotation_deg):
    layout = laid(seven_zones(), 110, 60)
    layout = replace(layout, route=way_in(layout, 1.524), seat=best_seat(layout))
    shapes = placed(layout, easting=500_000.0, northing=4_800_000.0, rotation_deg=rotation_deg)
    pad = next(shape.geometry for shape in shapes if shape.role == "pad")
    assert pad.centroid.coords[0] == pytest.approx((500_000.0, 4_800_000.0))
    assert pad.area == pytest.approx(layout.pad.area)
    # The long side points as told: from a pad's middle, half its length in that direction.
    turn = np.radians(rotation_deg)
    half_m = layout.length_m / 2 + layout.ring_m
    end = np.array([500_000.0, 4_800_000.0]) + half_m * np.array([np.cos(turn), np.sin(turn)])
    assert pad.exterior.distance(shapely.Point(end)) < 1e-6
    roles = {shape.role for shape in shapes}
    assert roles == {
        *("pad", "surfacing", "strip", "use zone", "exclusive zone"),
        *("equipment", "route", "gate", "seat"),
    }
    bodies = [shape for shape in shapes if shape.role == "equipment"]
    assert [shape.label for shape in bodies] == [piece.label for piece in layout.pieces]
    for shape, piece in zip(bodies, layout.pieces, strict=True):
        assert shape.geometry.area == pytest.approx(piece.body.area)
        assert pad.covers(shape.geometry)


def test_turned_pieces_turn_their_exits_with_them():
    zone = zone_of("slide", 8, 3, 5, exit="right", exit_height_m=5)
    for turn, direction in enumerate([(1, 0), (0, 1), (-1, 0), (0, -1)]):
        zero = np.zeros((1, 2))
        (piece,) = pieces_in([zone], Packing(zero, zero, (turn,)))
        way = np.array(piece.exclusive.centroid.coords[0]) - piece.body.centroid.coords[0]
        assert way / np.hypot(*way) == pytest.approx(np.array(direction), abs=1e-9)
        assert piece.square.bounds[:2] == pytest.approx((0, 0))


def climber(name, height_ft=6.0, ages="5-12"):
    return zone_of("climber", 10, 8, height_ft, label=name, ages=ages)


def swing(name, **more):
    return zone_of("belt swing", 10, label=name, pivot_height_m=8, moving=True, **more)


def test_the_check_passes_what_just_keeps_the_rules():
    # Zones of 22 x 20 ft: high ones overlap 3 ft, low ones 6; swings' sides overlap 6.
    assert faults_at((climber("a"), (0, 0)), (climber("b"), (19, 0))) == []
    assert faults_at((climber("a", 2.5), (0, 0)), (climber("b", 2.5), (16, 0))) == []
    assert faults_at((swing("a"), (0, 0)), (swing("b"), (16, 0))) == []


@pytest.mark.parametrize(
    ("places", "options", "said"),
    [
        ([(climber("a"), (-0.1, 0))], {}, "a: its use zone leaves the surfacing"),
        ([(swing("a"), (5, 5))], {}, "a: moves, and stands at no edge"),
        ([(climber("a"), (0, 0)), (climber("b"), (18.9, 0))], {}, "nearer to each other than 2.74"),
        (
            [(climber("a", 2.5), (0, 0)), (climber("b", 2.5), (15.9, 0))],
            {},
            "nearer to each other than 1.83",
        ),
        (
            [(climber("a", 2.5), (0, 0)), (climber("b", 2.5), (15.9, 0))],
            {},
            "a piece stands in another's use zone",
        ),
        ([(swing("a"), (0, 0)), (climber("b"), (21.9, 0))], {}, "their zones overlap"),
        ([(swing("a"), (0, 0)), (swing("b"), (15.9, 0))], {}, "overlapped that never may be"),
        (
            [(climber("a"), (0, 0)), (climber("b", ages="2-5"), (33.9, 0))],
            {"strip_m": STRIP_M},
            "ages are nearer than the strip",
        ),
        (
            [
                (zone_of("slide", 8, 3, 5, label="a", exit="right", exit_height_m=5), (0, 0)),
                (climber("b"), (17, -2)),
            ],
            {},
            "overlapped that never may be",
        ),
    ],
)
def test_the_check_finds_what_breaks_a_rule(places, options, said):
    assert any(said in fault for fault in faults_at(*places, **options))


def test_a_good_layout_with_one_piece_pushed_aside_is_found_out():
    rng = np.random.default_rng(33)
    layout = laid(seven_zones(), 102, 54)
    assert faults_of(layout, strip_m=STRIP_M) == []
    for number, piece in enumerate(layout.pieces):
        angle = rng.uniform(0, 2 * np.pi)
        by = 3.0 * np.array([np.cos(angle), np.sin(angle)])
        names = ("body", "use_zone", "square", "exclusive")
        moved = replace(piece, **{name: translate(getattr(piece, name), *by) for name in names})
        pieces = (*layout.pieces[:number], moved, *layout.pieces[number + 1 :])
        assert faults_of(replace(layout, pieces=pieces), strip_m=STRIP_M) != []
