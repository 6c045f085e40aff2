"""In which metres a study is measured."""

import geopandas as gpd
import numpy as np
import pytest
import shapely
from pyproj import CRS, Geod
from shapely.geometry import box

from playsite.layers._crs import choose_crs, horizontal, length_scale, metric, vertical_unit_m

# Snyder 1987, Map Projections: A Working Manual, USGS Professional Paper 1395, pp. 269-270:
# Clarke 1866, 40 30 N, 73 30 W, central meridian 75 W, k0 .9996 (seen in several test files
# that quote it, and recomputed). The zone's false easting of 500,000 m comes on top.
SNYDER_LON, SNYDER_LAT = -73.5, 40.5
SNYDER_X_M, SNYDER_Y_M = 500_000 + 127_106.5, 4_484_124.4


def test_snyders_point_comes_out_where_he_prints_it(study):
    at = box(SNYDER_LON, SNYDER_LAT, SNYDER_LON + 0.001, SNYDER_LAT + 0.001)
    study.parcels([at], crs="EPSG:4267")
    read = study.read(study='crs = "EPSG:26718"')
    corners = np.array(read.layers.parcels.geometry.iloc[0].exterior.coords)
    nearest = np.hypot(corners[:, 0] - SNYDER_X_M, corners[:, 1] - SNYDER_Y_M).min()
    assert nearest < 0.08  # he prints decimetres


def test_survey_feet_become_metres_at_1200_over_3937(study):
    # U.S. National Bureau of Standards 1959: a survey foot is 1200/3937 m exactly; the
    # international foot differs by 2 ppm, 2.000 ft in a million.
    study.parcels([box(1_000_000, 200_000, 1_000_300, 200_300)], crs="EPSG:2263")
    read = study.read()
    west, south, *_ = read.layers.parcels.total_bounds
    assert west == pytest.approx(1_000_000 * 1200 / 3937, abs=1e-4)
    assert south == pytest.approx(200_000 * 1200 / 3937, abs=1e-4)
    assert abs(west - 1_000_000 * 0.3048) / 0.3048 == pytest.approx(2.0, abs=1e-4)
    assert read.found("US survey foot", "in metres")
    assert [axis.unit_name for axis in read.layers.crs.axis_info] == ["metre", "metre"]


@pytest.mark.parametrize("name", ["EPSG:2263", "EPSG:2277+5703", "ESRI:102733", "EPSG:6588"])
def test_a_system_in_feet_has_a_twin_in_metres(name):
    twin = metric(CRS(name))
    assert {axis.unit_conversion_factor for axis in twin.axis_info} == {1.0}
    lon, lat = horizontal(CRS(name)).area_of_use.west, horizontal(CRS(name)).area_of_use.south
    assert length_scale(twin, lon, lat) == pytest.approx(
        length_scale(horizontal(CRS(name)), lon, lat)
    )


def test_new_yorks_foot_system_and_its_published_metric_one_agree(study):
    # EPSG:32118 is the same projection as EPSG:2263, published in metres.
    study.parcels([box(1_000_000, 200_000, 1_000_300, 200_300)], crs="EPSG:2263")
    ours = study.read().layers.parcels.geometry.iloc[0]
    published = gpd.read_file(study.folder / "parcels.gpkg").to_crs(32118).geometry.iloc[0]
    assert shapely.hausdorff_distance(ours, published) < 1e-3


@pytest.mark.parametrize(
    ("name", "unit_m"),
    [
        ("EPSG:26910+5703", 1.0),
        ("EPSG:2277+6360", 1200 / 3937),
        ("EPSG:26910", None),
        ("EPSG:4979", 1.0),
    ],
)
def test_the_unit_of_heights_is_known_where_the_system_has_heights(name, unit_m):
    assert vertical_unit_m(CRS(name)) == (unit_m if unit_m is None else pytest.approx(unit_m))


@pytest.mark.parametrize(("lat", "scale"), [(0, 1.00), (40, 1.31), (52, 1.62)])
def test_the_web_map_is_too_long_by_the_secant_of_the_latitude(lat, scale):
    # Mercator's scale is sec(latitude): 1.305 at 40 degrees, 1.624 at 52.
    assert length_scale(CRS("EPSG:3857"), 10, lat) == pytest.approx(scale, abs=0.01)


def test_the_studys_own_system_is_kept(study):
    study.parcels()
    read = study.read(study='crs = "EPSG:32118"')
    assert read.layers.crs == CRS("EPSG:32118")
    assert not read.problems


def test_the_parcels_own_system_is_kept_where_it_measures_true(study):
    study.parcels()
    read = study.read()
    assert read.layers.crs == CRS("EPSG:26918")
    assert not read.found("brought to")


@pytest.mark.parametrize(
    ("crs", "words"),
    [
        ("EPSG:3857", "1.32 times"),
        ("EPSG:4326", "degrees"),
        ("EPSG:32633", "times"),
        ("EPSG:999999", "no coordinate reference system"),
        ("gibberish", "no coordinate reference system"),
        ("EPSG:2053", "eastwards and northwards"),
    ],
)
def test_a_system_that_can_not_be_measured_in_is_refused(study, crs, words):
    study.parcels()
    read = study.read(study=f'crs = "{crs}"')
    assert read.layers is None
    (told,) = read.told(words)
    assert "line 5" in told
    assert "[study.crs]" in told


def test_degrees_go_to_the_zone_that_fits(study):
    study.parcels([box(-75.001, 40.0, -75.0, 40.001)], crs="EPSG:4326")
    read = study.read()
    assert read.layers.crs == CRS("EPSG:32618")
    assert read.found("degrees", "WGS 84 / UTM zone 18N")
    ring = gpd.read_file(study.folder / "parcels.gpkg").geometry.iloc[0]
    on_ground_m2 = abs(Geod(ellps="WGS84").geometry_area_perimeter(ring)[0])
    assert read.layers.parcels.area.sum() == pytest.approx(on_ground_m2, rel=1e-3)


def test_no_zone_fits_the_pole():
    with pytest.raises(ValueError, match="no zone of UTM"):
        choose_crs(None, CRS("EPSG:4326"), (0.5, 88.5))


def test_degrees_that_are_none_are_refused(study):
    study.parcels([box(500_000, 4_500_000, 500_100, 4_500_100)], crs="EPSG:4326")
    (told, *_) = study.read().told("degrees", "run to 4,500,100")
    assert 'crs = "EPSG:..."' in told
    read = study.read(parcels='[layers.parcels]\npath = "parcels.gpkg"\ncrs = "EPSG:26918"\n')
    assert read.layers.crs == CRS("EPSG:26918")
    assert read.found("caution", "The study's word is taken")


def test_a_file_that_says_nothing_is_refused_unless_the_study_says_it(study):
    study.parcels(crs=None)
    (told, *_) = study.read().told("doesn't say what its coordinates mean")
    assert "line 9" in told
    read = study.read(parcels='[layers.parcels]\npath = "parcels.gpkg"\ncrs = "EPSG:26918"\n')
    assert not read.problems
    assert read.found("taken as NAD83 / UTM zone 18N")


def test_a_real_town_in_the_web_map_is_measured_true(study, fetched):
    # 407 cadastral plots of Prague (momepy 0.11.0, BSD-3): the web map shows 2.43 times the
    # area that the Czech national grid, EPSG:5514, gives.
    file = fetched("momepy", "0.11.0", "momepy/datasets/bubenec.gpkg")
    plots = gpd.read_file(file, layer="plots")
    true_m2 = plots.to_crs(5514).area.sum()
    assert plots.area.sum() / true_m2 == pytest.approx(2.43, abs=0.01)
    read = study.read(
        parcels=f'[layers.parcels]\npath = "{file.as_posix()}"\nlayer = "plots"\n'
        'columns.parcel_id = "ID"\n'
    )
    assert read.found("Pseudo-Mercator", "times what they are")
    assert read.layers.parcels.area.sum() == pytest.approx(true_m2, rel=2e-3)


def test_a_parcel_on_the_other_side_of_the_earth_moves_nothing(study):
    study.features(
        "parcels.geojson",
        [box(-75.001 + x, 40, -75 + x, 40.001) for x in (0, 0.01, 180)],
        crs="EPSG:4326",
        parcel_id=["a", "b", "c"],
    )
    read = study.read(parcels='[layers.parcels]\npath = "parcels.geojson"\n')
    assert read.layers.crs == CRS("EPSG:32618")
    assert read.layers.parcels.index.tolist() == ["a", "b", "c"]
    assert read.found("loud", "50 km", "(c)")


def test_parcels_that_are_on_no_map_are_refused(study):
    study.parcels([box(1e12, 1e12, 1e12 + 100, 1e12 + 100)])
    assert study.read().told("not on the map of NAD83 / UTM zone 18N")


def test_a_system_that_does_not_cover_the_parcels_is_refused(study):
    study.parcels()
    read = study.read(study='crs = "EPSG:31370"')  # Belgium's, across the ocean
    assert read.told("[study.crs]", "times what they are")


def test_a_bound_system_is_what_it_binds():
    bound = CRS("+proj=utm +zone=18 +ellps=clrk66 +towgs84=-8,160,176 +units=m")
    assert bound.is_bound
    assert not horizontal(bound).is_bound


@pytest.mark.parametrize("layer", ["trees", "elevation"])
def test_a_systems_name_that_nobody_knows_is_told_for_any_layer(study, layer):
    study.parcels()
    study.parcels()
    study.raster("x.tif", np.ones((9, 9), "float32"))
    file = "x.tif" if layer == "elevation" else "parcels.gpkg"
    (told, *_) = study.read(f'[layers.{layer}]\npath = "{file}"\ncrs = "EPSG:0"\n').problems
    assert '"EPSG:0" is no coordinate reference system' in told
    assert f"[layers.{layer}.crs]" in told


def test_a_drawings_own_grid_is_no_system(study):
    local = CRS.from_wkt(
        'LOCAL_CS["site grid",LOCAL_DATUM["site",0],UNIT["metre",1],AXIS["x",EAST],AXIS["y",NORTH]]'
    )
    study.parcels(crs=local)
    assert study.read().told("doesn't say what its coordinates mean")


def test_a_place_that_a_system_can_not_show_is_told():
    with pytest.raises(ValueError, match="does not cover the parcels"):
        choose_crs(CRS("EPSG:32618"), CRS("EPSG:4326"), (15.0, 0.0))


def test_features_that_can_not_be_brought_over_are_left_out_and_told(study):
    shapes = [box(-75 + x, 40, -74.999 + x, 40.001) for x in (0, 0.01)]
    shapes.append(box(14.9, -0.001, 15.1, 0.001))
    study.features("parcels.geojson", shapes, crs="EPSG:4326", parcel_id=["a", "b", "c"])
    read = study.read(parcels='[layers.parcels]\npath = "parcels.geojson"\n')
    assert read.layers.parcels.index.tolist() == ["a", "b"]
    assert read.found("caution", "can't be brought to WGS 84 / UTM zone 18N: 1", "features 2")
