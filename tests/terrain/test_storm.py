import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from playsite.terrain import storm


@given(st.floats(0, 1000), st.floats(1, 100))
def test_no_more_runs_off_than_falls(rain_mm, curve_number):
    assert 0 <= storm.runoff_mm(rain_mm, curve_number=curve_number) <= rain_mm * (1 + 1e-12)


def test_a_little_rain_is_all_kept():
    kept_mm = storm.retention_mm(74)
    assert storm.runoff_mm(0.2 * kept_mm, curve_number=74) == 0
    assert storm.runoff_mm(0.2 * kept_mm + 1, curve_number=74) > 0


def test_a_sealed_surface_keeps_nothing():
    assert storm.runoff_mm(30, curve_number=100) == 30


def test_water_that_runs_over_grass_first_counts_less_but_only_below_30_per_cent():
    few = storm.built_curve_number(61, impervious_share=0.2, unconnected_share=1)
    assert few == pytest.approx(61 + 0.2 * 37 / 2)
    many = storm.built_curve_number(61, impervious_share=0.3, unconnected_share=1)
    assert many == storm.built_curve_number(61, impervious_share=0.3)


@given(st.floats(1e-4, 50), st.floats(0, 5), st.floats(0.5, 10), st.floats(0.001, 0.2))
def test_the_depth_of_a_swale_is_that_of_its_flow(flow_m3_s, bottom_m, side, slope):
    swale = {"bottom_m": bottom_m, "side_run_per_rise": side, "slope": slope}
    depth_m = storm.swale_depth_m(flow_m3_s, **swale)
    assert storm.swale_flow_m3_s(depth_m, **swale) == pytest.approx(flow_m3_s, rel=1e-4)


def test_nothing_flows_in_a_dry_swale_and_nothing_soaks_into_rock():
    swale = {"bottom_m": 0, "side_run_per_rise": 3, "slope": 0.02}
    assert storm.swale_flow_m3_s(0, **swale) == 0
    assert storm.swale_depth_m(0, **swale) == pytest.approx(0, abs=1e-6)
    assert math.isinf(storm.drawdown_h(0.1, ksat_um_s=0))


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: storm.rational_peak_m3_s(0.3, intensity_mm_h=100, area_ha=81), "area_ha"),
        (lambda: storm.rational_peak_m3_s(1.3, intensity_mm_h=100, area_ha=1), "runoff_coeff"),
        (lambda: storm.runoff_mm(math.nan, curve_number=70), "rain_mm"),
        (lambda: storm.runoff_mm(10, curve_number=0), "above 0 and at most 100"),
        (lambda: storm.mixed_curve_number([1], [70, 80]), "one area"),
        (lambda: storm.mixed_curve_number([0, 0], [70, 80]), "one area"),
        (lambda: storm.manning_m_s(0.1, slope=0.01, roughness=0), "roughness"),
        (
            lambda: storm.swale_depth_m(1, bottom_m=0, side_run_per_rise=0, slope=0.01),
            "carries nothing",
        ),
        (
            lambda: storm.sheet_flow_h(101, roughness=0.24, slope=0.01, rain_2_year_24_h_mm=90),
            "length_m",
        ),
    ],
)
def test_figures_that_make_no_sense_are_refused(call, says):
    with pytest.raises(ValueError, match=says):
        call()
