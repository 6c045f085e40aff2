"""What a study says of walks, play and the running child changes what a whole run measures."""

import numpy as np
import pytest
from made_up_study import box, line, point, write_study

from playsite.criteria._contract import measured
from playsite.criteria._registry import load
from playsite.errors import InputError
from playsite.site import Site
from playsite.study import check
from playsite.testing import made_up_pads

PAD = box(120, 145, 31.7, 22.7)  # the one place there is
MAIN = {"class": ["collector"], "width_m": [10.0], "name": ["Main Street"]}
STREET = ([line((-900, 185), (1300, 185))], MAIN)
ACROSS = ([point(150, 195)], {"access": ["yes"]})
SIDE = ([line((300, 185), (300, 120))], {"kind": ["footway"]})  # joins from one side


@pytest.fixture
def told(tmp_path):
    """Measure one criterion at the pad, of a study as the gate reads it."""

    def of(name, layers, more=""):
        study = f'criteria = ["fit", "{name}"]'
        file = write_study(tmp_path / "town", {"A": PAD}, layers=layers, study=study, more=more)
        settings, read, _ = check(file)
        pads = made_up_pads(1).set_geometry([PAD], crs=read.crs)
        got = measured(load(name)[0], pads, Site(read, settings))
        row = {"value": got.value.iloc[0], "note": got.note.iloc[0]}
        return row | {also: series.iloc[0] for also, series in got.also.items()}

    return of


CROSSING = {"streets": STREET, "restrooms": ACROSS, "paths": SIDE}


class TestCrossing:
    """A restroom right across a busy street, which a path joins from one side."""

    def walk(self, told, said):
        return told("restroom", CROSSING, f"[walks]\n{said}\n")

    def test_it_is_crossed_where_the_path_joins(self, told):
        row = self.walk(told, "")
        assert 200 < row["value"] < 400
        assert "without a mapped crossing" in row["note"]

    def test_not_at_all(self, told):
        assert self.walk(told, "cross_busy_streets = false")["value"] == np.inf
        crossing = ([point(160, 185)], {"control": ["signals"]})
        layers = CROSSING | {"crossings": crossing}
        assert told("restroom", layers)["value"] < 60
        assert told("restroom", layers, "[walks]\ncross_busy_streets = false")["value"] == np.inf

    def test_by_name(self, told):
        free = self.walk(told, "")["value"]
        assert self.walk(told, 'cross_busy_streets = ["main street"]')["value"] == free
        side = CROSSING | {
            "streets": (
                [*STREET[0], line((0, 100), (400, 100))],
                {key: [*value, value[0]] for key, value in MAIN.items() if key != "name"}
                | {"name": ["Main Street", "Mill Road"]},
            )
        }
        said = '[walks]\ncross_busy_streets = ["Mill Road"]'
        assert told("restroom", side, said)["value"] == np.inf

    def test_a_name_that_no_street_has_is_refused(self, told):
        with pytest.raises(InputError, match='Did you mean "Main Street"'):
            self.walk(told, 'cross_busy_streets = ["Mian Street"]')

    def test_a_penalty_is_part_of_the_walk(self, told):
        free, dear = (self.walk(told, f'crossing_penalty = "{m} m"')["value"] for m in (0, 70))
        assert dear == pytest.approx(free + 70, abs=1e-6)

    def test_the_reach_is_a_limit_that_is_told(self, told):
        row = self.walk(told, 'reach = "200 m"')
        assert row["value"] == np.inf
        assert "within 200 m" in row["note"]


def test_step_free_walks_take_no_steps(told):
    water = ([box(0, 195, 400, 20)], {"name": ["Creek"]})
    lines = [line((20, 185), (390, 185)), line((20, 225), (390, 225)), line((200, 185), (200, 225))]
    lines.append(line((390, 185), (390, 225)))
    kinds = {
        "kind": ["footway", "footway", "steps", "footway"],
        "bridge": ["no", "no", "yes", "yes"],
    }
    layers = {
        "water": water,
        "paths": (lines, kinds),
        "restrooms": ([point(150, 228)], {"access": ["yes"]}),
    }
    usual = told("restroom", layers)
    free = told("restroom", layers, "[walks]\nstep_free = true")
    without = float(usual["note"].split("without steps ")[1].split(" m")[0])
    assert free["value"] == pytest.approx(without, abs=0.06)
    assert free["value"] > usual["value"] + 200
    assert "without steps" not in free["note"]


@pytest.mark.parametrize(
    ("hours", "said", "counts"),
    [
        ("Mo-Su 07:00-15:00", "", False),
        ("Mo-Su 07:00-15:00", 'hours = "9:00-15:00"', True),
        ("Nov-Mar 08:00-20:00", "", False),
        ("Nov-Mar 08:00-20:00", 'season = "Nov-Mar"', True),
        ("08:00-20:00; PH off", 'season = "Jul 4-Jul 4"\ncountry = "CA"', True),
        ("08:00-20:00; PH off", 'season = "Jul 4-Jul 4"\ncountry = "US"', False),
    ],
)
def test_a_place_is_asked_whether_it_is_open_when_the_study_says_children_play(
    told, hours, said, counts
):
    layers = {
        "paths": ([line((20, 185), (390, 185))], {"kind": ["footway"]}),
        "restrooms": ([point(150, 180)], {"opening_hours": [hours]}),
    }
    assert np.isfinite(told("restroom", layers, f"[play]\n{said}")["value"]) == counts


class TestRunningChild:
    """A pond south of the pad, behind what may stop a child."""

    POND = ([box(110, 90, 80, 25)], {"name": ["Mill Pond"]})

    def run(self, told, said, **fence):
        columns = {key: [value] for key, value in ({"height_m": 1.5} | fence).items()}
        layers = {
            "water": self.POND,
            "fences": ([line((-100, 120), (500, 120))], columns),
        }
        return told("open_water", layers, f"[running_child]\n{said}")

    def test_what_stops_it_is_the_studys_rule(self, told):
        through = self.run(told, "", kind="retaining wall")
        assert through["value"] == pytest.approx(through["straight_m"], abs=0.06)
        by_rule = 'stopped_by = ["retaining walls"]'
        assert self.run(told, by_rule, kind="retaining wall")["value"] >= 100
        assert self.run(told, by_rule, kind="steep bank")["value"] < 100
        assert self.run(told, 'stopped_by = "banks"', kind="steep bank")["value"] >= 100
        # what the file itself says of one fence comes first
        assert self.run(told, by_rule, kind="retaining wall", stops="no")["value"] < 100

    def test_how_high_a_fence_must_be(self, told):
        assert self.run(told, "")["value"] >= 100
        assert self.run(told, 'fence = "6 ft"')["value"] < 100

    def test_how_wide_a_gap_must_be(self, told):
        fences = (
            [line((-100, 120), (150, 120)), line((150.2, 120), (500, 120))],
            {"height_m": [1.5, 1.5]},
        )
        layers = {"water": self.POND, "fences": fences}
        assert told("open_water", layers)["value"] < 100
        assert told("open_water", layers, '[running_child]\ngap = "25 cm"')["value"] >= 100

    def test_how_fast_it_runs(self, told):
        row = self.run(told, 'speed = "2 m/s"', height_m=0.5)
        assert "for a running child, assumed 2 m/s" in row["note"]
        assert f"{round(row['value'] / 2)} s for" in row["note"]
