"""Screens and conditions of traffic and open water: what stands between, and what only seems to."""

import numpy as np
import pytest
from made_up_study import box, line, write_study

from playsite.study import run

PAD = box(100, 100, 31.7, 22.7)


@pytest.fixture
def site(tmp_path, monkeypatch):
    monkeypatch.setenv("PLAYSITE_CACHE", str(tmp_path / "cache"))

    def ranked(layers, study='criteria = ["fit", "traffic", "open_water"]'):
        file = write_study(tmp_path / "town", {"A": PAD}, layers=layers, study=study)
        result = run(file)
        return result.sites.iloc[0], result

    return ranked


def _pond(gap_m):
    return ([box(100, 100 - gap_m - 30, 31.7, 30)], {"name": ["Mill Pond"]})


@pytest.mark.parametrize(("gap_m", "status"), [(5.9, "screened out"), (6.1, "ranked")])
def test_six_metres_from_open_water_is_the_limit(site, gap_m, status):
    row, result = site({"water": _pond(gap_m)})
    assert row["status"] == status
    if status == "ranked":
        assert "barrier between the play area and the water" in row["conditions"]
    else:
        miss = result.misses.iloc[0]
        assert miss["margin"] == pytest.approx(gap_m - 6, abs=0.01)


def test_a_fence_all_along_lets_the_pad_stay_with_its_condition(site):
    fence = ([line((60, 98), (170, 98))], {"height_m": [1.5]})
    row, _ = site({"water": _pond(5), "fences": fence})
    assert row["status"] == "ranked"
    assert "only with a barrier" in row["conditions"]


@pytest.mark.parametrize(
    ("points", "height", "why"),
    [
        (((60, 98), (170, 98)), 0.6, "a low fence stops nobody"),
        (((112, 98), (120, 98)), 1.5, "a child runs round a short fence"),
    ],
)
def test_what_only_seems_to_be_between_is_nothing(site, points, height, why):
    fence = ([line(*points)], {"height_m": [height]})
    row, _ = site({"water": _pond(5), "fences": fence})
    assert row["status"] == "screened out", why


def test_a_fence_of_unknown_height_stops_a_child(site):
    fence = ([line((60, 98), (170, 98))], {"kind": ["fence"]})
    row, _ = site({"water": _pond(5), "fences": fence})
    assert row["status"] == "ranked"


def test_near_an_arterial_is_out_near_a_local_street_is_a_condition(site):
    def street(name):
        return {"streets": ([line((0, 90), (300, 90))], {"class": [name], "width_m": [10.0]})}

    assert site(street("arterial"))[0]["status"] == "screened out"
    row, _ = site(street("local"))
    assert row["status"] == "ranked"
    assert "barrier between the play area and the street" in row["conditions"]


def test_the_street_that_governs_is_not_always_the_nearest(site):
    # 12 m from a local street is 1.2 of what is due; 30 m from an arterial is 0.75.
    layers = {
        "streets": (
            [line((0, 83), (300, 83)), line((0, 162.7), (300, 162.7))],
            {"class": ["local", "arterial"], "width_m": [10.0, 20.0], "name": ["Low", "High"]},
        )
    }
    row, result = site(layers)
    own = result.measurements.set_index("criterion").loc["traffic"]
    assert own["value"] == pytest.approx(30.0, abs=0.01)
    assert "High, arterial" in own["note"]
    assert row["conditions"]


def test_a_layer_that_holds_nothing_near_is_far_not_unknown(site):
    far = {"water": ([box(100, 1500, 10, 10)], {"name": ["far"]})}
    _, result = site(far)
    own = result.measurements.set_index("criterion")
    assert own.loc["open_water", "score"] == 1
    assert np.isnan(own.loc["traffic", "value"])
