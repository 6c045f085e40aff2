"""Routes held to published figures: the ADA standards, the fire code, the design truck."""

import numpy as np
import pytest

from playsite.criteria.accessible_route import CRITERION as ACCESSIBLE
from playsite.criteria.emergency import FIRE_ENGINE, REACH_M
from playsite.criteria.truck import TRUCK
from playsite.routes import accessible_way as ada
from playsite.routes.truck_turn import SU_30

FOOT_M, INCH_M = 0.3048, 0.0254


def test_slopes_of_the_2010_ada_standards():
    # 403.3: walking surfaces 1:20, cross slope 1:48; 405.2: ramp runs 1:12 (read at corada.com)
    assert (ada.WALK_SLOPE, ada.CROSS_SLOPE, ada.RAMP_SLOPE) == (1 / 20, 1 / 48, 1 / 12)
    # 405.6: 30 in of rise at most for any run
    assert pytest.approx(30 * INCH_M) == ada.RISE_M
    assert pytest.approx(60 * INCH_M) == ada.LANDING_M  # 405.7.3, from memory
    assert pytest.approx(36 * INCH_M) == ada.CLEAR_M  # 403.5.1, from memory


@pytest.mark.parametrize(
    ("rise_in", "runs", "length_ft"),
    [
        # 36 in of rise: 36 ft of run and three landings of 5 ft, 51 ft (a published worked example
        # of 405.2, 405.6 and 405.7, benchcalcs.com, "ADA ramp rules, explained")
        (36, 2, 51),
        (30, 1, 30 + 10),
        (60, 2, 60 + 15),
        (61, 3, 61 + 20),
    ],
)
def test_ramps_with_their_landings(rise_in, runs, length_ft):
    rise_m = rise_in * INCH_M
    assert ada.ramp_runs(rise_m) == runs
    assert ada.ramp_length_m(rise_m) == pytest.approx(length_ft * FOOT_M)


def test_a_ramp_is_at_most_thirty_percent_shorter_than_a_walk():
    for rise_m in np.linspace(0.5, 4, 15):
        walk_m, ramp_m = rise_m / ada.WALK_SLOPE, ada.ramp_length_m(rise_m)
        assert 0.68 < ramp_m / walk_m < 1.0


def test_the_fire_code():
    # International Fire Code 503.1.1: 150 ft (45 720 mm); D102.1: 75,000 lb (34 050 kg);
    # D103.2: 10 percent (read in adopted copies); 503.2.1: 20 ft, 13 ft 6 in (from memory)
    assert pytest.approx(45.720) == REACH_M
    assert FIRE_ENGINE.weight_t == pytest.approx(34.050)
    assert FIRE_ENGINE.grade_pct == 10
    assert pytest.approx(20 * FOOT_M) == FIRE_ENGINE.width_m
    assert pytest.approx(13.5 * FOOT_M) == FIRE_ENGINE.height_m


def test_the_truck():
    # 33,000 lb, gross weight of U.S. truck class 7 (from memory); 14 ft high: common practice
    assert TRUCK.weight_t == pytest.approx(33_000 * 0.45359237 / 1000, abs=0.01)
    assert TRUCK.height_m == pytest.approx(14 * FOOT_M)


def test_what_is_screened_is_what_the_law_asks():
    (screen,) = ACCESSIBLE.screens
    assert "2010 ADA Standards" in str(screen.source)


def test_the_design_truck():
    # AASHTO, A Policy on Geometric Design of Highways and Streets, design vehicle SU (table read):
    # 9.2 m long, 2.4 m wide, wheelbase 6.1 m, overhangs 1.2 and 1.8 m
    assert SU_30.front_m + SU_30.wheelbase_m + SU_30.rear_m == pytest.approx(9.15, abs=0.05)
    assert (SU_30.width_m, SU_30.wheelbase_m) == (pytest.approx(2.4, abs=0.05), 6.1)
    assert SU_30.inside_radius_m == pytest.approx(28.4 * FOOT_M, abs=0.01)  # from memory
    # turning radius 42 ft in most editions, 41.8 ft in later ones
    assert SU_30.turning_radius_m == pytest.approx(41.8 * FOOT_M, abs=0.1)
    # off-tracking R - sqrt(R^2 - L^2), 5.07 ft for 42 ft and 20 ft: where the inner wheel runs
    inner_ft = np.sqrt(42**2 - 20**2) - 8
    assert SU_30.inside_radius_m / FOOT_M == pytest.approx(inner_ft, abs=0.6)
