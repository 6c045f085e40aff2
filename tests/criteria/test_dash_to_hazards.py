"""Dash to water, traffic and car parks in a whole run: gates, gaps, banks, speed, high water."""

import numpy as np
import pytest
from made_up_study import box, line, write_study

from playsite.study import run

PAD = box(100, 100, 31.7, 22.7)


@pytest.fixture
def told(tmp_path, monkeypatch):
    monkeypatch.setenv("PLAYSITE_CACHE", str(tmp_path / "cache"))

    def ranked(layers, name="open_water"):
        study = f'criteria = ["fit", "{name}"]'
        file = write_study(tmp_path / "town", {"A": PAD}, layers=layers, study=study)
        result = run(file)
        return result.measurements.set_index("criterion").loc[name], result.sites.iloc[0]

    return ranked


POND = ([box(100, 55, 31.7, 30)], {"name": ["Mill Pond"]})  # 15 m south of the pad
WEST, EAST = line((0, 92.5), (171.7, 92.5)), line((172.7, 92.5), (400, 92.5))
GATE = line((171.7, 92.5), (172.7, 92.5))
OVER_M = 2 * np.hypot(40, 7.5)  # by the gate, from the pad's corner to the pond's: 81.4 m


def test_a_pond_is_as_far_as_its_gate_and_the_condition_stays(told):
    fences = ([WEST, EAST], {"height_m": [1.5, 1.5]})
    own, site = told({"water": POND, "fences": fences})
    assert own["value"] == pytest.approx(OVER_M, abs=0.05)
    assert own["score"] == 1
    assert "round what is between: 20 to 27 s" in own["note"]
    assert own["straight_m"] == pytest.approx(15, abs=0.01)
    assert "barrier" in site["conditions"]


@pytest.mark.parametrize(
    ("kept", "value"),
    [({}, OVER_M), ({"open": ["no", "no", "yes"]}, OVER_M), ({"open": ["no", "no", "no"]}, 120)],
)
def test_a_gate_lets_through_unless_it_is_said_to_be_shut(told, kept, value):
    columns = {"height_m": [1.5] * 3, "kind": ["fence", "fence", "gate"], **kept}
    own, _ = told({"water": POND, "fences": ([WEST, EAST, GATE], columns)})
    assert own["value"] == pytest.approx(value, abs=0.05)


def test_a_gate_drawn_on_a_fence_that_runs_through_cuts_it_and_is_named_when_closed(told):
    pond = ([box(100, 70, 31.7, 15)], {"name": ["Mill Pond"]})
    ring = line((90, 60), (140, 60), (140, 92.5), (90, 92.5), (90, 60))
    gate = line((133, 92.5), (134, 92.5))
    columns = {"height_m": [1.5, None], "kind": ["fence", "gate"], "name": [None, "Pond gate"]}
    own, _ = told({"water": pond, "fences": ([ring, gate], columns)})
    assert 15 < own["value"] < 16
    assert 'with "Pond gate"' in own["note"]
    assert "closed no way is left" in own["note"]


def test_the_way_is_drawn_with_its_seconds_and_again_with_the_gap_closed(told, tmp_path):
    fences = (
        [line((0, 92.5), (150, 92.5)), line((152, 92.5), (200, 92.5))],
        {"height_m": [1.5, 1.5]},
    )
    own, _ = told({"water": POND, "fences": fences})
    assert "with the 2.0 m gap south-east of the play area closed" in own["note"]
    result = run(tmp_path / "town" / "study.toml")
    ways = result.evidence[result.evidence["criterion"] == "open_water"].set_index("label").geometry
    (first, again) = ways.index
    assert first.startswith("Mill Pond, ")
    assert again.startswith("with the 2.0 m gap south-east of the play area closed ")
    assert ways[first].length == pytest.approx(own["value"], abs=1e-6)
    # round the east end of the fence, at 200 m: by hand from the pad's corner to the pond's
    by_hand = 2 * np.hypot(200 - 131.7, 7.5)
    assert ways[again].length == pytest.approx(by_hand, abs=0.05)
    assert f"closed {ways[again].length:.1f} m, " in own["note"]


def test_closed_off_is_no_way_at_all_and_scores_as_far(told):
    ring = line((90, 50), (140, 50), (140, 92.5), (90, 92.5), (90, 50))
    own, site = told({"water": POND, "fences": ([ring], {"height_m": [1.5]})})
    assert own["value"] == np.inf
    assert own["score"] == 1
    assert "barrier" in site["conditions"]


@pytest.mark.parametrize(("stops", "value"), [({}, 15.0), ({"stops": ["yes"]}, 120.0)])
def test_a_retaining_wall_stops_a_child_only_by_the_studys_rule(told, stops, value):
    wall = (
        [line((0, 92.5), (400, 92.5))],
        {"kind": ["retaining wall"], "height_m": [2.0], **stops},
    )
    own, _ = told({"water": POND, "fences": wall})
    assert own["value"] == pytest.approx(value, abs=0.01)


def test_water_reaches_to_its_high_water_edge_and_dry_basins_count(told):
    columns = {"name": ["Basin"], "high_water_m": [4.0], "intermittent": ["yes"]}
    own, _ = told({"water": (POND[0], columns)})
    assert own["value"] == pytest.approx(11, abs=0.02)
    assert "Basin (dry at times)" in own["note"]


def test_five_lanes_are_measured_from_the_pavement(told):
    # Golden: centre line 20 m off, five lanes of 3.5 m: 20 - 8.75.
    street = ([line((0, 80), (400, 80))], {"class": ["arterial"], "lanes": [5]})
    own, _ = told({"streets": street}, "traffic")
    assert own["value"] == pytest.approx(11.25, abs=0.01)


@pytest.mark.parametrize(("mph", "due"), [(None, 10), (25.0, 10), (30.0, 20), (40.0, 40)])
def test_a_fast_local_street_is_due_more(told, mph, due):
    columns = {"class": ["local"], "width_m": [10.0], "speed_mph": [mph]}
    own, _ = told({"streets": ([line((0, 83), (400, 83))], columns)}, "traffic")
    assert own["value"] == pytest.approx(12, abs=0.01)
    assert f"({due} m are due" in own["note"]


def test_a_street_behind_a_fence_lets_another_govern(told):
    streets = (
        [line((0, 83), (400, 83)), line((0, 145), (400, 145))],
        {"class": ["local"] * 2, "width_m": [10.0] * 2, "name": ["Near", "Far"]},
    )
    fences = ([line((0, 92), (400, 92))], {"height_m": [1.5]})
    own, site = told({"streets": streets, "fences": fences}, "traffic")
    assert own["value"] == pytest.approx(17.3, abs=0.01)
    assert "Far, local" in own["note"]
    assert not site["conditions"]  # 12 m straight from a local street, of which 10 are due


def test_a_car_park_is_a_hazard_with_its_barrier_whoever_may_use_it(told):
    lot = ([box(100, 80, 30, 10)], {"name": ["Lot"], "access": ["private"]})
    own, site = told({"parking": lot}, "car_parks")
    assert own["value"] == pytest.approx(10, abs=0.01)
    assert "barrier between the play area and the car park" in site["conditions"]


def test_open_water_stops_a_child_on_the_way_to_a_street_but_for_a_bridge(told):
    street = ([line((-500, 60), (900, 60))], {"name": ["Far"], "class": ["arterial"], "lanes": [4]})
    creek = ([box(-500, 75, 1400, 10)], {"name": ["Creek"]})
    own, _ = told({"streets": street, "water": creek}, "traffic")
    assert own["value"] > 100
    assert 20 < own["straight_m"] < 60
    bridge = ([line((120, 60), (120, 100))], {"bridge": ["yes"]})
    own, _ = told({"streets": street, "water": creek, "paths": bridge}, "traffic")
    assert own["value"] < own["straight_m"] + 20
    dry = (creek[0], {"name": ["Creek"], "intermittent": ["yes"]})
    own, _ = told({"streets": street, "water": dry}, "traffic")
    assert own["value"] == pytest.approx(own["straight_m"], abs=0.01)
