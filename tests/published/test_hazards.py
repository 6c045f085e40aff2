"""Hazards against published values; each row says its source, and how far it was seen."""

import numpy as np
import pytest
from shapely import LineString, Point

from playsite._way_settings import ChildTable
from playsite.criteria.drop_offs import CRITERION as DROP_OFFS
from playsite.criteria.heavy_traffic import CRITERION as HEAVY_TRAFFIC
from playsite.criteria.heavy_traffic import HEAVY_A_DAY
from playsite.criteria.other_hazards import RULES, impact_radius_m
from playsite.criteria.overhead import crane_m, school_m
from playsite.criteria.traffic import REQUIRED_M
from playsite.layers.streets import LANE_M
from playsite.proximity.dash import OPENING_M, dash_m

FT_M = 0.3048


@pytest.mark.parametrize(
    ("kv", "feet"),
    [(0.24, 10), (50, 10), (50.1, 15), (200, 15), (345, 20), (350, 20), (500, 25), (750, 35)],
)
def test_a_crane_keeps_off_a_live_line(kv, feet):
    # 29 CFR 1926.1408, table A (from memory)
    assert crane_m(kv) == pytest.approx(feet * FT_M)


def test_of_an_unknown_voltage_the_most_is_kept_and_beyond_the_table_nothing_is_said():
    assert crane_m(np.nan) == pytest.approx(35 * FT_M)
    assert np.isnan(crane_m(1000))


@pytest.mark.parametrize(
    ("kv", "feet"), [(50, 100), (133, 100), (220, 150), (230, 150), (500, 350), (550, 350)]
)
def test_schools_keep_off_a_lines_right_of_way(kv, feet):
    # Cal. Code Regs. tit. 5 sec. 14010(c), as San Joaquin County's report quotes it: schools only
    assert school_m(kv) == pytest.approx(feet * FT_M)


def test_between_its_bands_the_schools_rule_says_nothing():
    assert np.isnan([school_m(kv) for kv in (12, 138, 345, 750)]).all()


def test_a_pipeline_or_a_rail_within_1500_feet_is_told():
    # Cal. Code Regs. tit. 5 sec. 14010(h), seen at the state's page; 14010(d) from memory
    assert RULES["pipeline"].keep_m == pytest.approx(457.2)
    assert RULES["rail"].flag_m == pytest.approx(457.2)


def test_a_gas_pipelines_fire_reaches_as_far_as_its_rule_says():
    # 49 CFR 192.903 (from memory): 1,000 psi, 30 in: 655 ft
    assert impact_radius_m(1000, 30) / FT_M == pytest.approx(655, abs=0.5)


def test_a_fence_of_four_feet_stops_a_child_and_three_and_a_half_inches_don_t_let_one_through():
    # Caring for Our Children, 6.1.0.6 and 6.1.0.8; COMAR 13A.16.05.12 F: 4 ft
    assert ChildTable().fence_m == pytest.approx(4 * FT_M, abs=0.02)
    assert (
        ChildTable().gap_m == OPENING_M
    )  # said once for the study and once for the function alone
    assert pytest.approx(3.5 * 0.0254, abs=1e-3) == OPENING_M
    for gap_m, expected in ((0.08, np.inf), (0.10, 30.0)):
        fence = [LineString([(-50, 10), (0, 10)]), LineString([(gap_m, 10), (50, 10)])]
        found = dash_m([Point(gap_m / 2, 0)], [Point(gap_m / 2, 30)], fence, reach_m=60)
        assert found.loc[0, "dash_m"] == pytest.approx(expected, abs=0.01)


def test_a_busy_street_and_a_car_park_are_due_twenty_metres():
    # Camden (Australia), open-space design manual, 2023
    assert REQUIRED_M["collector"] == 20
    assert RULES["drive"].keep_m == 20


def test_volumes_of_classes_lie_below_what_is_heavy():
    # FHWA Highway Functional Classification 2013, tables 3-5 and 3-6 (from memory): the most that
    # local streets, collectors and minor arterials carry; only principal arterials come near
    assert max(700, 6_300, 14_000) < HEAVY_A_DAY


def test_a_heavy_road_is_far_between_500_and_2000_feet():
    # EPA: highest within about 500 ft, near background by about 2,000 ft
    at = {knot.name: knot.at for knot in HEAVY_TRAFFIC.curve.knots}
    assert at["acceptable"] == pytest.approx(500 * FT_M, abs=3)
    assert 500 * FT_M < at["ideal"] < 2000 * FT_M


def test_five_lanes_reach_nine_metres_from_their_centre_line():
    # golden: centre line 20 m off, pavement edge about 11 m
    edge_m = 20 - 5 * LANE_M / 2
    assert edge_m == pytest.approx(11, abs=0.5)


def test_a_fall_is_none_up_to_half_a_metre():
    # common practice, no source
    at = {knot.name: knot.at for knot in DROP_OFFS.curve.knots}
    assert (at["ideal"], at["poor"]) == (0.5, 0.75)
