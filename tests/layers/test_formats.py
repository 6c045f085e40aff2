"""Every format of docs/formats.md, written by its own driver and read back at the gate."""

import json
import re
import shutil
import warnings
import zipfile

import geopandas as gpd
import numpy as np
import pytest
import rasterio
import rasterio.shutil
from affine import Affine
from made_up_study import CRS, NORTH, WEST, box, ground, point, write_elevation, write_study
from scipy.io import netcdf_file

from playsite.errors import InputError
from playsite.layers.files import sha256_of
from playsite.study import check

TREE = point(130, 130)
WGS = {"GeoJSON", "GeoJSON lines", "KML", "KMZ", "GPX"}


def _plain(name, **options):
    def write(folder, frame):
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # what a format can't hold is the point of the table
            frame.to_file(folder / name, **options)
        return name

    return write


def _zip(folder, frame):
    inner = folder / "inner"
    inner.mkdir()
    frame.to_file(inner / "trees.shp")
    with zipfile.ZipFile(folder / "trees.zip", "w") as archive:
        for part in inner.iterdir():
            archive.write(part, f"export/2024/{part.name}")
    return "trees.zip"


def _several_in_a_zip(folder, frame):
    frame.to_file(folder / "a.geojson")
    with zipfile.ZipFile(folder / "maps.zip", "w") as archive:
        archive.write(folder / "a.geojson", "sub/trees.geojson")
        archive.write(folder / "a.geojson", "sub/other.geojson")
    return "maps.zip/sub/trees.geojson"


def _without(ending):
    def write(folder, frame):
        frame.to_file(folder / "trees.shp")
        (folder / f"trees{ending}").unlink()
        return "trees.shp"

    return write


def _csv_degrees(folder, frame):
    degrees = frame.to_crs(4326)
    table = degrees.drop(columns="geometry").assign(lon=degrees.geometry.x, lat=degrees.geometry.y)
    table.to_csv(folder / "trees.csv", index=False)
    return "trees.csv"


def _csv_wkt(folder, frame):
    table = frame.drop(columns="geometry").assign(WKT=frame.geometry.to_wkt())
    table.to_csv(folder / "trees.csv", index=False)
    return "trees.csv"


def _parquet(folder, frame):
    frame.to_parquet(folder / "trees.parquet")
    return "trees.parquet"


def _esri_json(folder, frame):
    """What a county's server answers with f=json; written by hand, as no driver writes it."""
    (place,) = frame.geometry
    answer = {
        "geometryType": "esriGeometryPoint",
        "spatialReference": {"wkid": 26918},
        "fields": [{"name": "species", "type": "esriFieldTypeString"}],
        "features": [{"attributes": {"species": "oak"}, "geometry": {"x": place.x, "y": place.y}}],
    }
    (folder / "trees.json").write_text(json.dumps(answer), encoding="utf-8")
    return "trees.json"


def _gpx(folder, frame):
    frame.rename(columns={"species": "name"}).to_file(folder / "trees.gpx", driver="GPX")
    return "trees.gpx"


def _tiles_of_features(folder, frame):
    (folder / "tiles").mkdir()
    for number in (1, 2):
        away = frame.set_geometry(frame.translate(5000 * (number - 1)))
        away.to_file(folder / "tiles" / f"trees_{number}.shp")
    return "tiles/*.shp"


def _zipped_database(folder, frame):
    frame.to_file(folder / "trees.gdb", driver="OpenFileGDB", layer="trees")
    shutil.make_archive(str(folder / "trees.gdb"), "zip", folder, "trees.gdb")
    shutil.rmtree(folder / "trees.gdb")
    return "trees.gdb.zip"


def _dxf(folder, frame):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        frame[["geometry"]].to_file(folder / "trees.dxf", driver="DXF")
    return "trees.dxf"


VECTORS = {
    "Shapefile": (_plain("trees.shp"), ""),
    "Shapefile in a zip with folders": (_zip, ""),
    "One of several files in a zip": (_several_in_a_zip, ""),
    "Shapefile without .prj": (_without(".prj"), f'crs = "{CRS}"\n'),
    "Shapefile without .shx": (_without(".shx"), ""),
    "GeoPackage": (_plain("trees.gpkg"), ""),
    "GeoJSON": (_plain("trees.geojson"), ""),
    "GeoJSON lines": (_plain("trees.geojsonl", driver="GeoJSONSeq"), ""),
    "FlatGeobuf": (_plain("trees.fgb"), ""),
    "File geodatabase": (_plain("trees.gdb", driver="OpenFileGDB", layer="trees"), ""),
    "File geodatabase in a zip": (_zipped_database, ""),
    "KML": (_plain("trees.kml", driver="KML"), ""),
    "KMZ": (_plain("trees.kmz", driver="LIBKML"), ""),
    "GML": (_plain("trees.gml", driver="GML"), ""),
    "TAB": (_plain("trees.tab", driver="MapInfo File"), ""),
    "MIF": (_plain("trees.mif", driver="MapInfo File"), ""),
    "Esri JSON": (_esri_json, ""),
    "SQLite": (_plain("trees.sqlite", driver="SQLite"), ""),
    "GPX": (_gpx, 'layer = "waypoints"\n'),
    "DXF": (_dxf, f'crs = "{CRS}"\n'),
    "CSV with longitude and latitude": (_csv_degrees, 'crs = "EPSG:4326"\n'),
    "CSV with WKT": (_csv_wkt, f'crs = "{CRS}"\n'),
    "GeoParquet": (_parquet, ""),
    "Many files of features": (_tiles_of_features, ""),
}


@pytest.mark.parametrize("name", VECTORS)
def test_a_vector_format_is_read_where_it_lies(name, tmp_path):
    study = write_study(tmp_path, {"A": box(100, 100, 60, 60)})
    write, more = VECTORS[name]
    frame = gpd.GeoDataFrame({"species": ["oak"]}, geometry=[TREE], crs=CRS)
    frame = frame.to_crs(4326) if name in WGS or name.startswith("One of several") else frame
    path = write(tmp_path, frame)
    study.write_text(study.read_text() + f'[layers.trees]\npath = "{path}"\n{more}')
    before = sorted(tmp_path.rglob("*"))
    _, layers, _ = check(study)
    (tree,) = layers.get("trees").geometry
    assert tree.distance(TREE) < 0.02
    assert sorted(tmp_path.rglob("*")) == before, "nothing is written beside the user's files"


def _copied(driver, ending):
    def write(folder):
        write_elevation(folder / "plain.tif", ground(lambda x, y: 10 + 0.01 * x))
        rasterio.shutil.copy(folder / "plain.tif", folder / f"dem{ending}", driver=driver)
        return f"dem{ending}"

    return write


def _tiles(folder):
    whole = ground(lambda x, y: 10 + 0.01 * x)
    (folder / "tiles").mkdir()
    for i, name in enumerate(("west", "east")):
        half = np.full_like(whole, np.nan)
        half[:, 200 * i : 200 * i + 200] = whole[:, 200 * i : 200 * i + 200]
        write_elevation(folder / "tiles" / f"{name}.tif", half)
    return "tiles/*.tif"


def _zipped(folder):
    name = _copied("GTiff", ".tif")(folder)
    with zipfile.ZipFile(folder / "dem.zip", "w") as archive:
        archive.write(folder / name, "export/dem.tif")
    (folder / name).unlink()
    return "dem.zip"


def _two_variables(folder):
    """A netCDF of two variables, as a modeller gives it: which one is meant must be said."""
    heights = ground(lambda x, y: 10 + 0.01 * x)
    dims = {"y": NORTH - 0.5 - np.arange(400), "x": WEST + 0.5 + np.arange(400)}
    name, where = CRS.split(":")
    wkt = rasterio.crs.CRS.from_authority(name, where).to_wkt()
    with netcdf_file(folder / "dem.nc", "w") as opened:
        for dim, values in dims.items():
            opened.createDimension(dim, 400)
            made = opened.createVariable(dim, "d", (dim,))
            made[:] = values
            made.standard_name, made.units = f"projection_{dim}_coordinate", "m"
        grid = opened.createVariable("grid", "i", ())
        grid.spatial_ref = wkt
        grid.grid_mapping_name = "transverse_mercator"
        for variable, factor in (("ground", 1), ("surface", 9)):
            made = opened.createVariable(variable, "f", ("y", "x"))
            made[:] = heights * factor
            made.grid_mapping = "grid"
    return "dem.nc"


RASTERS = {
    "GeoTIFF": (_copied("GTiff", ".tif"), ""),
    "Cloud-optimised GeoTIFF": (_copied("COG", ".tif"), ""),
    "GeoTIFF in a zip": (_zipped, ""),
    "ASCII grid": (_copied("AAIGrid", ".asc"), ""),
    "IMG": (_copied("HFA", ".img"), ""),
    "VRT": (_copied("VRT", ".vrt"), ""),
    "BIL": (_copied("EHdr", ".bil"), ""),
    "XYZ text": (_copied("XYZ", ".xyz"), f'crs = "{CRS}"\n'),
    "netCDF": (_copied("netCDF", ".nc"), ""),
    "netCDF of several variables": (_two_variables, 'layer = "ground"\n'),
    "Many tiles": (_tiles, ""),
}


@pytest.mark.parametrize("name", RASTERS)
def test_a_raster_format_is_read_where_it_lies(name, tmp_path):
    study = write_study(tmp_path, {"A": box(100, 100, 200, 60)})
    write, more = RASTERS[name]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of the drivers that write
        path = write(tmp_path)
    table = f'[layers.elevation]\npath = "{path}"\nheight_unit = "m"\n{more}'
    study.write_text(study.read_text() + table)
    before = sorted(tmp_path.rglob("*"))
    _, layers, _ = check(study)
    assert layers.elevation.array.shape == (400, 400)
    plane = ground(lambda x, y: 10 + 0.01 * x)
    np.testing.assert_allclose(layers.elevation.array, plane, atol=0.02)
    assert sorted(tmp_path.rglob("*")) == before, "nothing is written beside the user's files"


def test_parcels_of_a_drawing_are_the_areas_within_closed_lines(tmp_path):
    parcel = box(100, 100, 60, 60)
    lines = gpd.GeoDataFrame(geometry=[parcel.exterior], crs=CRS)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        lines.to_file(tmp_path / "parcels.dxf", driver="DXF")
    study = write_study(tmp_path, {"A": box(0, 0, 9, 9)})
    said = f'"parcels.dxf"\ncrs = "{CRS}"\ncolumns.parcel_id = "EntityHandle"'
    study.write_text(study.read_text().replace('"parcels.gpkg"', said))
    _, layers, findings = check(study)
    (drawn,) = layers.parcels.geometry
    assert drawn.symmetric_difference(parcel).area < 0.01
    assert any("outline of an area" in str(finding) for finding in findings)


def test_which_variable_is_meant_is_asked_never_guessed(tmp_path):
    study = write_study(tmp_path, {"A": box(100, 100, 200, 60)})
    plain = study.read_text()
    table = f'[layers.elevation]\npath = "{_two_variables(tmp_path)}"\nheight_unit = "m"\n'
    study.write_text(plain + table)
    with pytest.raises(InputError, match="holds 2 rasters: ground, surface. Say which: layer"):
        check(study)
    study.write_text(plain + table + 'layer = "grond"\n')
    with pytest.raises(InputError, match='no layer "grond". Did you mean "ground"?'):
        check(study)


def test_text_of_western_windows_is_read_and_told(tmp_path):
    frame = gpd.GeoDataFrame({"species": ["oak"]}, geometry=[TREE], crs=CRS).to_crs(4326)
    (place,) = frame.geometry
    text = f"Größe,name,lon,lat\n1,Müllers Linde,{place.x},{place.y}\n"
    (tmp_path / "trees.csv").write_bytes(text.encode("cp1252"))
    study = write_study(tmp_path, {"A": box(100, 100, 60, 60)})
    table = '[layers.trees]\npath = "trees.csv"\ncrs = "EPSG:4326"\n'
    study.write_text(study.read_text() + table)
    _, layers, _ = check(study)
    assert layers.get("trees")["name"].tolist() == ["Müllers Linde"]


@pytest.mark.parametrize("of", ["parcels.shp", "dem.vrt", "maps.zip", "tiles/*.tif", "a.gdb"])
def test_a_change_of_any_part_is_a_change_of_the_file(of, tmp_path):
    (tmp_path / "tiles").mkdir()
    part = tmp_path / "tiles" / "part.tif"
    write_elevation(part, ground(lambda x, y: x))
    if of == "parcels.shp":
        gpd.GeoDataFrame({"a": [1]}, geometry=[TREE], crs=CRS).to_file(tmp_path / of)
        part = tmp_path / "parcels.dbf"
    elif of == "dem.vrt":
        rasterio.shutil.copy(part, tmp_path / of, driver="VRT")
    elif of == "maps.zip":
        with zipfile.ZipFile(tmp_path / of, "w") as archive:
            archive.write(part, "inner/trees.shp")
        of, part = "maps.zip/inner/trees.shp", tmp_path / of
    elif of == "a.gdb":
        gpd.GeoDataFrame({"a": ["oak"]}, geometry=[TREE], crs=CRS).to_file(
            tmp_path / of, driver="OpenFileGDB"
        )
        part = tmp_path / of / "a00000001.gdbtable"
    before = sha256_of(tmp_path / of)
    assert len(before) == 64
    whole = bytearray(part.read_bytes())
    whole[-1] ^= 1
    part.write_bytes(whole)
    assert sha256_of(tmp_path / of) not in ("", before)


def test_what_is_true_of_many_files_is_said_once(tmp_path):
    (tmp_path / "tiles").mkdir()
    whole = ground(lambda x, y: 10 + 0.01 * x)
    for number in range(4):
        write_elevation(tmp_path / "tiles" / f"t{number}.tif", whole)
    study = write_study(tmp_path, {"A": box(100, 100, 200, 60)})
    plain = study.read_text()
    study.write_text(plain + '[layers.elevation]\npath = "tiles/*.tif"\n')
    with pytest.raises(InputError, match=r"feet or metres \(the same of 4 of 4 files\)") as told:
        check(study)
    assert len(told.value.problems) == 1
    study.write_text(plain + '[layers.elevation]\npath = "tiles/*.asc"\nheight_unit = "m"\n')
    with pytest.raises(InputError, match='no file fits "tiles/\\*.asc"'):
        check(study)


def test_tiles_of_another_size_or_system_are_told(tmp_path):
    (tmp_path / "tiles").mkdir()
    whole = ground(lambda x, y: 10 + 0.01 * x)
    write_elevation(tmp_path / "tiles" / "a.tif", whole[:, :100])
    with rasterio.open(
        tmp_path / "tiles" / "b.tif", "w", driver="GTiff", width=200, height=200, count=1,
        dtype="float32", crs=CRS, transform=Affine(2, 0, WEST, 0, -2, NORTH),
    ) as opened:  # fmt: skip
        opened.write(ground(lambda x, y: 10 + 0.02 * x)[:200, :200] + 0.005, 1)
    write_elevation(tmp_path / "tiles" / "c.tif", whole, crs="EPSG:32618")
    study = write_study(tmp_path, {"A": box(100, 100, 200, 60)})
    table = '[layers.elevation]\npath = "tiles/*.tif"\nheight_unit = "m"\n'
    study.write_text(study.read_text() + table)
    _, layers, findings = check(study)
    said = [str(finding) for finding in findings]
    assert any("cells of 1 m (2), 2 m (1). All are brought to the first" in text for text in said)
    np.testing.assert_allclose(layers.elevation.array[:, :398], whole[:, :398], atol=0.02)


def test_the_table_of_the_docs_is_what_was_tried(repo):
    text = (repo / "docs" / "formats.md").read_text(encoding="utf-8")
    # Tables of formats: those of columns have other heads.
    tables = re.findall(r"^\| format \|.*\n\|[-|]+\n((?:\|.*\n)+)", text, flags=re.MULTILINE)
    named = re.findall(r"^\| ([^|]+?) \|", "".join(tables), flags=re.MULTILINE)
    assert named == [*VECTORS, *RASTERS]
