"""Elevation from wherever it lies: a window of it, with what its source says."""

import json
import tomllib

import numpy as np
import pytest
import rasterio
from affine import Affine
from made_up_study import CRS, NORTH, WEST, ground, write_elevation

from playsite.errors import InputError
from playsite.fetching.elevation import elevation_window
from playsite.fetching.fetch import fetch
from playsite.fetching.stac import raster_of
from playsite.study import check

PARCELS = (WEST + 100, NORTH - 300, WEST + 160, NORTH - 240)


SIDE = 2048


def lay_out(path, *, driver="COG", **profile):
    """Lay out 2,048 x 2,048 cells of 1 m around the town, hard to compress: 17 MB."""
    rng = np.random.default_rng(1)
    heights = (100 + rng.random((SIDE, SIDE))).astype("float32")
    plan = {"width": SIDE, "height": SIDE, "count": 1, "dtype": "float32", "crs": CRS}
    plan |= {"transform": Affine(1, 0, WEST - 800, 0, -1, NORTH + 800), "nodata": -9999}
    if driver == "COG":
        plan |= {"blocksize": 256, "overviews": "NONE", "compress": "NONE"}
    with rasterio.open(path, "w", driver=driver, **{**plan, **profile}) as raster:
        raster.write(heights, 1)
        raster.units = ("m",)
    return heights


def window(source, tmp_path, **bounds):
    file = tmp_path / "window.tif"
    heights = elevation_window(str(source), PARCELS, CRS, file, **bounds)
    with rasterio.open(file) as raster:
        return heights, raster.read(1), raster


def bytes_of(server):
    lines = [line for verb in ("RANGE", "GET") for line in server.asked(verb)]
    return sum(int(line.rsplit(" ", 1)[1]) for line in lines if not line.endswith("404"))


def test_a_window_of_a_large_raster_is_read_by_ranges(server, tmp_path):
    """660 x 660 cells of 4 bytes are 1.7 MB; in tiles of 256 at most 16 tiles, 4.2 MB."""
    held = lay_out(server.folder / "dem.tif")
    heights, read, raster = window(f"{server.address}/dem.tif?key=secret", tmp_path)
    assert (raster.width, raster.height) == (660, 660)
    top, left = 800 + 240 - 300, 800 + 100 - 300
    np.testing.assert_array_equal(read, held[top : top + 660, left : left + 660])
    assert raster.bounds.left == PARCELS[0] - 300
    assert raster.bounds.top == PARCELS[3] + 300
    assert raster.nodata == -9999
    assert heights.unit == "m"
    assert (server.folder / "dem.tif").stat().st_size > 15e6
    assert 1.7e6 < bytes_of(server) < 6e6
    assert len(server.asked("RANGE")) <= 8
    asked = server.asked("RANGE") + server.asked("GET") + server.asked("HEAD")
    assert {line.split()[0] for line in asked} == {"/dem.tif?key=secret"}, "nothing beside it"


def test_a_vrt_leads_to_its_tiles_by_ranges(server, tmp_path):
    held = lay_out(server.folder / "dem.tif")
    (server.folder / "town.vrt").write_text(
        f"""<VRTDataset rasterXSize="{SIDE}" rasterYSize="{SIDE}"><SRS>{CRS}</SRS>
        <GeoTransform>{WEST - 800}, 1, 0, {NORTH + 800}, 0, -1</GeoTransform>
        <VRTRasterBand dataType="Float32" band="1"><UnitType>m</UnitType><SimpleSource>
        <SourceFilename relativeToVRT="1">dem.tif</SourceFilename><SourceBand>1</SourceBand>
        </SimpleSource></VRTRasterBand></VRTDataset>"""
    )
    heights, read, _ = window(f"{server.address}/town.vrt", tmp_path)
    assert heights.unit == "m"
    np.testing.assert_array_equal(read, held[740 : 740 + 660, 600 : 600 + 660])
    assert bytes_of(server) < 6e6


def stac(server, assets, **properties):
    said = {"datetime": "2024-04-02T10:00:00Z", "license": "CC-BY-4.0", **properties}
    item = {"type": "Feature", "properties": said, "assets": assets}
    folder = server.folder / "collections" / "dem" / "items"
    folder.mkdir(parents=True)
    (folder / "town").write_text(json.dumps(item))
    return f"{server.address}/collections/dem/items/town"


TIFF = "image/tiff; application=geotiff; profile=cloud-optimized"


def test_a_stac_item_gives_its_data_date_and_credit(study, server):
    lay_out(server.folder / "dem.tif")
    assets = {
        "thumbnail": {"href": "/small.tif", "type": TIFF, "roles": ["thumbnail"]},
        "page": {"href": "/page.html", "type": "text/html"},
        "data": {"href": "../../../dem.tif", "type": TIFF, "roles": ["data"]},
    }
    address = stac(server, assets, providers=[{"name": 'Made-up "Survey"', "roles": ["host"]}])
    (done,) = fetch(study, ["elevation"], address)
    held = tomllib.loads(study.read_text(encoding="utf-8"))["layers"]["elevation"]
    assert held["date"] == "2024-04-02"
    assert held["credit"] == 'Made-up "Survey", CC-BY-4.0'
    assert done.said == "heights in m"
    _, layers, _ = check(study)
    assert layers.elevation.array.shape == (660, 660)
    assert layers.elevation.height_unit_said_by == "the file"


@pytest.mark.parametrize(
    ("assets", "said"),
    [
        ({}, "has no GeoTIFF; its assets: none"),
        ({"a": {"href": "a.zip", "type": "application/zip"}}, "its assets: a"),
        ({"a": {"href": "a.tif"}, "b": {"href": "b.tif"}}, r"several GeoTIFFs: a \(a.tif\), b"),
        ({"a": {"href": "s3://bucket/a.tif"}}, "s3://bucket/a.tif: only http and https"),
    ],
)
def test_an_item_that_does_not_say_which_is_refused(server, assets, said):
    with pytest.raises(InputError, match=said):
        raster_of(stac(server, assets))


def test_of_several_the_one_named_for_the_ground_is_taken(server):
    assets = {name: {"href": f"/{name}.tif", "type": TIFF} for name in ("slope", "dtm", "shade")}
    assert raster_of(stac(server, assets)).address == f"{server.address}/dtm.tif"


def test_a_saved_item_leads_to_the_file_beside_it(tmp_path):
    lay_out(tmp_path / "dem.tif")
    item = {"assets": {"data": {"href": "dem.tif", "type": TIFF}}}
    (tmp_path / "item.json").write_text(json.dumps(item))
    heights, read, _ = window(tmp_path / "item.json", tmp_path)
    assert read.shape == (660, 660)
    assert (heights.date, heights.credit) == ("", "")


def test_the_unit_of_a_compound_system_is_kept(tmp_path):
    """EPSG:26918 with EPSG:6360, NAVD88 height in U.S. survey feet."""
    lay_out(tmp_path / "dem.tif", driver="GTiff", crs="EPSG:26918+6360")
    with rasterio.open(tmp_path / "dem.tif", "r+") as raster:
        raster.units = ("",)
    heights, _, _ = window(tmp_path / "dem.tif", tmp_path)
    assert heights.unit == "US survey foot"
    with rasterio.open(tmp_path / "window.tif") as raster:
        assert raster.units == ("US survey foot",)


def test_another_system_and_the_edge_of_a_tile(tmp_path):
    """In degrees, and only the western half of what is asked for."""
    west, north = -75.0 - 0.01, 40.66
    profile = {"crs": "EPSG:4326", "transform": Affine(1e-5, 0, west, 0, -1e-5, north)}
    lay_out(tmp_path / "dem.tif", driver="GTiff", width=1100, **profile)
    heights, _, raster = window(tmp_path / "dem.tif", tmp_path)
    assert raster.crs.to_epsg() == 4326
    assert raster.bounds.right == pytest.approx(west + 1100e-5)
    assert heights.notes[0].startswith("it covers ")


def _no_place(folder):
    lay_out(folder / "dem.tif", driver="GTiff", crs=None)


def _elsewhere(folder):
    lay_out(folder / "dem.tif", driver="GTiff", transform=Affine(1, 0, WEST + 9000, 0, -1, NORTH))


def _hollow(folder):
    lay_out(folder / "dem.tif", driver="GTiff")
    with rasterio.open(folder / "dem.tif", "r+") as raster:
        raster.write(np.full((SIDE, SIDE), -9999, dtype="float32"), 1)


def _text(folder):
    (folder / "dem.tif").write_text("no raster")


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (_no_place, "doesn't say where on the map"),
        (_elsewhere, "doesn't reach the parcels"),
        (_hollow, "holds no height"),
        (_text, "not recognized"),
    ],
)
def test_a_raster_at_fault_ends_in_a_sentence(study, tmp_path, make, said):
    make(tmp_path)
    before = study.read_bytes(), sorted(study.parent.iterdir())
    with pytest.raises(InputError, match=said):
        fetch(study, ["elevation"], str(tmp_path / "dem.tif"))
    assert (study.read_bytes(), sorted(study.parent.iterdir())) == before


def test_size_counts_what_must_be_read(tmp_path):
    """The window has 1.7 MB; in strips as wide as the raster, 660 x 2,048 x 4 bytes are read."""
    lay_out(tmp_path / "dem.tif", driver="GTiff")
    with pytest.raises(InputError, match="takes 5 MB of it, more than 2"):
        window(tmp_path / "dem.tif", tmp_path, most_megabytes=2)


@pytest.mark.parametrize(
    ("path", "said"),
    [
        ("none.tif", "404"),
        ("whole/dem.tif", "Range downloading not supported"),
        ("drip/dem.tif", r"did not answer within 0.1 minutes"),
        ("items/none", "404"),
    ],
)
def test_an_address_at_fault_ends_in_a_sentence(server, tmp_path, path, said):
    lay_out(server.folder / "dem.tif")
    with pytest.raises(InputError, match=said):
        window(f"{server.address}/{path}", tmp_path, most_minutes=0.1)


def test_other_ways_to_name_a_place_are_refused(tmp_path):
    with pytest.raises(InputError, match="only http and https"):
        window("ftp://127.0.0.1/dem.tif", tmp_path)
    with pytest.raises(InputError, match="no such file"):
        window("none.tif", tmp_path)


def test_without_a_unit_the_question_stands_in_the_study(study, tmp_path):
    write_elevation(tmp_path / "dem.tif", ground(lambda x, _: x))
    (done,) = fetch(study, ["elevation"], str(tmp_path / "dem.tif"))
    assert "height_unit" in done.said
    text = study.read_text(encoding="utf-8")
    assert '# height_unit = "m"    # or "ft"' in text
    assert '# date = "..."' in text, "the day of fetching is not the day of the survey"
    with pytest.raises(InputError, match="height_unit"):
        check(study)
    study.write_text(text.replace('# height_unit = "m"', 'height_unit = "m"'), encoding="utf-8")
    assert check(study)[1].elevation.array.shape == (400, 400)
