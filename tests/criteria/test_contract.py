"""The contract of a criterion: what it refuses, and the sentence it says."""

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely

from playsite.criteria._contract import Criterion, Measured, Screen, Source, measured
from playsite.criteria._curve import Curve
from playsite.errors import ContractError
from playsite.units import Unit


class _Town:
    """A site that has every layer but those that are named."""

    def __init__(self, *lacks):
        self.lacks = lacks

    def has(self, kind):
        return kind not in self.lacks


def _pads(n=3):
    table = {"parcel_id": [str(i) for i in range(n)], "length_m": 30.0, "width_m": 20.0}
    shapes = [shapely.box(40 * i, 0, 40 * i + 30, 20) for i in range(n)]
    return gpd.GeoDataFrame(table, geometry=shapes, crs="EPSG:26918").rename_axis("pad_id")


def _criterion(measure, **changes):
    usual = {
        "name": "quiet",
        "question": "Is it quiet?",
        "plain": "noise",
        "unit": Unit.METRE,
        "needs": ("streets",),
        "measure": measure,
        "curve": Curve.rising(poor=0, acceptable=5, ideal=10, unit=Unit.METRE, source="x"),
        "weight": 1,
        "plausible": (0, 100),
        "group": "Hazards",
    }
    return Criterion(**{**usual, **changes})


def _series_m(pads, site):
    return pd.Series([1.0, np.nan, 3.0], index=pads.index)


def test_a_bare_series_is_a_value_without_interval_and_missing_stays_missing():
    got = measured(_criterion(_series_m), _pads(), _Town())
    assert got.value.isna().tolist() == [False, True, False]
    assert got.low.equals(got.value)


def test_a_layer_that_is_absent_gives_unknown_not_zero():
    got = measured(_criterion(_series_m), _pads(), _Town("streets"))
    assert got.value.isna().all()
    assert "no layer of streets" in got.note.iloc[0]


def test_the_suffix_of_the_function_must_be_its_unit():
    def walk_ft(pads, site):
        raise AssertionError

    with pytest.raises(ContractError, match="must end in _m"):
        _criterion(walk_ft)


def test_more_than_the_whole_of_an_error_cannot_be_shared():
    with pytest.raises(ContractError, match=r"shared_error 1.5 is not 0 to 1"):
        _criterion(_series_m, shared_error=1.5)


def test_another_index_is_refused():
    def other_m(pads, site):
        return pd.Series([1.0, 2.0, 3.0], index=["x", "y", "z"])

    with pytest.raises(ContractError, match="another index"):
        measured(_criterion(other_m), _pads(), _Town())


def test_a_value_beyond_what_is_plausible_names_the_layer_to_look_at():
    def feet_m(pads, site):
        return pd.Series(328.0, index=pads.index)

    with pytest.raises(ContractError, match="not plausible.*streets"):
        measured(_criterion(feet_m), _pads(), _Town())


def test_a_failure_inside_becomes_a_sentence():
    def broken_m(pads, site):
        return pads["no such column"]

    with pytest.raises(ContractError, match='"quiet" failed while measuring: KeyError'):
        measured(_criterion(broken_m), _pads(), _Town())


def test_anything_but_a_series_is_refused():
    def list_m(pads, site):
        return [1.0] * len(pads)

    with pytest.raises(ContractError, match="gave back list"):
        measured(_criterion(list_m), _pads(), _Town())


def test_an_interval_must_hold_its_value():
    def odd_m(pads, site):
        value = pd.Series(5.0, index=pads.index)
        return Measured(value, low=value + 1)

    with pytest.raises(ContractError, match="does not hold its own value"):
        measured(_criterion(odd_m), _pads(), _Town())


def test_screens_need_a_quick_criterion():
    screen = Screen("too near", 1.0, Unit.METRE, "below", Source("x"))
    with pytest.raises(ContractError, match='cost must be "quick"'):
        _criterion(_series_m, screens=(screen,))


def test_a_weight_is_a_number_of_0_or_more():
    with pytest.raises(ContractError, match="weight"):
        _criterion(_series_m, weight=-1)


@pytest.mark.parametrize(
    ("side", "out"),
    [
        ("below", [True, False, False]),
        ("at or below", [True, True, False]),
        ("above", [False, False, True]),
    ],
)
def test_a_screen_keeps_to_its_side_and_an_unknown_is_not_out(side, out):
    screen = Screen("rule 2 m", 2.0, Unit.METRE, side, Source("x"))
    assert screen.is_out(pd.Series([1.0, 2.0, 3.0])).tolist() == out
    assert not screen.is_out(pd.Series([np.nan])).any()


def test_a_screen_that_a_study_moved_says_so():
    moved = Screen("steeper than 15 %", 15.0, Unit.PERCENT, "above", Source("x")).moved(10.0)
    assert moved.rule == "steeper than 10 %"
    assert str(moved.source) == "set by this study"


def test_knots_rise_or_the_curve_is_refused():
    with pytest.raises(ContractError, match="rise strictly"):
        Curve.rising(poor=5, acceptable=3, ideal=10, unit=Unit.METRE, source="x")
    curve = Curve.rising(poor=0, acceptable=5, ideal=10, unit=Unit.METRE, source="x")
    with pytest.raises(ContractError, match="no knot named"):
        curve.with_knots({"best": 3}, source="me")


def test_what_can_not_be_reached_scores_nothing_and_is_not_unknown():
    curve = Curve.falling(ideal=60, acceptable=120, poor=200, unit=Unit.METRE, source="x")
    assert curve.score([np.inf, np.nan]).tolist()[0] == 0
    assert np.isnan(curve.score([np.nan])[0])
