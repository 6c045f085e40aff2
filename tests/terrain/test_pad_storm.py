"""Storms at a pad against published figures: the rational method, curve numbers, times, soils."""

import math

import pytest

from playsite.terrain.pad_storm import (
    Arriving,
    concentration_min,
    curve_number,
    intensity_mm_h,
    peak_m3_s,
    runoff_coefficient,
    runoff_m3,
    soaked_away_h,
    swale_m,
)

ACRE_M2 = 4046.8564224
CFS_M3_S = 0.3048**3
INCH_MM = 25.4


def lawn(area_m2=10_000.0, group="D", fall_pct=1.0, hard=0.0):
    return Arriving(area_m2, hard, 100.0, fall_pct, group)


@pytest.mark.parametrize(("group", "inches"), [("A", 0.11), ("B", 1.08), ("C", 1.97), ("D", 2.46)])
def test_a_storm_of_4_5_inches_on_good_open_space(group, inches):
    # by hand from TR-55, equations 2-3 and 2-4, with table 2-2a's 39, 61, 74, 80
    depth_mm = 1000 * runoff_m3(lawn(group=group), 4.5 * INCH_MM) / 10_000
    assert depth_mm / INCH_MM == pytest.approx(inches, abs=0.006)


@pytest.mark.parametrize(
    ("group", "fall_pct", "coefficient"),
    [
        ("A", 1, 0.10),
        ("A", 5, 0.15),
        ("B", 9, 0.20),
        ("C", 1, 0.17),
        ("D", 5, 0.22),
        ("D", 9, 0.35),
    ],
)
def test_lawns_have_the_upper_end_of_their_range(group, fall_pct, coefficient):
    # ASCE and WPCF (1969), lawns (from memory): sandy .05-.10, .10-.15, .15-.20; heavy .13-.17,
    # .18-.22, .25-.35; flat below 2 %, steep above 7 %
    assert runoff_coefficient(lawn(group=group, fall_pct=fall_pct)) == pytest.approx(coefficient)


def test_the_peak_is_that_of_the_rational_method_and_rarer_storms_run_off_more():
    # 1.008 C i A: 1.2 acres, 5 in/h; half hard, half steep heavy lawn: C = (0.9 + 0.35) / 2
    land = lawn(1.2 * ACRE_M2, fall_pct=9, hard=0.5)
    ten = peak_m3_s(land, {10.0: 5 * INCH_MM}, rare=False)
    hundred = peak_m3_s(land, {10.0: 7.5 * INCH_MM}, rare=True)
    assert ten / CFS_M3_S == pytest.approx(1.008 * 0.625 * 5 * 1.2, rel=1e-3)
    assert hundred / ten == pytest.approx(1.5 * 1.25)


def test_all_that_falls_on_roofs_runs_off_at_most():
    land = lawn(hard=1.0)
    assert peak_m3_s(land, {10.0: 36.0}, rare=True) == pytest.approx(0.1)  # C is 1, not 1.125


def test_water_takes_its_time_by_kirpich_and_ten_minutes_at_least():
    # 0.0195 L^0.77 S^-0.385 with L 1,000 m and S 0.01: 23.5 minutes
    assert concentration_min(Arriving(1e5, 0, 1000, 10)) == pytest.approx(23.5, abs=0.1)
    assert concentration_min(Arriving(1e3, 0, 30, 1)) == 10
    assert concentration_min(Arriving(1e3, 0, 0, 0)) == 10


def test_intensities_are_read_between_durations_and_held_beyond_them():
    table = {5.0: 160.0, 10.0: 120.0, 60.0: 45.0}
    assert intensity_mm_h(table, 5) == pytest.approx(160)
    assert intensity_mm_h(table, 2) == pytest.approx(160)
    assert intensity_mm_h(table, 600) == pytest.approx(45)
    assert 45 < intensity_mm_h(table, 30) < 120


def test_the_swale_of_the_handbooks_runs_half_a_foot_deep_at_5_cubic_feet():
    # Manning by hand: bottom 2 ft, 3:1, 2 %, n .035, depth .5 ft: A 1.75, P 5.16, Q 5.1 cu ft/s
    assert swale_m(5.1 * CFS_M3_S) / 0.3048 == pytest.approx(0.5, abs=0.01)
    assert swale_m(0.0) == 0


def test_soils_take_their_rain_at_half_their_least_rate():
    # group B takes 4 micrometres a second at the least (NEH 630, ch. 7): 100 mm at half of it
    assert soaked_away_h(100, "B") == pytest.approx(0.1 / 2e-6 / 3600)
    assert math.isinf(soaked_away_h(100, "D"))
    assert math.isinf(soaked_away_h(100, "B/D"))  # dual groups are D unless drained


class TestWhatIsNotKnown:
    def test_without_a_group_there_is_no_curve_number(self):
        land = lawn(group=None)
        assert math.isnan(curve_number(land))
        assert math.isnan(runoff_m3(land, 100))
        assert math.isnan(soaked_away_h(100, None))

    def test_unknown_soil_counts_as_heavy_for_the_peak(self):
        assert runoff_coefficient(lawn(group=None)) == runoff_coefficient(lawn(group="D"))

    def test_without_roofs_and_pavement_there_is_no_peak(self):
        land = lawn(hard=math.nan)
        assert math.isnan(peak_m3_s(land, {10.0: 100.0}, rare=False))
        assert math.isnan(swale_m(math.nan))

    def test_beyond_80_hectares_the_method_does_not_hold(self):
        assert math.isnan(peak_m3_s(lawn(800_001.0), {10.0: 100.0}, rare=False))
        assert peak_m3_s(lawn(799_999.0), {10.0: 100.0}, rare=False) > 0
