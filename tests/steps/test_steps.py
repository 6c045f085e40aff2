"""Each step against a known answer, from files to files, and what it says to bad ones."""

import sys
import warnings

import geopandas as gpd
import numpy as np
import pytest
import rasterio
import shapely
from click.testing import CliRunner
from made_up_study import CRS, box, ground, line, point, write_elevation

from playsite.errors import ContractError, InputError, NotInstalledError
from playsite.report.steps_list import step_lines, steps_page
from playsite.steps._contract import Input, Output, Parameter, Step
from playsite.steps._registry import installed, load
from playsite.steps._running import run_step
from playsite.steps_cli import step as step_command
from playsite.steps_cli import steps as steps_command
from playsite.testing import check_step
from playsite.units import Unit

ALL = ["buildable", "clearance", "dash", "grade", "low-spots", "pad-grade", "pads", "walk"]


def _write(path, shapes, crs=CRS, **columns):
    columns = columns or {"name": [str(i) for i in range(len(shapes))]}
    gpd.GeoDataFrame(columns, geometry=list(shapes), crs=crs).to_file(path)
    return path


@pytest.fixture
def town(tmp_path):
    """Files that all steps can run on."""
    pad = box(100, 100, 31.7, 22.7)
    return {
        "parcels": _write(tmp_path / "parcels.gpkg", [box(90, 90, 60, 50), box(200, 90, 12, 80)]),
        "land": _write(tmp_path / "land.gpkg", [box(90, 90, 60, 50), box(200, 90, 12, 80)]),
        "pads": _write(tmp_path / "pads.gpkg", [pad]),
        "shapes": _write(tmp_path / "shapes.gpkg", [pad]),
        "features": _write(tmp_path / "features.gpkg", [box(0, 100, 80, 22)]),
        "hazards": _write(tmp_path / "hazards.gpkg", [box(0, 100, 80, 22)]),
        "barriers": _write(tmp_path / "barriers.gpkg", [line((90, 80), (90, 140))]),
        "origins": _write(tmp_path / "origins.gpkg", [pad]),
        "places": _write(tmp_path / "places.gpkg", [point(300, 80)]),
        "paths": _write(tmp_path / "paths.gpkg", [line((0, 80), (400, 80))]),
        "elevation": _elevation(tmp_path / "dem.tif"),
        "water": _write(tmp_path / "water.gpkg", [box(300, 300, 20, 20)]),
        "taken": _write(tmp_path / "taken.gpkg", [box(90, 90, 10, 10)]),
    }


def _elevation(path):
    def height(x, y):
        bowl = 0.5 * np.clip(1 - np.hypot(x - 200, y - 300) / 10, 0, None)
        return 10 + 0.03 * x - bowl

    write_elevation(path, ground(height))
    return path


def _run(name, town, tmp_path, values=None, **options):
    step = load(name)[0]
    files = {each.name: town[each.name] for each in step.inputs if each.name in town}
    for each in step.outputs:
        files[each.name] = (
            tmp_path / f"{name}-{each.name}{'.tif' if each.what == 'raster' else '.gpkg'}"
        )
    return run_step(step, files, values or {}, **options)


def test_these_steps_are_installed():
    assert sorted(installed()) == ALL


@pytest.mark.parametrize("name", ALL)
def test_each_keeps_its_contract(name, town, tmp_path):
    step = load(name)[0]
    files = {each.name: town[each.name] for each in step.inputs if each.name in town}
    check_step(step, files=files, folder=tmp_path / "checked")


def test_grade_in_strips_is_that_of_the_whole(town, tmp_path):
    # A plane of 3 % with a bowl; strips of 1,024 rows never show, so a taller raster is tried.
    tall = tmp_path / "tall.tif"
    rng = np.random.default_rng(1)
    write_elevation(tall, rng.normal(10, 0.3, (2500, 40)).astype("float32"))
    made = _run("grade", {"elevation": tall}, tmp_path)["out"]
    from playsite.terrain.grade import cell_grade_pct

    with rasterio.open(tall) as source, rasterio.open(made) as opened:
        whole = cell_grade_pct(source.read(1), cell_m=1.0)
        assert np.array_equal(opened.read(1), whole, equal_nan=True)
        assert opened.units == ("%",)
        assert "step grade" in opened.tags()["made_by"]


def test_a_hollow_holds_its_depth(town, tmp_path):
    spots = gpd.read_file(_run("low-spots", town, tmp_path, {"noise": "0 cm"})["out"])
    # The cone is 0.5 m deep in a plane of 3 %, whose lower rim lets 0.3 m out.
    assert len(spots) == 1
    assert spots["depth_m"].iloc[0] == pytest.approx(0.2, abs=0.06)


def test_clearance_is_edge_to_edge(town, tmp_path):
    assert gpd.read_file(_run("clearance", town, tmp_path)["out"])["distance_m"].tolist() == [20.0]


def test_dash_runs_round_the_fence(town, tmp_path):
    made = _run("dash", town, tmp_path)
    dash = gpd.read_file(made["out"])["dash_m"].iloc[0]
    # Round the fence's end at (90, 140): from the pad's corner to it, and on to the hazard's.
    expected = np.hypot(10, 17.3) + np.hypot(10, 18)
    assert dash == pytest.approx(expected, abs=0.02)
    assert gpd.read_file(made["ways"]).length.iloc[0] == pytest.approx(dash, abs=1e-6)


def test_walk_goes_along_the_path(town, tmp_path):
    made = _run("walk", town, tmp_path)
    walk = gpd.read_file(made["out"])["walk_m"].iloc[0]
    # Along open ground nothing stops the straight link of up to 150 m, then the path.
    assert 168.3 <= walk <= 20 + 168.3
    assert len(gpd.read_file(made["ways"])) == 1


def test_walk_crosses_a_busy_street_where_a_study_would_and_goes_through_no_fence(town, tmp_path):
    town = town | {
        "streets": _write(
            tmp_path / "streets.gpkg", [line((-900, 80), (900, 80))], **{"class": ["arterial"]}
        ),
        "paths": _write(tmp_path / "side.gpkg", [line((350, 80), (350, 40))], kind=["footway"]),
        "places": _write(tmp_path / "over.gpkg", [point(116, 70)]),
    }
    across = gpd.read_file(_run("walk", town, tmp_path)["out"])["walk_m"].iloc[0]
    assert across > 2 * (350 - 131.7)  # it is crossed only where the path joins
    town["crossings"] = _write(tmp_path / "crossings.gpkg", [point(140, 80)])
    marked = gpd.read_file(_run("walk", town, tmp_path)["out"])["walk_m"].iloc[0]
    assert marked < 100
    town["fences"] = _write(tmp_path / "fences.gpkg", [line((-950, 90), (950, 90))])
    fenced = gpd.read_file(_run("walk", town, tmp_path)["out"])["walk_m"].iloc[0]
    assert fenced == np.inf


def test_words_that_a_step_does_not_know_are_told_with_those_it_knows(town, tmp_path):
    words = {"class": ["Major Collector"], "bridge": ["maybe"]}
    town["streets"] = _write(tmp_path / "streets.gpkg", [line((0, 80), (400, 80))], **words)
    with pytest.raises(InputError, match=r"(?s)Major Collector.*local, collector.*maybe"):
        _run("walk", town, tmp_path)


def test_buildable_land_is_what_is_left(town, tmp_path):
    land = gpd.read_file(_run("buildable", town, tmp_path, {"setback": "5 m"})["out"])
    assert land["gross_m2"].iloc[0] == pytest.approx(3000)
    assert land["buildable_m2"].iloc[0] == pytest.approx(50 * 40 - 25, abs=0.5)


def test_pads_fit_or_say_how_much_is_lacking(town, tmp_path):
    made = _run("pads", town, tmp_path)
    assert len(gpd.read_file(made["out"])) == 1
    scales = gpd.read_file(made["scales"])["largest_scale"]
    assert scales.iloc[1] == pytest.approx(12 / 22.7, rel=1e-3)


def test_the_grade_of_a_pad_is_that_of_its_plane(town, tmp_path):
    pads = gpd.read_file(_run("pad-grade", town, tmp_path)["out"])
    assert pads["grade_pct"].iloc[0] == pytest.approx(3.0, abs=0.01)
    assert pads["low_pct"].iloc[0] <= 3.0 <= pads["high_pct"].iloc[0]


def test_what_is_wrong_is_told_at_once_with_file_and_remedy(town, tmp_path):
    degrees = _write(tmp_path / "degrees.gpkg", [shapely.box(-71, 42, -70.9, 42.1)], "EPSG:4326")
    files = {"land": degrees, "out": tmp_path / "x.gpkg"}
    with pytest.raises(InputError) as told:
        run_step(load("pads")[0], files, {"length": "104", "width": "9000 ft"})
    said = str(told.value)
    for part in ("104", "9000 ft is not plausible", "degrees.gpkg", "--crs"):
        assert part in said
    assert not (tmp_path / "x.gpkg").exists()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"land": "points"}, "polygons are due; it holds points"),
        ({"land": "missing"}, "no such file"),
        ({"land": None}, "--land is missing"),
        ({"land": "no crs"}, "doesn't say what its coordinates mean"),
        ({"land": "garbage"}, "can't be read"),
    ],
)
def test_each_bad_file_has_its_sentence(change, said, town, tmp_path):
    garbage = tmp_path / "garbage.gpkg"
    garbage.write_text("no map")
    given = {
        "points": _write(tmp_path / "points.gpkg", [point(1, 1)]),
        "missing": tmp_path / "none.gpkg",
        "garbage": garbage,
    }
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # that a file without a system is written is the point
        given["no crs"] = _write(tmp_path / "nowhere.gpkg", [box(0, 0, 9, 9)], None)
    files = {"out": tmp_path / "x.gpkg"}
    if change["land"]:
        files["land"] = given[change["land"]]
    with pytest.raises(InputError, match=said):
        run_step(load("pads")[0], files, {})


def test_files_in_degrees_are_brought_to_a_system_that_is_named(town, tmp_path):
    degrees = tmp_path / "degrees.geojson"
    gpd.read_file(town["shapes"]).to_crs(4326).to_file(degrees)
    made = run_step(
        load("clearance")[0],
        {"shapes": degrees, "features": town["features"], "out": tmp_path / "out.gpkg"},
        {},
        crs=CRS,
    )
    assert gpd.read_file(made["out"])["distance_m"].iloc[0] == pytest.approx(20, abs=0.01)


def test_the_command_is_built_from_the_record(town, tmp_path):
    told = CliRunner().invoke(step_command, ["pads", "--help"]).output
    assert "--length" in told
    assert "31.7 m" in told
    out = tmp_path / "made.gpkg"
    arguments = ["pads", "--land", str(town["land"]), "--length", "40 ft", "--width", "30 ft"]
    done = CliRunner().invoke(step_command, [*arguments, "--out", str(out)])
    assert done.exit_code == 0, done.output
    assert out.exists()
    assert "low-spots" in CliRunner().invoke(steps_command).output


def test_a_step_that_is_not_there_gets_the_nearest_word():
    with pytest.raises(NotInstalledError, match='Did you mean "grade"'):
        load("gradee")


def test_the_page_of_the_docs_is_written_from_the_records(repo):
    page = steps_page(load(name)[0] for name in sorted(installed()) if name in ALL)
    assert (repo / "docs" / "steps.md").read_text(encoding="utf-8") == page


def _made(run, **changes):
    usual = {
        "name": "double",
        "question": "How wide is it doubled?",
        "inputs": (Input("shapes", "vector", "shapes"),),
        "parameters": (Parameter("times", Unit.RATIO, 2, (1, 9), "how often"),),
        "outputs": (Output("out", "vector", "shapes", {"area_m2": "area"}),),
        "run": run,
        "sources": ("made up",),
    }
    return Step(**{**usual, **changes})


def _double(inputs, values):
    shapes = inputs["shapes"]
    return {"out": shapes.assign(area_m2=values["times"] * shapes.area)}


def test_a_third_party_step_is_found_run_and_documented(town, tmp_path, monkeypatch):
    folder = tmp_path / "beside"
    (folder / "town_steps").mkdir(parents=True)
    code = "from playsite.steps._contract import *\n"
    code += "def run(inputs, values): return {'out': inputs['shapes'].assign(area_m2=1.0)}\n"
    code += "STEP = Step('one', 'Is it one?', (Input('shapes', 'vector', 'shapes'),), (), "
    code += "(Output('out', 'vector', 'shapes', {'area_m2': 'one'}),), run, ('made up',))\n"
    (folder / "town_steps" / "__init__.py").write_text(code)
    info = folder / "town_steps-2.0.dist-info"
    info.mkdir()
    (info / "METADATA").write_text("Metadata-Version: 2.1\nName: town_steps\nVersion: 2.0\n")
    (info / "entry_points.txt").write_text("[playsite.steps]\none = town_steps:STEP\n")
    monkeypatch.syspath_prepend(str(folder))
    step, package = load("one")
    assert package == "town_steps 2.0"
    assert "Is it one?" in "\n".join(step_lines(step, package))
    made = run_step(step, {"shapes": town["shapes"], "out": tmp_path / "o.gpkg"}, {})
    assert gpd.read_file(made["out"])["area_m2"].tolist() == [1.0]
    (info / "entry_points.txt").write_text("[playsite.steps]\none = town_steps:NOTHING\n")
    with pytest.raises(ContractError, match=r"town_steps 2.0 can't be loaded: AttributeError"):
        load("one")
    (info / "entry_points.txt").write_text("[playsite.steps]\ngrade = town_steps:STEP\n")
    with pytest.raises(ContractError, match="two packages bring a step"):
        load("grade")
    (info / "entry_points.txt").write_text("[playsite.steps]\nother = town_steps:STEP\n")
    with pytest.raises(ContractError, match='must name a Step called "other"'):
        load("other")
    sys.modules.pop("town_steps", None)


@pytest.mark.parametrize(
    ("run", "said"),
    [
        (lambda i, v: {"out": 3}, "gave no vector"),
        (lambda i, v: {"out": i["shapes"]}, "lacks area_m2"),
        (lambda i, v: 1 / 0, "failed: ZeroDivisionError"),
    ],
)
def test_a_step_that_breaks_its_word_is_told_so(run, said, town, tmp_path):
    with pytest.raises(ContractError, match=said):
        run_step(_made(run), {"shapes": town["shapes"], "out": tmp_path / "o.gpkg"}, {})
    assert not (tmp_path / "o.gpkg").exists()


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"question": ""}, "must say its question"),
        ({"parameters": (Parameter("times", Unit.RATIO, 20, (1, 9), "x"),)}, "lies outside"),
        ({"parameters": (Parameter("out", Unit.RATIO, 2, (1, 9), "x"),)}, "uses a name twice"),
    ],
)
def test_a_record_that_says_too_little_is_refused(changes, said):
    with pytest.raises(ContractError, match=said):
        _made(_double, **changes)


def test_check_step_sees_what_changes_from_run_to_run(town, tmp_path):
    rng = np.random.default_rng()

    def chance(inputs, values):
        return {"out": inputs["shapes"].assign(area_m2=rng.random(len(inputs["shapes"])))}

    with pytest.raises(ContractError, match="another answer"):
        check_step(_made(chance), files={"shapes": town["shapes"]}, folder=tmp_path / "c")
    with pytest.raises(ContractError, match="cites no source"):
        check_step(
            _made(_double, sources=()), files={"shapes": town["shapes"]}, folder=tmp_path / "c"
        )
    check_step(_made(_double), files={"shapes": town["shapes"]}, folder=tmp_path / "c")
