"""Walks of the whole run: rivers, locked doors, hours, busy streets, spaces, what is not known."""

import numpy as np
import pytest
from made_up_study import box, line, point, write_study

from playsite.study import run

RIVER = ([box(0, 195, 400, 20)], {"name": ["Creek"]})
SOUTH = box(120, 130, 60, 40)
BANKS = [line((20, 185), (390, 185)), line((20, 225), (390, 225))]
BRIDGE = line((390, 185), (390, 225))


@pytest.fixture
def measure(tmp_path, monkeypatch):
    monkeypatch.setenv("PLAYSITE_CACHE", str(tmp_path / "cache"))

    def of(criterion, layers, more=""):
        study = f'least_known = "0 %"\ncriteria = ["fit", "{criterion}"]'
        file = write_study(tmp_path / "town", {"A": SOUTH}, layers=layers, study=study, more=more)
        result = run(file)
        return result.measurements.set_index("criterion").loc[criterion], result

    return of


def ways(*more, kind=None):
    lines = [*BANKS, BRIDGE, *more]
    return (lines, {"bridge": ["no", "no", "yes"] + ["no"] * len(more)} | (kind or {}))


def street(name="collector", west=0, east=400, **columns):
    """A street of 10 m right through, 15 m north of the parcel."""
    return (
        [line((west, 185), (east, 185))],
        {"class": [name], "width_m": [10.0], **{k: [v] for k, v in columns.items()}},
    )


class TestRiver:
    """A restroom 50 m off across a river, the bridge 240 m away."""

    def test_the_walk_goes_by_the_bridge_and_says_why(self, measure):
        here = {
            "water": RIVER,
            "paths": ways(),
            "restrooms": ([point(150, 228)], {"access": ["yes"]}),
        }
        row, result = measure("restroom", here)
        pad = result.pads.geometry.iloc[0]
        straight_m = pad.distance(here["restrooms"][0][0])
        assert straight_m < 100
        # by hand: from the pad's side to the path by the bridge, over it, and back
        assert 2 * (390 - 182) + 40 < row["value"] < 2 * (390 - 150) + 40 + 80
        assert row["straight_m"] == pytest.approx(straight_m, abs=1e-6)
        assert "times the straight line, which crosses open water" in row["note"]

    def test_without_the_bridge_it_can_not_be_reached(self, measure):
        lines, columns = ways()
        here = {
            "water": RIVER,
            "paths": (lines[:2], {"bridge": columns["bridge"][:2]}),
            "restrooms": ([point(150, 228)], {"access": ["yes"]}),
        }
        row, _ = measure("restroom", here)
        assert row["value"] == np.inf
        assert row["score"] == 0
        assert "no way along streets and paths within 2,000 m" in row["note"]


class TestDoors:
    """Two restrooms: one beside the pad that may not count, and one far along the path."""

    NEAR, FAR = point(150, 180), point(385, 180)

    def restroom(self, measure, **near):
        columns = {"name": ["Near", "Far"], "access": ["yes", "yes"]}
        columns |= {key: [value, None] for key, value in near.items() if key != "access"}
        columns["access"] = [near.get("access", "yes"), "yes"]
        here = {"paths": ways(), "restrooms": ([self.NEAR, self.FAR], columns)}
        row, _ = measure("restroom", here)
        return row

    def test_one_that_counts(self, measure):
        row = self.restroom(measure, opening_hours="08:00-20:00", wheelchair="yes")
        assert row["value"] < 60
        assert row["note"].startswith("Near; ")
        assert "not known" not in row["note"]

    @pytest.mark.parametrize(
        ("near", "why"),
        [
            ({"access": "private"}, "not public"),
            ({"access": "customers"}, "not public"),
            ({"opening_hours": "Mo-Fr 07:30-15:30"}, "not open whenever children play"),
            ({"opening_hours": "Sa-Su 08:00-20:00"}, "not open whenever children play"),
            ({"opening_hours": "Nov-Mar 08:00-20:00"}, "not open whenever children play"),
            ({"opening_hours": "school hours"}, "not open whenever children play"),
            ({"wheelchair": "no"}, "not accessible"),
        ],
    )
    def test_one_that_does_not_count(self, measure, near, why):
        row = self.restroom(measure, **near)
        assert row["value"] > 150
        assert row["note"].startswith("Far; ")
        assert "; a restroom " in row["note"]
        assert row["note"].endswith(f"doesn't count: {why}")

    def test_a_season_that_covers_most_of_the_time_counts(self, measure):
        row = self.restroom(measure, opening_hours="Apr 15-Oct 15 dawn-dusk; PH off")
        assert row["note"].startswith("Near; ")

    def test_what_is_not_known_is_told(self, measure):
        row = self.restroom(measure)
        assert row["note"].startswith("Near; ")
        assert row["note"].endswith("hours not known, not known whether accessible")

    def test_none_that_counts_is_not_unknown(self, measure):
        here = {"paths": ways(), "restrooms": ([self.NEAR], {"access": ["private"]})}
        row, _ = measure("restroom", here)
        assert row["value"] == np.inf
        assert row["score"] == 0
        assert "no restroom that counts" in row["note"]


FAR = {"west": -900, "east": 1300}
"""Ends that nobody walks round."""


def test_steps_are_walked_and_the_way_without_them_is_told(measure):
    lines, _ = ways(line((200, 185), (200, 225)))
    kinds = ["footway"] * 3 + ["steps"]
    here = {
        "water": RIVER,
        "paths": (lines, {"bridge": ["no", "no", "yes", "yes"], "kind": kinds}),
        "restrooms": ([point(150, 228)], {"wheelchair": ["yes"]}),
    }
    row, _ = measure("restroom", here)
    assert row["value"] < 200
    without = float(row["note"].split("without steps ")[1].split(" m")[0])
    assert 2 * (390 - 182) + 40 < without < 2 * (390 - 150) + 40 + 80
    here["paths"] = (
        [*lines[:2], lines[3]],
        {"kind": ["footway", "footway", "steps"], "bridge": ["yes"] * 3},
    )
    row, _ = measure("restroom", here)
    assert row["note"].endswith("no way without steps")


class TestBusyStreet:
    """A restroom right across the street."""

    def walk(self, measure, streets, **layers):
        here = {"streets": streets, "restrooms": ([point(150, 195)], {"access": ["yes"]}), **layers}
        row, _ = measure("restroom", here)
        return row

    def test_a_local_street_is_crossed_anywhere(self, measure):
        assert self.walk(measure, street("local", **FAR))["value"] < 60

    def test_a_busy_one_only_where_that_is_done(self, measure):
        row = self.walk(
            measure, street(**FAR), paths=([line((300, 180), (300, 190))], {"bridge": ["no"]})
        )
        assert row["value"] > 200
        assert "which crosses a busy street" in row["note"]
        assert "crosses a busy street once, at a mapped crossing" in row["note"]

    def test_a_mapped_crossing_helps(self, measure):
        crossing = ([point(160, 185)], {"control": ["signals"]})
        row = self.walk(measure, street(**FAR), crossings=crossing)
        assert row["value"] < 60
        unmarked = ([point(160, 185)], {"control": ["unmarked"]})
        assert self.walk(measure, street(**FAR), crossings=unmarked)["value"] > 200

    def test_nobody_walks_along_or_over_a_highway(self, measure):
        row = self.walk(measure, street("highway", **FAR))
        assert not np.isfinite(row["value"])

    def test_rails_are_in_the_way(self, measure):
        rail = ([line((0, 190), (400, 190))], {"kind": ["rail"]})
        assert self.walk(measure, street("local", **FAR), hazards=rail)["value"] == np.inf

    def test_a_private_path_is_no_way(self, measure):
        bridge = ([line((300, 180), (300, 190))], {"access": ["private"]})
        assert self.walk(measure, street(**FAR), paths=bridge)["value"] > 400


class TestParking:
    """Spaces within 120 m, lot by lot."""

    def test_spaces_and_the_accessible_ones_due(self, measure):
        lots = [box(100, 175, 15, 8), box(190, 175, 15, 8), box(360, 175, 15, 8)]
        columns = {
            "capacity": [26, 20, 99],
            "capacity_disabled": ["1", "0", None],
            "full_when": [None, "Sunday mornings", None],
        }
        row, _ = measure("parking", {"paths": ways(), "parking": (lots, columns)})
        # two of 26 and one of 20, by table 208.2
        assert "46 spaces within 120 m; accessible: 3 due by ADA 208.2, 1 mapped" in row["note"]
        assert row["note"].endswith("full: Sunday mornings")

    def test_a_school_lot_that_is_open_in_lessons_only_does_not_count(self, measure):
        lots = ([box(100, 175, 15, 8)], {"opening_hours": ["Mo-Fr 16:00-22:00"], "capacity": [30]})
        row, _ = measure("parking", {"paths": ways(), "parking": lots})
        assert row["value"] == np.inf
        assert "30" not in row["note"]


@pytest.mark.parametrize(
    ("criterion", "kind"),
    [("drinking_water", "drinking_water"), ("picnic", "picnic"), ("transit", "transit_stops")],
)
def test_other_places_are_walked_to_and_an_absent_layer_is_unknown(measure, criterion, kind):
    row, _ = measure(criterion, {"paths": ways(), kind: ([point(150, 180)], {"name": ["Here"]})})
    assert row["value"] < 60
    assert row["note"].startswith("Here")
    row, _ = measure(criterion, {"paths": ways()})
    assert np.isnan(row["value"])
    assert f"no layer of {kind}" in row["note"]


class TestApproach:
    """One street of 400 m and nothing else, all of it within the last stretch."""

    def share(self, measure, **columns):
        row, _ = measure("approach", {"streets": street(**columns)})
        return row["value"], row["low"], row["high"], row["note"]

    def test_a_local_street_is_slow(self, measure):
        assert self.share(measure, name="local")[:3] == (100, 100, 100)

    def test_a_sidewalk_or_none(self, measure):
        assert self.share(measure, sidewalk="both")[:3] == (100, 100, 100)
        assert self.share(measure, sidewalk="none")[:3] == (0, 0, 0)

    def test_missing_is_unknown(self, measure):
        value, _, _, note = self.share(measure)
        assert np.isnan(value)
        assert "sidewalk not known along 400 m" in note

    def test_a_path_beside_the_street_is_its_sidewalk_where_it_runs(self, measure):
        beside = ([line((0, 178), (300, 178))], {"bridge": ["no"]})
        row, _ = measure("approach", {"streets": street(sidewalk="no"), "paths": beside})
        # 300 m of path and 300 m of street beside it are good, 100 m of street are not
        assert row["value"] == pytest.approx(100 * 600 / 700, abs=4)
        assert row["low"] == row["value"] == row["high"]


class TestWhereAWalkLeads:
    """A path along the parcel that leads round the neighbor's land to its far side."""

    LAND = (
        [line((0, 115), (400, 115)), line((400, 115), (400, 240)), line((400, 240), (150, 240))],
        {"kind": ["footway"] * 3},
    )
    BESIDE = ([point(70, 110)], {"access": ["yes"]})

    def test_not_far_over_other_peoples_land(self, measure):
        there = ([point(150, 250)], {"access": ["yes"]})
        row, result = measure("restroom", {"paths": self.LAND, "restrooms": there})
        pad = result.pads.geometry.iloc[0]
        assert pad.distance(there[0][0]) < 150  # a straight walk, if the land were anybody's
        assert row["value"] > 400

    def test_not_through_a_fence_but_through_its_gate(self, measure):
        layers = {"paths": self.LAND, "restrooms": self.BESIDE}
        free = measure("restroom", layers)[0]["value"]
        fence = line((40, 122), (170, 122))
        layers["fences"] = ([fence], {"height_m": [1.5]})
        assert measure("restroom", layers)[0]["value"] > free + 50
        gate = line((128, 122), (132, 122))
        columns = {"height_m": [1.5, None], "kind": ["fence", "gate"]}
        layers["fences"] = ([fence, gate], columns)
        assert measure("restroom", layers)[0]["value"] < free + 20

    def test_fenced_in_all_round_is_unknown_for_a_gate_may_be_there(self, measure):
        ring = line((60, 122), (350, 122), (350, 200), (60, 200), (60, 122))
        fences = ([ring], {"height_m": [1.5]})
        here = {"paths": self.LAND, "restrooms": self.BESIDE, "fences": fences}
        row, _ = measure("restroom", here)
        assert np.isnan(row["value"])
        assert "no gate is mapped" in row["note"]
