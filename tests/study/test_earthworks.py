"""Earthwork of pads: planes by the trade's closed form, walls where there is no room, sections."""

import math

import geopandas as gpd
import numpy as np
import pytest
import shapely
from made_up_study import CRS, box, ground, write_study

from playsite.result import SECTION_COLUMNS
from playsite.settings import Setbacks
from playsite.site import Site
from playsite.study import check
from playsite.study.earthworks import (
    EARTHWORK_COLUMNS,
    earthwork_table,
    section_table,
)
from playsite.terrain.earth_volumes import noise_volume_m3

LONG_M, WIDE_M = 31.6, 22.7
PAD = box(184.2, 188.65, LONG_M, WIDE_M)
LOT = box(100, 100, 200, 200)


def falling(grade):
    return ground(lambda x, y: 20 + grade * y + 0 * x)


def pads(*shapes):
    table = {"parcel_id": [f"lot{n}" for n in range(len(shapes))]}
    return gpd.GeoDataFrame(table, geometry=list(shapes), crs=CRS)


@pytest.fixture
def worked(tmp_path):
    def of(elevation, *shapes, lot=LOT, layers=None, setbacks=None, **options):
        own = pads(*(shapes or (PAD,)))
        lots = dict.fromkeys(own["parcel_id"], lot)
        # one lot after another, or equal shapes would be one
        shifted = {
            name: shapely.transform(lot, lambda c, n=n: c + 1e-3 * n) for n, name in enumerate(lots)
        }
        file = write_study(tmp_path, shifted, elevation=elevation, layers=layers)
        site = Site(check(file)[1])
        table = earthwork_table(
            own, site.layers.parcels.geometry, site, setbacks or Setbacks(), **options
        )
        return table, own, site

    return of


class TestQuantities:
    @pytest.mark.parametrize("grade", [0.05, 0.08])
    def test_a_plane_moves_a_triangle_of_cut_and_one_of_fill(self, worked, grade):
        """Cut c of the width and fill sqrt(0.9) c, as a metre of cut makes 0.9 of fill (geometry).

        Banks at 4 : 1: e^2 / (2 (1/4 - s)) a metre along the upper side, where the step is e; at
        the short sides, where it falls to none, 2 (s - g)^2 c^3 / 3 each; at its two corners a
        quarter of a cone each, between 4 e and e / (1/4 - s) wide.
        """
        row = worked(falling(grade))[0].iloc[0]
        cut_m, steep = WIDE_M / (1 + math.sqrt(0.9)), grade - 0.02
        step_m = steep * cut_m
        sure_m3 = (
            LONG_M * steep * cut_m**2 / 2
            + LONG_M * step_m**2 / (2 * (0.25 - grade))
            + 2 * 2 * steep**2 * cut_m**3 / 3
        )
        corners_m3 = [
            2 * math.pi / 12 * step_m * wide_m**2
            for wide_m in (4 * step_m, step_m / (0.25 - grade))
        ]
        assert row["deepest_cut_m"] == pytest.approx(step_m, abs=0.5 * grade)
        assert (row["crossfall_pct"], row["direction_deg"]) == (2, 180)
        assert sure_m3 + 0.98 * corners_m3[0] < row["cut_m3"] < 1.005 * (sure_m3 + corners_m3[1])
        assert row["fill_m3"] == pytest.approx(0.9 * row["cut_m3"], rel=0.05)

    def test_the_pad_that_is_already_right_moves_only_topsoil_and_box_out(self, worked):
        row = worked(falling(0.015))[0].iloc[0]
        area_m2 = LONG_M * WIDE_M
        assert row["cut_m3"] == pytest.approx(0, abs=0.1)
        assert row["fill_m3"] == pytest.approx(0, abs=0.1)
        assert row["boxout_m3"] == pytest.approx(0.40 * area_m2)
        assert row["topsoil_m3"] == pytest.approx(0.15 * area_m2, rel=0.01)
        assert row["export_m3"] == pytest.approx(0.40 * area_m2, rel=0.01)
        assert row["import_m3"] == 0
        assert row["wall_m"] == 0

    def test_the_box_out_is_of_the_surfacing_where_that_is_known(self, worked):
        row = worked(falling(0.015), surfacing_m2=477.0)[0].iloc[0]
        assert row["boxout_m3"] == pytest.approx(0.40 * 477)

    def test_plus_minus_is_that_of_the_elevations_noise(self, worked):
        row = worked(falling(0.015))[0].iloc[0]
        area_m2 = LONG_M * WIDE_M
        # noise of 3 cm on 1 m cells, and 2 cm of doubt over the depth of the box-out
        noise_m3 = noise_volume_m3(area_m2, noise_m=0.03, noise_length_m=0.0, cell_m=1.0)
        assert noise_m3 == pytest.approx(0.03 * math.sqrt(area_m2))
        assert row["plus_minus_m3"] == pytest.approx(math.hypot(noise_m3, 0.02 * area_m2), rel=0.01)
        assert row["at_most_m3"] == pytest.approx((0.03 + 0.02) * area_m2, rel=0.01)

    def test_two_levels_save_half_the_cut_of_a_plane(self, worked):
        # each half has a quarter of it (geometry)
        row = worked(falling(0.08))[0].iloc[0]
        cut_m = WIDE_M / (1 + math.sqrt(0.9))
        assert row["two_levels_cut_saved_m3"] == pytest.approx(
            LONG_M * 0.06 * cut_m**2 / 4, rel=0.01
        )
        assert row["two_levels_step_m"] == pytest.approx(0.06 * WIDE_M / 2, rel=0.02)
        assert row["two_levels_ramp_m"] > 12 * row["two_levels_step_m"]


class TestRoom:
    def test_banks_end_at_the_parcel_and_a_wall_takes_their_place(self, worked):
        tight = PAD.buffer(0.3, join_style="mitre")
        row = worked(falling(0.10), lot=tight)[0].iloc[0]
        assert row["wall_m"] > LONG_M
        assert 0.5 < row["wall_height_m"] < 1.1
        assert not row["wall_needs_permit"]
        free = worked(falling(0.10))[0].iloc[0]
        assert free["wall_m"] == 0
        assert free["tie_in_area_m2"] > row["tie_in_area_m2"]

    def test_a_house_and_roots_are_in_the_way_but_their_setbacks_are_not(self, worked):
        house = {"buildings": ([box(184, 180, 32, 8)], {"kind": ["shed"]})}
        row = worked(falling(0.10), layers=house)[0].iloc[0]
        assert row["wall_m"] > 0
        far = {"buildings": ([box(184, 160, 32, 8)], {"kind": ["shed"]})}
        wide = Setbacks.model_validate({"building": "15 m"})
        assert worked(falling(0.10), layers=far, setbacks=wide)[0]["wall_m"].iloc[0] == 0
        tree = {"trees": ([box(199.9, 184.9, 0.2, 0.2).centroid], {"diameter_m": [0.25]})}
        roots = Setbacks.model_validate({"tree_roots": 12})
        assert worked(falling(0.10), layers=tree, setbacks=roots)[0]["wall_m"].iloc[0] > 0

    def test_the_outline_holds_pad_and_banks(self, worked):
        row = worked(falling(0.08))[0].iloc[0]
        assert row.geometry.contains(PAD.buffer(-0.01))
        assert row.geometry.area == pytest.approx(PAD.area + row["tie_in_area_m2"], rel=0.02)


class TestPadsAndSections:
    def test_two_loose_areas_have_two_rows(self, worked):
        pair = shapely.MultiPolygon([box(150, 190, 20, 15), box(180, 190, 20, 15)])
        table, own, site = worked(falling(0.05), PAD, pair)
        assert table.columns.tolist() == [*EARTHWORK_COLUMNS, "geometry"]
        assert table["parcel_id"].tolist() == ["lot0", "lot1", "lot1"]
        assert table["part"].tolist() == [1, 1, 2]
        assert table["boxout_m3"].tolist()[1:] == pytest.approx([120, 120])
        sections = section_table(table, own, site)
        assert len(sections.groupby(["parcel_id", "part"])) == 3

    def test_a_section_shows_the_cut_above_and_the_fill_below(self, worked):
        table, own, site = worked(falling(0.08))
        drawn = section_table(table, own, site)
        assert drawn.columns.tolist() == list(SECTION_COLUMNS)
        on_pad = drawn[drawn["distance_m"].abs() < WIDE_M / 2 - 0.1]
        over_m = (on_pad["ground_m"] - on_pad["finish_m"]).to_numpy()
        assert over_m[0] == pytest.approx(table["deepest_cut_m"].iloc[0], abs=0.05)
        assert over_m[-1] < 0 < over_m[0]
        fall = np.polyfit(on_pad["distance_m"], on_pad["finish_m"], 1)[0]
        assert fall == pytest.approx(-0.02, abs=1e-6)
        assert drawn["finish_m"].isna().any(), "beyond its banks the ground stays"

    def test_unknown_ground_is_missing_and_never_nothing(self, worked):
        gap = falling(0.05)
        gap[150:250, 150:250] = np.nan
        table, own, site = worked(gap)
        assert table["cut_m3"].isna().all()
        assert table["export_m3"].isna().all()
        assert section_table(table, own, site).empty

    def test_without_elevation_all_is_missing(self, worked):
        table, own, site = worked(None)
        assert table["cut_m3"].isna().all()
        assert section_table(table, own, site).columns.tolist() == list(SECTION_COLUMNS)
