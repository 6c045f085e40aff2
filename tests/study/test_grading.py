"""Ground round pads for drawings: cut and fill, contours and arrows on made-up slopes."""

import geopandas as gpd
import numpy as np
import pytest
import shapely
from made_up_study import CRS, box, ground, write_study

from playsite.result import ARROW_COLUMNS, CONTOUR_COLUMNS, GRADE_AREA_COLUMNS, GRADING_COLUMNS
from playsite.settings import Setbacks
from playsite.site import Site
from playsite.study import check, run
from playsite.study.earthworks import earthwork_table
from playsite.study.grading import arrow_table, contour_table, grading_table

PAD = box(184.2, 188.65, 31.6, 22.7)
LOT = box(100, 100, 200, 200)


@pytest.fixture
def site_of(tmp_path):
    def of(elevation, *, lot=LOT, layers=None):
        return Site(
            check(write_study(tmp_path, {"lot": lot}, elevation=elevation, layers=layers))[1]
        )

    return of


def pads(shape=PAD):
    return gpd.GeoDataFrame({"parcel_id": ["lot"]}, geometry=[shape], crs=CRS)


def graded(site, shape=PAD):
    parcels = site.layers.parcels.geometry
    earth = earthwork_table(pads(shape), parcels, site, Setbacks())
    return grading_table(earth, pads(shape), parcels, site, Setbacks()), earth


def slope(x, y):
    return 20 + 0.06 * y + 0 * x


def test_cut_lies_above_fill_below_and_both_make_up_pad_and_banks(site_of):
    table, earth = graded(site_of(ground(slope)))
    assert table.columns.tolist() == list(GRADING_COLUMNS)
    shapes = table.set_index("kind").geometry
    assert sorted(shapes.index) == ["cut", "fill"]
    assert shapes["cut"].centroid.y > PAD.centroid.y > shapes["fill"].centroid.y
    footprint_m2 = PAD.area + earth["tie_in_area_m2"].iloc[0]
    assert shapes["cut"].area + shapes["fill"].area == pytest.approx(footprint_m2, rel=0.02)


def test_a_wall_is_a_line_with_its_height(site_of):
    table, earth = graded(site_of(ground(slope), lot=PAD.buffer(0.4, join_style="mitre")))
    walls = table[table["kind"] == "wall"]
    assert walls["height_m"].max() == earth["wall_height_m"].iloc[0]
    assert walls.geometry.length.sum() == pytest.approx(earth["wall_m"].iloc[0], rel=0.1)
    assert table.loc[table["kind"] != "wall", "height_m"].isna().all()


def test_two_loose_areas_are_graded_apart(site_of):
    pair = shapely.MultiPolygon([box(150, 190, 20, 15), box(180, 190, 20, 15)])
    table, _ = graded(site_of(ground(slope)), pair)
    assert sorted(set(table["part"])) == [1, 2]


@pytest.mark.parametrize(("units", "step_m"), [("feet", 0.3048), ("metres", 0.25)])
def test_contours_lie_within_60_m_at_the_step_of_the_units(site_of, units, step_m):
    table = contour_table(pads(), site_of(ground(slope)), units=units)
    assert table.columns.tolist() == list(CONTOUR_COLUMNS)
    levels = np.unique(table["elevation_m"])
    assert np.diff(levels) == pytest.approx(step_m)
    west, south, east, north = table.total_bounds
    around = PAD.buffer(62).bounds
    assert (west >= around[0], south >= around[1], east <= around[2], north <= around[3]) == (
        True,
    ) * 4


def test_arrows_run_downhill_off_the_pad_and_within_60_m(site_of):
    table = arrow_table(pads(), site_of(ground(slope)))
    assert table.columns.tolist() == list(ARROW_COLUMNS)
    assert 50 < len(table) < 200
    for line in table.geometry:
        (x, y), (tip_x, tip_y) = line.coords
        assert (tip_x - x, tip_y - y) == pytest.approx((0, -5), abs=0.05)
    assert table["grade_pct"].to_numpy() == pytest.approx(6, abs=0.01)
    assert table.geometry.centroid.distance(PAD).between(0, 60, inclusive="right").all()


def test_no_arrow_where_noise_hides_the_fall_or_a_house_stands(site_of):
    noise = np.random.default_rng(1).normal(0, 0.03, (400, 400))
    level = arrow_table(pads(), site_of(ground(lambda x, y: 20 + 0 * x + 0 * y) + noise))
    sloped = arrow_table(pads(), site_of(ground(slope) + noise))
    # a fall of none is taken for one about as often as the interval of 90 % says
    assert len(level) < 0.15 * len(sloped)
    house = {"buildings": ([box(130, 130, 140, 50)], {"kind": ["shed"]})}
    built = arrow_table(pads(), site_of(ground(slope), layers=house))
    assert len(built) < len(sloped)
    assert not built.geometry.centroid.intersects(box(130, 130, 140, 50)).any()


def test_without_ground_there_is_nothing_to_draw(site_of):
    site = site_of(None)
    assert contour_table(pads(), site, units="feet").empty
    assert arrow_table(pads(), site).empty
    assert graded(site)[0].empty


def test_the_pads_own_grade_lies_between_the_ends_of_the_area_it_stands_in(tmp_path):
    hills = ground(lambda x, y: 20 + 2 * np.sin(x / 40) * np.cos(y / 30) + 0.02 * x)
    knots = '[criteria.grade]\nknots = { ideal = "1 %", acceptable = "3 %", poor = "6 %" }\n'
    lots = {"a": box(60, 60, 90, 80), "b": box(200, 80, 80, 90), "c": box(120, 220, 110, 70)}
    result = run(write_study(tmp_path, lots, elevation=hills, more=knots))
    areas = result.grade_areas
    assert list(areas.columns) == list(GRADE_AREA_COLUMNS)
    # classes end where the study's own curve has its knots
    assert set(areas["most_pct"]) <= {1.0, 3.0, 6.0, np.inf}
    grade = result.measurements[result.measurements["criterion"] == "grade"]
    measured = grade.set_index("parcel_id")["value"]
    assert set(areas["parcel_id"]) == set(lots)
    for pad in result.pads.itertuples():
        own = areas[areas["parcel_id"] == pad.parcel_id]
        here = own[own.intersects(pad.geometry.centroid.buffer(0.25))]
        value = measured[pad.parcel_id]
        assert ((here["least_pct"] <= value) & (value <= here["most_pct"])).any()
        assert own.area.sum() == pytest.approx(lots[pad.parcel_id].area, rel=0.01)


def test_without_elevation_no_grade_is_drawn(tmp_path):
    result = run(write_study(tmp_path, {"lot": LOT}, elevation=None))
    assert result.grade_areas.empty
