"""Buildable land, its ledger, and setbacks, against areas worked by hand."""

import math

import numpy as np
import pytest
import shapely
from shapely import LineString, MultiLineString, MultiPolygon, Point, Polygon, box
from shapely.affinity import rotate

from playsite.pads.buildable import Removal, buildable_land, setback_land

LOT = box(0, 0, 30, 50)
STREET = LineString([(-100, -8), (130, -8)])


def removal(rule, shape, **more):
    return Removal(rule, shape, "worked by hand", **more)


def test_the_ledger_adds_up_and_an_earlier_rule_takes_what_two_share():
    pond, easement = box(0, 0, 40, 40), box(20, 0, 60, 40)
    result = buildable_land(
        box(0, 0, 100, 40),
        [removal("pond", pond, limit=15.0), removal("easement", easement, unit="pct", limit=2.0)],
    )
    assert [row.removed_m2 for row in result.ledger] == pytest.approx([1600, 800])
    assert [(row.rule, row.margin, row.unit) for row in result.ledger] == [
        ("pond", 15.0, "m"),
        ("easement", 2.0, "pct"),
    ]
    assert [shape.area for shape in result.taken] == pytest.approx([1600, 800])
    assert result.gross_m2 == 4000
    assert result.land.area == pytest.approx(1600)


def test_a_rule_that_took_nothing_keeps_its_row_with_0():
    far = removal("wetland", box(500, 500, 600, 600))
    empty = removal("canopy", Polygon())
    ledger = buildable_land(LOT, [far, empty]).ledger
    assert [(row.rule, row.removed_m2) for row in ledger] == [("wetland", 0.0), ("canopy", 0.0)]


def test_a_line_error_is_a_row_of_its_own_and_none_makes_no_row():
    result = buildable_land(LOT, [], line_error_m=1)
    assert result.land.area == pytest.approx(28 * 48)
    assert [(row.removed_m2, row.margin) for row in result.ledger] == [(1500 - 28 * 48, 1.0)]
    assert buildable_land(LOT, []).ledger == []


def test_parts_holes_and_slivers_are_kept_exactly():
    parcel = MultiPolygon([LOT, box(100, 0, 130, 50).difference(box(110, 20, 120, 30))])
    almost_all = box(0, 0, 29.999, 50)
    result = buildable_land(parcel, [removal("building", almost_all)])
    assert result.land.is_valid
    assert result.land.area == pytest.approx(0.05 + 1400, rel=1e-12)
    assert len(result.land.geoms) == 2
    assert sum(len(part.interiors) for part in result.land.geoms) == 1


def test_everything_taken_leaves_empty_land():
    result = buildable_land(LOT, [removal("flood", box(-1, -1, 60, 60))])
    assert result.land.is_empty
    assert result.land.geom_type == "MultiPolygon"
    assert result.ledger[0].removed_m2 == 1500


def test_an_outline_that_crosses_itself_is_mended():
    bow_tie = Polygon([(0, 0), (40, 0), (0, 40), (40, 40)])
    result = buildable_land(bow_tie, [removal("strip", box(0, 0, 40, 5))])
    assert result.land.is_valid
    assert result.gross_m2 == pytest.approx(800)


def test_a_removal_without_area_does_not_vanish():
    pipe = removal("gas main", LineString([(0, 0), (30, 50)]))
    with pytest.raises(ValueError, match="gas main.*LineString"):
        buildable_land(LOT, [pipe])
    with pytest.raises(ValueError, match="below 0"):
        buildable_land(LOT, [], line_error_m=-1)


def test_one_setback_all_round_counts_holes_too():
    with_hole = box(0, 0, 60, 60).difference(box(28, 28, 32, 32))
    strip = setback_land(with_hole, all_m=3)
    round_corners_m2 = 4 * 3 * 4 + math.pi * 9
    assert strip.area == pytest.approx(3600 - 54**2 + round_corners_m2, abs=0.002)


@pytest.mark.parametrize("turn_deg", [0, 25, 133])
def test_front_side_and_rear_are_told_by_the_street(turn_deg):
    lot, street = (rotate(shape, turn_deg, origin=(0, 0)) for shape in (LOT, STREET))
    strip = setback_land(lot, front_m=8, side_m=2, rear_m=5, streets=street)
    # 30 x 8 in front, 30 x 5 behind, twice 2 x the 37 left of the depth
    assert strip.area == pytest.approx(30 * 8 + 30 * 5 + 2 * 2 * 37)
    front = rotate(box(0.1, 0.1, 29.9, 7.9), turn_deg, origin=(0, 0))
    assert strip.covers(front)


def test_a_corner_lot_has_two_fronts():
    two = MultiLineString([STREET, LineString([(-8, -50), (-8, 150)])])
    strip = setback_land(LOT, front_m=6, side_m=2, rear_m=4, streets=two)
    # the longest front is the one of 50 m on the west; the east line faces away from it
    assert strip.area == pytest.approx(1500 - (30 - 6 - 4) * (50 - 6 - 2))


def test_a_lot_off_the_street_has_its_nearest_side_for_front():
    far = LineString([(-100, -40), (130, -40)])
    strip = setback_land(LOT, front_m=8, side_m=2, rear_m=5, streets=far)
    assert strip.area == pytest.approx(30 * 8 + 30 * 5 + 2 * 2 * 37)


def test_a_curved_frontage_is_one_side():
    bend = np.radians(np.linspace(-15, 15, 31))
    arc = np.column_stack([120 * np.sin(bend), -120 * np.cos(bend)])
    lot = Polygon([*arc, (20, -60), (-20, -60)])
    street = LineString(np.column_stack([128 * np.sin(bend * 2), -128 * np.cos(bend * 2)]))
    strip = setback_land(lot, front_m=6, streets=street)
    # less the line of no width that rounding leaves beside the strip
    kept = lot.difference(strip).buffer(-1e-6)
    # all the arc keeps 6 m away and nothing else does
    assert kept.distance(LineString(arc)) == pytest.approx(6, abs=0.001)
    assert kept.distance(Point(0, -60)) == pytest.approx(0, abs=1e-5)


def test_without_streets_every_side_gets_the_largest():
    strip = setback_land(LOT, front_m=6, side_m=3, rear_m=3)
    assert strip.area == pytest.approx(1500 - 18 * 38)


def test_the_setback_all_round_is_the_least_of_every_side():
    strip = setback_land(LOT, all_m=4, front_m=6, streets=STREET)
    assert strip.area == pytest.approx(1500 - 22 * 40)


def test_no_setback_takes_nothing_and_a_senseless_one_is_refused():
    assert setback_land(LOT).is_empty
    assert setback_land(LOT, all_m=0).is_empty
    assert shapely.equals(setback_land(LOT, all_m=40), MultiPolygon([LOT]))
    for wrong in (-1, math.nan, math.inf):
        with pytest.raises(ValueError, match="setback"):
            setback_land(LOT, front_m=wrong)
