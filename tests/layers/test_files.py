"""Which file and which layer; what can't be read is a sentence, never a traceback."""

import hashlib
import json
import shutil
import sqlite3
import zipfile

import geopandas as gpd
import pytest
from shapely.geometry import LineString, Point, box

from playsite.layers.files import input_sha256, sha256_of
from playsite.problems import Problems
from playsite.settings import read_settings

EAST, NORTH, CRS = 500_000.0, 4_500_000.0, "EPSG:26918"
SQUARE = box(EAST, NORTH, EAST + 100, NORTH + 80)
TREE = Point(EAST + 20, NORTH + 20)


def test_every_fault_is_told_at_once_with_its_line(study):
    study.parcels()
    study.features("trees.gpkg", [TREE])
    read = study.read(
        '[layers.tree]\npath = "trees.gpkg"\n'
        '[layers.trees]\npath = "tress.gpkg"\n'
        '[layers.water]\npath = "parcels.gpkg"\nlayer = "parcel"\n'
        '[layers.elevation]\npath = "trees.gpkg"\ncolumns.x = "y"\n'
        '[layers.fences]\npath = "trees.gpkg"\nheight_unit = "m"\n',
    )
    assert read.told('no kind of layer "tree"', 'Did you mean "trees"?', "line 10")
    assert read.told('no file "tress.gpkg"', 'Did you mean "trees.gpkg"?', "line 13")
    assert read.told('no layer "parcel"', 'Did you mean "parcels"?', "line 16")
    assert read.told('"columns" has no meaning for elevation', "line 17")
    assert read.told('"height_unit" has no meaning for fences', "line 22")


def test_a_missing_folder_is_named(study):
    study.parcels()
    assert study.read('[layers.trees]\npath = "maps/t.gpkg"\n').told("There is no folder", "maps")


def test_a_study_without_parcels_is_refused(study):
    study.features("trees.gpkg", [TREE])
    read = study.read(parcels='[layers.trees]\npath = "trees.gpkg"\n')
    assert read.layers is None
    assert read.told("names no parcels", "Add a table [layers.parcels]")


def test_faults_of_other_files_are_told_though_the_parcels_fail(study):
    study.features("trees.gpkg", [TREE])
    study.raster("dem.tif", [[1.0, 2.0], [1.0, 2.0]])
    read = study.read(
        '[layers.trees]\npath = "trees.gpkg"\ncolumns.height = "HT"\n'
        '[layers.elevation]\npath = "dem.tif"\n'
    )
    assert read.told('no file "parcels.gpkg"')
    assert read.told('no column "HT"')
    assert read.told("feet or metres")


def test_several_layers_are_listed(study):
    study.parcels()
    study.write("both.gpkg", gpd.GeoDataFrame(geometry=[TREE], crs=CRS), layer="stems")
    study.write("both.gpkg", gpd.GeoDataFrame(geometry=[TREE], crs=CRS), layer="crowns")
    (told,) = study.read('[layers.trees]\npath = "both.gpkg"\n').problems
    assert "2 layers: crowns, stems. Say which" in told
    read = study.read('[layers.trees]\npath = "both.gpkg"\nlayer = "stems"\n')
    assert len(read.layers.get("trees")) == 1
    assert read.layers.label_of("trees") == "both.gpkg (stems)"


@pytest.mark.parametrize("name", ["t.shp", "t.geojson", "t.fgb", "t.kml", "t.gml"])
def test_formats_that_people_have(study, name):
    study.parcels()
    crs = 4326 if name.endswith((".geojson", ".kml")) else CRS
    study.features(name, gpd.GeoSeries([TREE], crs=CRS).to_crs(crs), crs=crs, name=["oak"])
    read = study.read(f'[layers.trees]\npath = "{name}"\n')
    assert not read.problems
    tree = read.layers.get("trees").iloc[0]
    assert tree["name"] == "oak"
    assert tree.geometry.distance(TREE) < 0.01


def test_a_zip_with_a_folder_inside_is_read(study):
    study.parcels()
    study.features("t.shp", [TREE], height_m=[9.0])
    with zipfile.ZipFile(study.folder / "t.zip", "w") as archive:
        for part in study.folder.glob("t.*"):
            if part.suffix != ".zip":
                archive.write(part, f"inner/folder/{part.name}")
    read = study.read('[layers.trees]\npath = "t.zip"\n')
    assert not read.problems
    assert read.layers.get("trees")["height_m"].tolist() == [9.0]


def test_a_zip_of_several_files_asks_to_be_unpacked(study):
    study.parcels()
    with zipfile.ZipFile(study.folder / "t.zip", "w") as archive:
        archive.writestr("a.geojson", "{}")
        archive.writestr("b.geojson", "{}")
    assert study.read('[layers.trees]\npath = "t.zip"\n').told(
        "2 map files: a.geojson, b.geojson", 'path = "t.zip/a.geojson"'
    )
    (study.folder / "t.zip").write_bytes(b"PK no archive")
    assert study.read('[layers.trees]\npath = "t.zip"\n').told("can't be read")


def test_a_table_with_longitude_and_latitude_needs_its_system(study):
    study.parcels()
    at = gpd.GeoSeries([TREE], crs=CRS).to_crs(4326).iloc[0]
    (study.folder / "t.csv").write_text(f"height_ft,lon,lat\n30,{at.x},{at.y}\n")
    (told,) = study.read('[layers.trees]\npath = "t.csv"\n').problems
    assert "doesn't say what its coordinates mean" in told
    read = study.read('[layers.trees]\npath = "t.csv"\ncrs = "EPSG:4326"\n')
    assert not read.problems
    assert read.layers.get("trees").geometry.iloc[0].distance(TREE) < 0.01
    assert read.layers.get("trees")["height_m"].iloc[0] == pytest.approx(9.144)


def test_a_table_without_places_is_refused(study):
    study.parcels()
    (study.folder / "t.csv").write_text("height_ft,kind\n30,oak\n")
    read = study.read('[layers.trees]\npath = "t.csv"\ncrs = "EPSG:4326"\n')
    assert read.told("table without shapes")


@pytest.mark.parametrize("content", [b"", b"no map", b"SQLite format 3\x00 but broken"])
def test_a_broken_file_is_a_sentence(study, content):
    study.parcels()
    (study.folder / "t.gpkg").write_bytes(content)
    (told,) = study.read('[layers.trees]\npath = "t.gpkg"\n').problems
    assert '"t.gpkg"' in told
    assert "line 11" in told
    assert "GDAL reads" in told


def test_a_shapefile_without_its_index_is_read_by_a_copy(study):
    study.parcels()
    study.features("t.shp", [TREE])
    (study.folder / "t.shx").unlink()
    assert len(study.read('[layers.trees]\npath = "t.shp"\n').layers.get("trees")) == 1
    assert not (study.folder / "t.shx").exists()  # the user's folder is left as it was


def test_a_filter_picks_rows_and_a_bad_one_gives_gdals_sentence(study):
    study.parcels()
    study.features("t.gpkg", [TREE, TREE.buffer(1)], kind=["oak", "elm"])
    read = study.read('[layers.trees]\npath = "t.gpkg"\nwhere = "kind = \'oak\'"\n')
    assert read.layers.get("trees")["feature"].tolist() == [1]
    (told,) = study.read('[layers.trees]\npath = "t.gpkg"\nwhere = "nope = 3"\n').problems
    assert "no such column: nope" in told
    assert "[layers.trees.where]" in told


def test_an_empty_layer_is_a_problem(study):
    study.parcels()
    study.write("t.gpkg", gpd.GeoDataFrame({"a": []}, geometry=[], crs=CRS), geometry_type="Point")
    assert study.read('[layers.trees]\npath = "t.gpkg"\n').told("holds no features")


def test_a_file_of_other_shapes_is_a_problem(study):
    study.features("parcels.gpkg", [TREE], parcel_id=["a"])
    read = study.read()
    assert read.told("its shapes are Point", "parcels are polygons")


def test_what_is_absent_is_unknown_and_what_is_empty_is_known(study):
    study.parcels()
    far = box(EAST + 50_000, NORTH, EAST + 50_010, NORTH + 10)
    study.features("w.gpkg", [far])
    read = study.read('[layers.water]\npath = "w.gpkg"\n')
    assert len(read.layers.get("water")) == 0
    assert read.layers.has("water")
    assert "width_m" in read.layers.get("water").columns
    assert read.found("caution", "w.gpkg holds nothing near", "49.9 km away")
    assert read.layers.get("trees") is None
    assert not read.layers.has("trees")
    assert read.found("loud", "pads may lie on houses")


def test_features_further_than_two_kilometres_are_cut_and_counted(study):
    study.parcels()
    streets = [
        LineString([(EAST, NORTH - y), (EAST + 100, NORTH - y)]) for y in (10, 1990, 2010, 9000)
    ]
    study.features("s.gpkg", streets)
    read = study.read('[layers.streets]\npath = "s.gpkg"\n')
    assert read.layers.get("streets")["feature"].tolist() == [1, 2]
    assert read.found("Features of s.gpkg that are not used: 2 of 4")


def test_a_layer_that_stops_short_of_the_parcels_is_told(study):
    study.parcels()
    study.features("s.gpkg", [LineString([(EAST, NORTH - 900), (EAST + 9, NORTH - 900)])])
    read = study.read('[layers.streets]\npath = "s.gpkg"\n')
    assert read.found("caution", "doesn't reach the parcels", "900 m off")


def test_several_files_become_one_layer_and_keep_their_names(study):
    study.parcels()
    study.features("a.gpkg", [TREE], height_m=[5.0])
    study.features("b.gpkg", [TREE], HT=[30])
    read = study.read(
        '[[layers.trees]]\npath = "a.gpkg"\ndate = "2020"\n'
        '[[layers.trees]]\npath = "b.gpkg"\ndate = 2021-05-01\n'
        'columns.height = { column = "HT", unit = "ft" }\n'
    )
    trees = read.layers.get("trees")
    assert trees["source"].tolist() == ["a.gpkg", "b.gpkg"]
    assert trees["height_m"].tolist() == [5.0, pytest.approx(9.144)]
    assert read.layers.date_of("trees") == "2020, 2021-05-01"
    assert read.layers.label_of("trees") == "a.gpkg, b.gpkg"
    assert read.layers.sources.query("kind == 'trees'")["features"].tolist() == [1, 1]


def test_a_missing_date_is_none_and_is_told(study):
    study.parcels()
    read = study.read()
    assert read.layers.date_of("parcels") is None
    assert read.layers.sources["date"].tolist() == [None]
    assert read.found("gives no date for: parcels")


def test_layers_without_features_keep_what_reports_need(study):
    study.parcels()
    study.features("t.gpkg", [TREE])
    layers = study.read('[layers.trees]\npath = "t.gpkg"\n').layers
    light = layers.without_features()
    assert light.frames == {}
    assert light.parcels.empty
    assert light.label_of("trees") == "t.gpkg"
    assert light.findings == layers.findings


def test_hashes_are_those_of_the_standard_library(study):
    study.parcels()
    read = study.read()
    expected = hashlib.sha256((study.folder / "parcels.gpkg").read_bytes()).hexdigest()
    settings = read_settings(study.folder, Problems())
    assert read.layers.sources["sha256"].tolist() == [expected]
    assert input_sha256(settings) == {"parcels.gpkg": expected}
    assert sha256_of(study.folder / "nothing.gpkg") == ""


def test_a_shapefiles_hash_changes_with_each_of_its_parts(study):
    study.features("t.shp", [TREE], height_m=[9.0])
    before = sha256_of(study.folder / "t.shp")
    shutil.copy(study.folder / "t.dbf", study.folder / "other.dbf")
    assert sha256_of(study.folder / "t.shp") == before
    with (study.folder / "t.dbf").open("ab") as table:
        table.write(b"!")
    assert sha256_of(study.folder / "t.shp") != before


def test_a_shape_that_can_be_none_is_told_and_the_others_are_kept(study):
    study.parcels(crs="EPSG:4326", shapes=[box(-75, 40, -74.999, 40.001)])
    ring = [[-75, 40], [-74.999, 40], [-74.999, 40.001]]
    closed = [*ring, ring[0]]
    features = [
        {"type": "Feature", "properties": {}, "geometry": {"type": "Polygon", "coordinates": [xy]}}
        for xy in (closed, ring)
    ]
    text = json.dumps({"type": "FeatureCollection", "features": features})
    (study.folder / "b.geojson").write_text(text)
    read = study.read('[layers.buildings]\npath = "b.geojson"\n')
    assert not read.problems
    assert len(read.layers.get("buildings")) == 1
    assert read.found("caution", "buildings: b.geojson:", "closed")
    assert read.found("caution", "Features without a shape: 1")


def test_a_database_without_layers_is_a_problem(study):
    study.parcels()
    study.write("t.gpkg", gpd.GeoDataFrame(geometry=[TREE], crs=CRS))
    with sqlite3.connect(study.folder / "t.gpkg") as opened:
        for table in ("gpkg_contents", "gpkg_geometry_columns"):
            opened.execute(f"DELETE FROM {table}")  # noqa: S608
        opened.execute("DROP TABLE t")
    opened.close()
    assert study.read('[layers.trees]\npath = "t.gpkg"\n').problems


def test_an_address_that_can_not_be_had_is_a_sentence(study):
    study.parcels()
    (told,) = study.read('[layers.trees]\npath = "/vsizip/none.zip/t.shp"\n').problems
    assert "can't be read" in told


def test_an_archive_with_a_geodatabase_is_read(study):
    study.parcels()
    study.features("t.gdb", [TREE], height_m=[9.0])
    with zipfile.ZipFile(study.folder / "t.zip", "w") as archive:
        for part in (study.folder / "t.gdb").iterdir():
            archive.write(part, f"inner/t.gdb/{part.name}")
    read = study.read('[layers.trees]\npath = "t.zip"\n')
    assert read.layers.get("trees")["height_m"].tolist() == [9.0]
    folder = study.read('[layers.trees]\npath = "t.gdb"\n').layers
    assert folder.get("trees")["height_m"].tolist() == [9.0]
    assert len(folder.sources.query("kind == 'trees'")["sha256"].iloc[0]) == 64


def test_a_layer_of_wrong_shapes_is_one_problem_and_no_finding(study):
    study.parcels()
    study.features("t.gpkg", [LineString([(EAST, NORTH), (EAST + 9, NORTH)])])
    read = study.read('[layers.trees]\npath = "t.gpkg"\n')
    (told,) = read.problems
    assert "its shapes are LineString; trees are points or polygons" in told
    assert not read.found("holds nothing near")


def test_a_bad_filter_on_the_parcels_stops_with_gdals_sentence(study):
    study.parcels()
    read = study.read(parcels='[layers.parcels]\npath = "parcels.gpkg"\nwhere = "nope = 3"\n')
    assert read.layers is None
    assert read.told("no such column: nope")


def test_a_filter_that_leaves_no_parcel_is_told(study):
    study.parcels()
    read = study.read(parcels='[layers.parcels]\npath = "parcels.gpkg"\nwhere = "fid > 9"\n')
    assert read.layers is None
    assert read.told("[layers.parcels.where]", "leaves no parcel")
