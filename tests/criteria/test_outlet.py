"""A drain that runs out by gravity: planes by their closed form, and what may be in its way."""

import math

import geopandas as gpd
import numpy as np
import pytest
import shapely
from made_up_study import CRS, NORTH, WEST, box, ground, point, write_study

from playsite.criteria._contract import measured
from playsite.criteria.outlet import CRITERION, DEPTH_M
from playsite.site import Site
from playsite.study import check
from playsite.testing import check_criterion

LONG_M, WIDE_M = 32.0, 20.0
LOT = box(50, 20, 300, 360)


def falling(grade, *, height=20.0):
    """A plane that falls to the south."""
    return ground(lambda x, y: height + grade * y + 0 * x)


def pads(*middles):
    x, y = np.array(middles).T
    shapes = [box(a - LONG_M / 2, b - WIDE_M / 2, LONG_M, WIDE_M) for a, b in middles]
    table = {
        "parcel_id": "lot",
        "easting": WEST + x,
        "northing": NORTH - 400 + y,
        "rotation_deg": 0.0,
        "length_m": LONG_M,
        "width_m": WIDE_M,
        "largest_scale": 1.0,
        "shape": "",
    }
    return gpd.GeoDataFrame(table, geometry=shapes, crs=CRS).rename_axis("pad_id")


@pytest.fixture
def drained(tmp_path):
    def of(elevation, layers=None, *, lot=LOT, places=((200, 200),)):
        file = write_study(tmp_path, {"lot": lot}, elevation=elevation, layers=layers)
        site = Site(check(file)[1])
        return measured(CRITERION, pads(*places), site)

    return of


def below_ground_m(grade):
    """Depth of the pipe at the pad's low edge: what the levelled pad rises there comes off.

    A pad that falls by 2 % on a steeper plane: 0.9 of its cut is its fill, both are triangles,
    so the fill takes sqrt(0.9) / (1 + sqrt(0.9)) of the width (geometry).
    """
    fill = WIDE_M * math.sqrt(0.9) / (1 + math.sqrt(0.9))
    return DEPTH_M - max(grade - 0.02, 0) * fill


class TestDaylight:
    @pytest.mark.parametrize("grade", [0.02, 0.025, 0.03, 0.04])
    def test_on_a_plane_it_is_as_long_as_depth_over_difference_of_grades(self, drained, grade):
        # d / (s - g), with 0.1 m between the pipe's end and the ground; to a cell or two
        length_m = (below_ground_m(grade) + 0.1) / (grade - 0.01)
        found = drained(falling(grade))
        assert found.value[0] == pytest.approx(length_m, abs=1.6)
        assert found.note[0].startswith("daylight to the south;")
        assert "0.5 % only" not in found.note[0]

    def test_where_only_half_a_per_cent_reaches_that_is_said(self, drained):
        found = drained(falling(0.0145))
        assert found.value[0] == pytest.approx(0.6 / 0.0095, abs=1.6)
        assert "at a fall of 0.5 % only" in found.note[0]

    def test_on_steep_ground_the_fill_of_the_low_side_lets_it_out(self, drained):
        found = drained(falling(0.09))
        assert found.value[0] < 2
        assert "in the fill" in found.note[0]

    def test_the_pipe_is_drawn_from_the_low_edge(self, drained):
        found = drained(falling(0.03))
        (line,), (label,) = found.evidence.geometry, found.evidence["label"]
        assert label == f"drain to daylight, {found.value[0]:.0f} m"
        assert line.length == pytest.approx(found.value[0])
        assert shapely.Point(line.coords[0]).distance(pads((200, 200)).geometry[0].exterior) < 1
        assert line.coords[-1][1] < line.coords[0][1]

    def test_level_ground_has_none(self, drained):
        found = drained(falling(0.0))
        assert np.isnan(found.value[0]), "an inlet that no layer shows may be near"
        assert "raise the play area, pump" in found.note[0]

    def test_where_inlets_are_mapped_and_none_is_near_there_is_none(self, drained):
        far = {"inlets": ([point(5.5, 5.5)], {"depth_m": [1.2]})}
        found = drained(falling(0.0), far)
        assert np.isposinf(found.value[0])
        assert CRITERION.curve.score(found.value)[0] == 0


class TestWhoseLand:
    def test_it_ends_on_the_parcel_or_on_an_easement_for_water(self, drained):
        short = box(50, 180, 300, 100)  # 10 m of it below the pad, and 25 are needed
        assert np.isnan(drained(falling(0.03), lot=short).value[0])
        for kind, is_found in (("Storm drain", True), ("Sewer and water", True), ("Gas", False)):
            strip = {"easements": ([box(190, 100, 20, 90)], {"kind": [kind]})}
            assert np.isfinite(drained(falling(0.03), strip, lot=short).value[0]) == is_found

    def test_it_goes_round_a_house(self, drained):
        plain = drained(falling(0.03)).value[0]
        house = {"buildings": ([box(150, 170, 100, 10)], {"kind": ["shed"]})}
        assert plain < drained(falling(0.03), house).value[0]


class TestInlets:
    def near(self, **columns):
        return {"inlets": ([point(200.5, 240.5)], columns)}

    def test_an_inlet_ends_it_on_level_ground(self, drained):
        # level ground is finished to fall north, the first way tried; its edge lies at 210
        found = drained(falling(0.0), self.near(depth_m=[1.2]))
        assert found.value[0] == pytest.approx(30, abs=1.6)
        assert found.note[0].startswith("an inlet to the north;")

    def test_by_height_as_by_depth(self, drained):
        by_depth = drained(falling(0.0), self.near(depth_m=[1.2])).value[0]
        assert drained(falling(0.0), self.near(invert_m=[18.8])).value[0] == by_depth

    def test_one_that_is_too_shallow_is_none_and_that_is_known(self, drained):
        found = drained(falling(0.0), self.near(depth_m=[0.4]))
        assert np.isposinf(found.value[0])
        assert np.isposinf(found.low[0])

    def test_one_that_nobody_has_opened_is_taken_as_usual_and_told(self, tmp_path):
        layers = {"inlets": ([point(200.5, 240.5)] * 2, {"depth_m": [None, 1.2]})}
        file = write_study(tmp_path, {"lot": LOT}, elevation=falling(0.0), layers=layers)
        _, read, findings = check(file)
        assert read.get("inlets")["depth_m"].tolist() == [0.9, 1.2]
        assert any("1 of 2" in each.what and each.layer == "inlets" for each in findings)


class TestWhatIsNotKnown:
    def test_no_elevation_under_the_pad_is_unknown(self, drained):
        gap = falling(0.03)
        gap[180:220, 170:230] = np.nan
        found = drained(gap)
        assert np.isnan(found.value[0])
        assert "too little elevation" in found.note[0]

    def test_it_keeps_the_contract(self, tmp_path):
        rough = falling(0.03) + np.random.default_rng(2).normal(0, 0.02, (400, 400))
        file = write_study(tmp_path, {"lot": LOT}, elevation=rough)
        site = Site(check(file)[1])
        check_criterion(CRITERION, pads=pads((150, 200), (200, 250), (280, 300)), site=site)

    def test_of_two_parts_the_worse_speaks(self, tmp_path):
        def bent(x, y):
            return 20 + np.where(x < 200, 0.02, 0.04) * y

        file = write_study(tmp_path, {"lot": LOT}, elevation=ground(bent))
        site = Site(check(file)[1])
        one, other = (pads((x, 200)) for x in (120, 280))
        both = one.copy()
        both.loc[0, "geometry"] = shapely.MultiPolygon([one.geometry[0], other.geometry[0]])
        lengths = [measured(CRITERION, each, site).value[0] for each in (one, other, both)]
        assert lengths[1] < lengths[0] == lengths[2]
