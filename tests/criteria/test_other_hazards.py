"""Heavy roads, steps in the ground, wires, trees, and what the layer of hazards holds."""

import numpy as np
import pytest
from made_up_study import box, ground, line, point, write_study

from playsite.criteria.drop_offs import falls_m
from playsite.study import run

PAD = box(100, 100, 31.7, 22.7)


@pytest.fixture
def told(tmp_path, monkeypatch):
    monkeypatch.setenv("PLAYSITE_CACHE", str(tmp_path / "cache"))

    def ranked(name, layers=None, **options):
        study = f'criteria = ["fit", "{name}"]'
        file = write_study(tmp_path / "town", {"A": PAD}, layers=layers, study=study, **options)
        result = run(file)
        return result.measurements.set_index("criterion").loc[name], result.sites.iloc[0]

    return ranked


class TestHeavyTraffic:
    def streets(self, volume, kind="arterial", y=0):
        return {
            "streets": ([line((0, y), (400, y))], {"class": [kind], "width_m": [10.0], **volume})
        }

    def test_a_counted_heavy_road_is_as_far_as_its_pavement(self, told):
        own, _ = told("heavy_traffic", self.streets({"volume": [32_000]}))
        assert own["value"] == pytest.approx(95, abs=0.01)
        assert "32,000 vehicles a day" in own["note"]

    def test_an_arterial_that_nobody_counted_is_unknown_not_light(self, told):
        own, _ = told("heavy_traffic", self.streets({}))
        assert np.isnan(own["value"])
        assert "has no count" in own["note"]

    @pytest.mark.parametrize("more", [{"volume": [12_000]}, {"kind": "local"}])
    def test_a_counted_light_road_or_a_local_street_is_none(self, told, more):
        kind = more.pop("kind", "arterial")
        own, _ = told("heavy_traffic", self.streets(more, kind))
        assert (own["value"], own["score"]) == (np.inf, 1)

    def test_no_layer_of_streets_is_unknown(self, told):
        assert np.isnan(told("heavy_traffic")[0]["value"])


class TestDropOffs:
    def test_the_fall_from_each_cell(self):
        step = np.where(np.arange(9) < 4, 2.0, 1.0)[None, :].repeat(5, axis=0)
        fall = falls_m(step, cell_m=1.0)
        assert fall[2].tolist() == [0, 0, 1, 1, 0, 0, 0, 0, 0]
        plane = 0.05 * np.arange(20.0)[None, :].repeat(20, axis=0)
        assert falls_m(plane, cell_m=1.0)[10, 10] == pytest.approx(0.1)
        assert np.isnan(falls_m(np.array([[np.nan, 1.0]]), cell_m=1.0)[0, 0])

    def wall(self, y):
        return ground(lambda x, north: np.where(north < y, 8.0, 10.0))

    def test_level_ground_has_none(self, told):
        own, site = told("drop_offs", elevation=ground(lambda x, y: 10 + 0 * x))
        assert (own["value"], own["score"]) == (0, 1)
        assert not site["conditions"]

    def test_a_wall_beside_the_pad_is_out_of_every_point_and_needs_a_guard(self, told):
        own, site = told("drop_offs", elevation=self.wall(98))
        assert own["value"] == pytest.approx(2)
        assert own["score"] == 0
        assert "guard or a fence" in site["conditions"]

    def test_farther_off_or_behind_a_fence_it_is_acceptable(self, told):
        own, site = told("drop_offs", elevation=self.wall(94))
        assert (own["value"], own["score"]) == (2, 0.5)
        assert not site["conditions"]
        fence = {"fences": ([line((60, 99.5), (180, 99.5))], {"height_m": [1.5]})}
        own, site = told("drop_offs", fence, elevation=self.wall(98))
        assert own["score"] == 0.5
        assert site["conditions"]  # somebody must have looked at the fence

    def test_beyond_ten_metres_it_is_none(self, told):
        assert told("drop_offs", elevation=self.wall(87))[0]["value"] == 0


class TestOverhead:
    def wires(self, y, **columns):
        return {"overhead_lines": ([line((0, y), (400, y))], columns or {"name": ["Feeder"]})}

    @pytest.mark.parametrize(("away_m", "status"), [(4.9, "screened out"), (5.1, "ranked")])
    def test_under_five_metres_from_a_conductor_is_out(self, told, away_m, status):
        assert told("overhead", self.wires(100 - away_m))[1]["status"] == status

    def test_a_crane_beside_the_pad_asks_for_a_lift_plan_by_voltage(self, told):
        # 12 m of boom and 15 ft (4.6 m) at 138 kV; 35 ft where the voltage is unknown.
        low = told("overhead", self.wires(83, voltage_kv=[138.0]))
        assert not low[1]["conditions"]
        assert "a crane keeps 4.6 m; schools keep" not in low[0]["note"]
        unknown = told("overhead", self.wires(83))
        assert "lift plan" in unknown[1]["conditions"]
        assert "voltage unknown" in unknown[0]["note"]

    def test_no_layer_is_unknown_and_an_empty_one_says_look_up(self, told):
        assert np.isnan(told("overhead")[0]["value"])


class TestFallingTrees:
    def test_trees_as_tall_as_they_are_far_are_listed(self, told):
        stems = [point(110, 90), point(110, 80), point(90, 110), point(50, 110)]
        columns = {"height_m": [12.0, 12.0, None, None], "condition": ["good"] * 4}
        own, site = told("falling_trees", {"trees": (stems, columns)})
        # 10 m off and 12 m tall; 20 m off and 12 m tall; 10 and 50 m off, height unknown
        assert (own["value"], own["low"], own["high"]) == (1, 1, 2)
        assert not site["conditions"]

    def test_a_dead_tree_in_reach_asks_for_an_arborist(self, told):
        columns = {"height_m": [12.0], "condition": ["Dead"]}
        own, site = told("falling_trees", {"trees": ([point(110, 90)], columns)})
        assert "1 of them poor or dead" in own["note"]
        assert "arborist" in site["conditions"]
        assert not told("falling_trees", {"trees": ([point(110, 80)], columns)})[1]["conditions"]


class TestOtherHazards:
    def near(self, kind, y, **columns):
        return {"hazards": ([line((0, y), (400, y))], {"kind": [kind], **columns})}

    def test_rail_is_a_run_with_its_fence_asked_for(self, told):
        own, site = told("other_hazards", self.near("railway", 60))
        assert own["value"] == pytest.approx(40, abs=0.01)
        assert "a fence between the play area and the rail" in site["conditions"]
        assert "not known: pipeline" in own["note"]

    def test_on_its_land_is_out_but_a_ball_field_is_only_near(self, told):
        assert told("other_hazards", self.near("pipeline", 110))[1]["status"] == "screened out"
        row = told("other_hazards", self.near("ball field", 110))[1]
        assert row["status"] == "ranked"
        assert "balls" in row["conditions"]

    def test_a_pipeline_is_flagged_and_asks_for_nothing(self, told):
        own, site = told("other_hazards", self.near("pipeline", 5))
        assert "pipeline 95.0 m off" in own["note"]
        assert not site["conditions"]

    def test_the_layers_own_distance_counts_before_the_rule(self, told):
        own, site = told("other_hazards", self.near("rail", 60, keep_m=[30.0]))
        assert "(30 m to keep)" in own["note"]
        assert not site["conditions"]

    def test_a_word_that_nobody_knows_is_another_hazard(self, told):
        own, _ = told("other_hazards", self.near("quarry", 85))
        assert "other" in own["note"]

    def test_several_files_each_of_its_own_kind(self, told):
        more = """
        [[layers.hazards]]
        path = "paths.gpkg"
        set.kind = "rail"
        [[layers.hazards]]
        path = "water.gpkg"
        set.kind = "dog area"
        """
        layers = {
            "paths": ([line((0, 60), (400, 60))], {"name": ["Track"]}),
            "water": ([box(100, 135, 30, 10)], {"name": ["Run"]}),
        }
        own, site = told("other_hazards", layers, more=more)
        assert own["value"] == pytest.approx(12.3, abs=0.01)
        assert "rail 40.0 m off" in own["note"]
        assert "dogs" in site["conditions"]
        assert "rail" in site["conditions"]
