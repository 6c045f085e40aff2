"""Every format of docs/formats.md, written by its own driver and read back at the gate."""

import re
import shutil
import warnings
import zipfile

import geopandas as gpd
import numpy as np
import pytest
import rasterio
import rasterio.shutil
from made_up_study import CRS, box, ground, point, write_elevation, write_study

from playsite.study import check

TREE = point(130, 130)
WGS = {"GeoJSON", "GeoJSON lines", "KML"}


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


def _zipped_database(folder, frame):
    frame.to_file(folder / "trees.gdb", driver="OpenFileGDB", layer="trees")
    shutil.make_archive(str(folder / "trees.gdb"), "zip", folder, "trees.gdb")
    shutil.rmtree(folder / "trees.gdb")
    return "trees.gdb.zip"


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
    "GML": (_plain("trees.gml", driver="GML"), ""),
    "TAB": (_plain("trees.tab", driver="MapInfo File"), ""),
    "DXF": (None, f'crs = "{CRS}"\n'),
    "CSV with longitude and latitude": (_csv_degrees, 'crs = "EPSG:4326"\n'),
    "CSV with WKT": (_csv_wkt, f'crs = "{CRS}"\n'),
    "GeoParquet": (_parquet, ""),
}


def _dxf(folder, frame):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        frame[["geometry"]].to_file(folder / "trees.dxf", driver="DXF")
    return "trees.dxf"


@pytest.mark.parametrize("name", VECTORS)
def test_a_vector_format_is_read_where_it_lies(name, tmp_path):
    study = write_study(tmp_path, {"A": box(100, 100, 60, 60)})
    write, more = VECTORS[name]
    frame = gpd.GeoDataFrame({"species": ["oak"]}, geometry=[TREE], crs=CRS)
    frame = frame.to_crs(4326) if name in WGS or name.startswith("One of several") else frame
    path = (write or _dxf)(tmp_path, frame)
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
    for i, name in enumerate(("west.tif", "east.tif")):
        half = np.full_like(whole, np.nan)
        half[:, 200 * i : 200 * i + 200] = whole[:, 200 * i : 200 * i + 200]
        write_elevation(folder / name, half)


RASTERS = {
    "GeoTIFF": _copied("GTiff", ".tif"),
    "Cloud-optimised GeoTIFF": _copied("COG", ".tif"),
    "ASCII grid": _copied("AAIGrid", ".asc"),
    "IMG": _copied("HFA", ".img"),
    "VRT": _copied("VRT", ".vrt"),
    "Many tiles": _tiles,
}


@pytest.mark.parametrize("name", RASTERS)
def test_a_raster_format_is_read_where_it_lies(name, tmp_path):
    study = write_study(tmp_path, {"A": box(100, 100, 200, 60)})
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of the drivers that write
        path = RASTERS[name](tmp_path)
    tables = [f'[layers.elevation]\npath = "{path}"\nheight_unit = "m"\n']
    if path is None:
        tables = [
            f'[[layers.elevation]]\npath = "{tile}"\nheight_unit = "m"\n'
            for tile in ("west.tif", "east.tif")
        ]
    study.write_text(study.read_text() + "".join(tables))
    _, layers, _ = check(study)
    assert np.nanmin(layers.elevation.array) == pytest.approx(10, abs=0.02)
    assert np.nanmax(layers.elevation.array) == pytest.approx(14, abs=0.02)


def test_the_table_of_the_docs_is_what_was_tried(repo):
    text = (repo / "docs" / "formats.md").read_text(encoding="utf-8")
    named = re.findall(r"^\| ([^|]+?) \|", text, flags=re.MULTILINE)
    assert [name for name in named if name not in {"format", "---"}] == [*VECTORS, *RASTERS]
