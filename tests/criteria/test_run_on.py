"""Land that drains through the pad: planes and valleys whose catchment geometry gives."""

import numpy as np
import pytest
from affine import Affine
from made_up_study import box, ground, point, write_study
from scipy.stats import spearmanr

from playsite.criteria import _catchment
from playsite.study import run
from playsite.terrain.drainage import drainage
from playsite.terrain.run_on import pad_mask
from playsite.terrain.run_on_range import DRAWS, drained_m2, drawn_noise, run_on_range_m2

LOT = {"lot": box(184.15, 188.65, 31.7, 22.7)}  # the pad lies on x 184.15 to 215.85, up to 211.35


@pytest.fixture
def told(tmp_path, monkeypatch):
    monkeypatch.setenv("PLAYSITE_CACHE", str(tmp_path / "cache"))

    def ranked(elevation, layers=None, parcels=LOT):
        study = 'criteria = ["fit", "run_on"]'
        file = write_study(
            tmp_path / "town", parcels, elevation=elevation, layers=layers, study=study
        )
        return run(file)

    return ranked


def measure(result):
    return result.measurements.set_index("criterion").loc["run_on"]


def plane(x, y):
    return 10 + 0.03 * y + 0 * x


def ridge(x, y):
    """A roof with its ridge at y = 250: what drains to the pad begins there."""
    return 30 - 0.03 * np.abs(y - 250) + 0 * x


def valley(x, y):
    """A trough that falls south along x = 200, its sides steep; the ridges at x = 100 and 300."""
    return 10 + 0.02 * y + 0.2 * np.abs(x - 200)


def straying(rows):
    """Mean of the greatest of 0 .. rows steps of water divided on a plane that falls along the rows.

    Three cells lie lower, at slopes 1 : 1/sqrt 2 on the slant, and water divides as slope^1.1
    (Freeman 1991): so it goes one column aside with a chance of 0.289 each way. Counted out over
    all ways, with nothing of the program.
    """
    aside = 2**-0.55 / (1 + 2 * 2**-0.55)
    chance, mean = {(0, 0): 1.0}, []
    for _ in range(rows + 1):
        mean.append(sum(p * most for (_, most), p in chance.items()))
        after = {}
        for (at, most), p in chance.items():
            for step, share in ((-1, aside), (0, 1 - 2 * aside), (1, aside)):
                key = (at + step, max(most, at + step))
                after[key] = after.get(key, 0.0) + p * share
        chance = after
    return np.array(mean)


def on_a_plane(columns, rows, above):
    """Land that drains through a rectangle of cells: what touches it from above and from beside."""
    stray = 2 * straying(rows - 1)
    return above * (columns + stray[rows - 1]) + stray.sum()


class TestKnownAnswers:
    def test_a_roof_gives_the_pad_its_width_times_the_way_to_the_ridge(self, told):
        own = measure(told(ground(ridge)))
        # centres of 32 by 22 cells lie in the pad; above are the rows 211.5 to 249.5
        assert own["value"] == pytest.approx(on_a_plane(32, 22, 39), rel=1e-4)
        assert 0.5 * own["value"] < own["low"] <= own["value"] <= own["high"] < 2 * own["value"]
        assert not own["note"]

    def test_a_plane_goes_on_to_the_end_of_the_data_and_that_is_said(self, told):
        own = measure(told(ground(plane)))
        assert own["value"] == pytest.approx(on_a_plane(32, 22, 189), rel=1e-4)
        assert np.isposinf(own["high"])
        assert "lower bound" in own["note"]

    def test_a_valley_brings_all_that_lies_above(self, told):
        """Water d m off the axis runs 0.1 m down the valley for each metre in (0.02 : 0.2).

        So it reaches the pad's sides, 16 m off the axis, from all that lies more than 0.1 (d - 16) m
        above the pad's lower edge, y = 189: 2 (184 x 211 - 184^2 / 20) m2, and from 32 x 189 m2
        between them (geometry).
        """
        own = measure(told(ground(valley)))
        assert own["value"] == pytest.approx(2 * (184 * 211 - 184**2 / 20) + 32 * 189, rel=0.01)

    def test_more_than_five_hectares_is_a_channel_and_screens_out(self, told):
        result = told(ground(valley))
        assert result.sites["status"].tolist() == ["screened out"]
        assert "channel" in result.misses["rule"].iloc[0]
        assert told(ground(plane)).sites["status"].tolist() == ["ranked"]

    def test_an_inlet_above_takes_the_water_and_is_no_gap_in_the_data(self, told):
        def gully(x, y):
            return (
                10
                + 0.02 * y
                + 0.05 * np.abs(x - 200) * (y > 230)
                - 1.0 * (np.hypot(x - 200, y - 232) < 3)
            )

        inlets = {"inlets": ([point(200, 232)], {"depth_m": [1.0]})}
        dry, wet = measure(told(ground(gully), inlets)), measure(told(ground(gully)))
        assert dry["value"] < 0.5 * wet["value"]

    def test_a_pond_above_is_no_end_of_the_data(self, told):
        water = {"water": ([box(150, 250, 100, 20)], {"name": ["Pond"]})}
        own = measure(told(ground(ridge), water))
        assert own["value"] == pytest.approx(on_a_plane(32, 22, 39), rel=0.05)
        assert np.isfinite(own["high"])


class TestHowItIsLookedFor:
    def test_windows_grow_until_they_hold_the_catchment(self, told, monkeypatch):
        whole = measure(told(ground(ridge)))
        monkeypatch.setattr(_catchment, "_WHOLE_CELLS", 0)
        monkeypatch.setattr(_catchment, "_WINDOW_M", 60.0)
        monkeypatch.setattr(_catchment, "_SNAP_M", 10.0)
        monkeypatch.setenv("PLAYSITE_CACHE", "/nonexistent")
        grown = measure(told(ground(ridge)))
        assert grown["value"] == pytest.approx(whole["value"], rel=1e-9)
        assert grown["note"] == whole["note"]

    def test_beyond_five_hectares_it_stops_and_says_so(self, told, monkeypatch):
        monkeypatch.setattr(_catchment, "_WHOLE_CELLS", 0)
        monkeypatch.setattr(_catchment, "_WINDOW_M", 350.0)
        own = measure(told(ground(valley)))
        assert own["value"] > 50_000
        assert "5 ha is enough" in own["note"]

    def test_no_elevation_is_unknown_and_dry_ground_on_a_ridge_is_none(self, told):
        assert np.isnan(measure(told(None))["value"])
        top = measure(told(ground(lambda x, y: 30 - 0.05 * np.hypot(x - 200, y - 200))))
        assert top["value"] == pytest.approx(0, abs=1)
        assert top["score"] == 1

    @pytest.mark.parametrize("whole_cells", [0, 4_000_000])
    def test_a_pad_off_the_elevation_is_unknown(self, told, monkeypatch, whole_cells):
        monkeypatch.setattr(_catchment, "_WHOLE_CELLS", whole_cells)
        far = {**LOT, "far": box(2_000, 2_000, 40, 40)}
        measurements = told(ground(ridge), parcels=far).measurements
        own = measurements[measurements["criterion"] == "run_on"].set_index("parcel_id")["value"]
        assert np.isnan(own["far"])
        assert own["lot"] > 0

    def test_the_catchment_is_drawn_with_about_its_area(self, told):
        result = told(ground(ridge))
        is_own = result.evidence["label"] == "land that drains through the play area"
        (drawn,) = result.evidence.geometry[is_own]
        value = measure(result)["value"]
        assert drawn.area == pytest.approx(value + 32 * 22, rel=0.06)


class TestDrainage:
    """The quick way for many pads, against the exact one."""

    @pytest.mark.parametrize("turned", [0.0, 90.0])
    def test_over_the_uphill_edge_comes_what_lies_above_it(self, turned):
        south = np.repeat(0.03 * np.arange(120.0)[::-1, None], 160, axis=1)
        transform = Affine(1, 0, 500_000, 0, -1, 4_000_120)
        place = [500_080.0, 4_000_040.0, turned]
        quick = drainage(south, transform).crossing_m2([place], [[30, 20]], np.array([0]))
        wide, above = (30, 70) if turned == 0 else (20, 65)
        assert quick[0] == pytest.approx(wide * above, rel=0.05)  # geometry; corners stray

    def test_on_noisy_ground_it_ranks_pads_as_the_exact_way_does(self):
        rng = np.random.default_rng(1)
        rough = 0.02 * np.arange(200.0)[::-1, None] + rng.normal(0, 0.03, (200, 200))
        transform = Affine(1, 0, 0, 0, -1, 200)
        ways = drainage(rough, transform)
        places = np.column_stack([rng.uniform(30, 170, (40, 2)), rng.uniform(0, 180, 40)])
        quick = ways.crossing_m2(places, np.tile([20.0, 10.0], (40, 1)), np.arange(40))
        exact = np.empty(40)
        for row, place in enumerate(places):
            mask = pad_mask(rough.shape, transform, place, length_m=20, width_m=10)
            exact[row] = np.nansum(ways.shares(mask)) - mask.sum()
        assert spearmanr(quick, exact).statistic > 0.85
        assert 0.8 < np.median(quick / exact) < 1.4

    def test_two_parts_of_one_pad_give_no_water_to_each_other(self):
        south = np.repeat(0.03 * np.arange(120.0)[::-1, None], 120, axis=1)
        ways = drainage(south, Affine(1, 0, 0, 0, -1, 120))
        places, sides = [[60.0, 60, 0], [60, 50, 0]], [[20, 10], [20, 10]]
        together = ways.crossing_m2(places, sides, np.array([0, 0]))
        apart = ways.crossing_m2(places, sides, np.array([0, 1]))
        assert together[0] == pytest.approx(20 * 55, rel=0.05)
        assert apart == pytest.approx([20 * 55, 20 * 65], rel=0.05)

    def test_a_part_of_the_ground_drains_as_on_the_whole(self):
        rough = 0.05 * np.abs(np.arange(200.0)[:, None] - 60) + np.random.default_rng(4).normal(
            0, 0.01, (200, 200)
        )
        transform = Affine(1, 0, 0, 0, -1, 200)
        ways = drainage(rough[::-1], transform)  # falls to row 139 from both sides
        pad = pad_mask((200, 200), transform, [100, 75, 0], length_m=20, width_m=10)
        whole = ways.shares(pad)
        rows, columns = slice(1, 180), slice(20, 200)
        part = ways.cropped(rows, columns)
        assert part.transform @ (0, 0) == (20, 199)
        inside = part.shares(pad[rows, columns])
        away = whole[0, :].max() + whole[:, :20].max()
        assert np.abs(inside - whole[rows, columns]).max() <= away + 1e-12

    def test_a_pad_without_elevation_is_unknown(self):
        ways = drainage(np.full((9, 9), np.nan), Affine(1, 0, 0, 0, -1, 9))
        assert np.isnan(ways.crossing_m2([[4, 4, 0]], [[2, 2]], np.array([0]))[0])


class TestRange:
    """Noise drawn again: nothing without noise, more with more, and wide where ground is level."""

    PAD = pad_mask((120, 120), Affine(1, 0, 0, 0, -1, 120), [60, 40, 0], length_m=30, width_m=20)

    def span(self, grade, noise_m, length_m=0.0):
        south = np.repeat(grade * np.arange(120.0)[::-1, None], 120, axis=1)
        grid = Affine(1, 0, 0, 0, -1, 120)
        noise = drawn_noise(1.0, noise_m=noise_m, noise_length_m=length_m)
        return run_on_range_m2(south, grid, self.PAD, noise)

    def test_without_noise_it_is_the_figure_itself(self):
        least, most = self.span(0.03, 0.0)
        assert least == pytest.approx(most)
        assert most == pytest.approx(on_a_plane(30, 20, 70), rel=1e-4)

    @pytest.mark.parametrize("length_m", [0.0, 4.0])
    def test_the_flatter_the_ground_the_wider_it_is(self, length_m):
        steep, flat = self.span(0.10, 0.05, length_m), self.span(0.005, 0.05, length_m)
        assert flat[1] / flat[0] > 1.5 * steep[1] / steep[0]

    def test_a_pad_without_elevation_is_unknown(self):
        nothing = np.full((120, 120), np.nan)
        grid = Affine(1, 0, 0, 0, -1, 120)
        noise = drawn_noise(1.0, noise_m=0.05)
        assert np.isnan(run_on_range_m2(nothing, grid, self.PAD, noise)).all()

    def test_in_a_window_it_is_nearly_what_it_is_on_the_whole(self):
        rows, columns = np.mgrid[0:300, 0:300]
        ground = 10 - 0.03 * rows + 0.02 * np.abs(columns - 150)
        grid, noise = Affine(1, 0, 4_000, 0, -1, 7_000), drawn_noise(1.0, noise_m=0.05)
        pad = pad_mask(ground.shape, grid, [4_150, 6_850, 0], length_m=30, width_m=20)
        near = (slice(0, 190), slice(10, 290))
        whole = [drained_m2(noise.drainage(ground, grid, draw), pad) for draw in range(DRAWS)]
        moved = grid @ Affine.translation(10, 0)
        part = run_on_range_m2(ground[near], moved, pad[near], noise)
        assert part == pytest.approx((min(whole), max(whole)), rel=0.02)
        assert max(whole) > 1.05 * min(whole)
