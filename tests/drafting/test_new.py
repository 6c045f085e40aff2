"""A study drafted from a folder of odd files: guessed, reasoned, and read without a problem."""

import subprocess
import sys
import tomllib
import zipfile

import geopandas as gpd
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from made_up_study import CRS, box, ground, line, point, write_elevation

from playsite.drafting import draft_study
from playsite.drafting.draft import _one_line, _quoted
from playsite.drafting.guess import guesses
from playsite.drafting.look import FoundLayer, look_through
from playsite.errors import InputError
from playsite.layers import read_layers
from playsite.problems import Problems
from playsite.settings import read_settings


def _frame(shapes, **columns):
    return gpd.GeoDataFrame(columns, geometry=list(shapes), crs=CRS)


@pytest.fixture
def maps(tmp_path):
    """Files as a town hands them over: a zip with a sub-folder, a database of layers, odd names."""
    folder = tmp_path / "maps"
    (folder / "raw").mkdir(parents=True)
    lots = [box(10 + 60 * i, 100, 50, 45) for i in range(6)]
    owners = ["Town"] * 6
    shape = tmp_path / "shape"
    shape.mkdir()
    _frame(lots, MAP_LOT=[f"1-{i}" for i in range(6)], OWN_NAME=owners).to_file(
        shape / "Assessing_Parcels_FY25.shp"
    )
    with zipfile.ZipFile(folder / "parcels.zip", "w") as archive:
        for part in sorted(shape.iterdir()):
            archive.write(part, f"export/{part.name}")
    base = folder / "basemap.gpkg"
    streets = _frame([line((0, 90), (400, 90))], FUNC_CLASS=["Minor Arterial"], NUM_LANES=[2])
    streets.to_file(base, layer="Road_Centerlines")
    _frame([box(0, 0, 30, 30)], NAME=["Mill Pond"]).to_file(base, layer="HYDRO_Ponds")
    _frame([point(5, 5)], NAME=["x"]).to_file(base, layer="Street_Lights")
    trees = _frame([point(50, 50)], SPECIES=["oak"], DBH_in=[12.0], HT=[30.0])
    trees.to_file(folder / "raw" / "public_trees.geojson")
    _frame([box(300, 300, 10, 10)], BLDG_TYPE=["house"]).to_file(folder / "Bldg_Footprints.fgb")
    write_elevation(folder / "dem_2023.tif", ground(lambda x, _: 10 + 0.01 * x))
    (folder / "broken.gpkg").write_bytes(b"not a database")
    (folder / "notes.txt").write_text("not a map")
    return folder


def _study(draft):
    return tomllib.loads(draft.file.read_text(encoding="utf-8"))


def test_every_layer_of_the_folder_is_found_and_written_live(maps, tmp_path):
    draft = draft_study(tmp_path / "study", maps)
    assert set(draft.layers) == {"parcels", "elevation", "streets", "water", "buildings", "trees"}
    assert any("broken.gpkg" in sentence for sentence in draft.skipped)
    layers = _study(draft)["layers"]
    assert layers["parcels"]["columns"]["parcel_id"] == "MAP_LOT"
    assert layers["parcels"]["columns"]["owner"] == "OWN_NAME"
    assert layers["parcels"]["path"] == "../maps/parcels.zip/export/Assessing_Parcels_FY25.shp"
    assert layers["streets"]["values"]["class"] == {"Minor Arterial": "arterial"}
    assert layers["streets"]["columns"]["lanes"] == "NUM_LANES"
    assert layers["trees"]["columns"]["diameter"] == {"column": "DBH_in", "unit": "in"}


def test_what_it_can_not_tell_stays_a_comment_and_is_asked(maps, tmp_path):
    draft = draft_study(tmp_path / "study", maps)
    text = draft.file.read_text(encoding="utf-8")
    assert '# height_unit = "m"' in text
    assert '# columns.height = { column = "HT", unit = "..." }' in text
    assert any("height_unit" in question for question in draft.questions)
    assert "# [layers.restrooms]   # not found" in text


def test_an_answer_given_is_written(maps, tmp_path):
    asked = []

    def ask(question, choices):
        asked.append(question)
        return "ft" if "heights" in question else choices[0]

    draft = draft_study(tmp_path / "study", maps, ask=ask)
    assert asked
    assert _study(draft)["layers"]["elevation"]["height_unit"] == "ft"


def test_what_is_written_is_read_without_a_problem(maps, tmp_path):
    draft = draft_study(tmp_path / "study", maps, ask=lambda _, choices: choices[0])
    problems = Problems()
    layers = read_layers(read_settings(draft.file, problems), problems)
    assert not problems.items
    assert layers.parcels.index.tolist() == [f"1-{i}" for i in range(6)]
    assert layers.get("streets")["class"].tolist() == ["arterial"]
    assert layers.get("trees")["diameter_m"].iloc[0] == pytest.approx(0.3048)


def test_nothing_is_overwritten(maps, tmp_path):
    draft_study(tmp_path / "study", maps)
    with pytest.raises(InputError, match="there is a study already"):
        draft_study(tmp_path / "study", maps)


def test_columns_of_places_are_mapped_and_each_file_of_hazards_is_taken(tmp_path):
    maps = tmp_path / "maps"
    maps.mkdir()
    _frame([box(0, 0, 90, 90)], PARCEL_ID=["1"]).to_file(maps / "parcels.gpkg")
    lot = {"SPACES": [12], "OPENING": ["Mo-Fr 08:00-15:00"], "ADA_SPACES": ["1"]}
    _frame([point(5, 5)], **lot).to_file(maps / "Public_Parking.gpkg")
    _frame([line((0, 0), (9, 9))], KV=[115.0]).to_file(maps / "Transmission_Lines.gpkg")
    _frame([line((0, 0), (9, 9))], OPERATOR=["x"]).to_file(maps / "Railroads.gpkg")
    _frame([point(5, 5)], NAME=["x"]).to_file(maps / "Gas_Stations.gpkg")
    _frame([line((0, 0), (9, 9))], AADT=[800], SIDEWALK=["both"], FUNC=["Local"]).to_file(
        maps / "Streets.gpkg"
    )
    draft = draft_study(tmp_path / "study", maps)
    layers = _study(draft)["layers"]
    assert layers["parking"]["columns"] == {
        "capacity": "SPACES",
        "capacity_disabled": "ADA_SPACES",
        "opening_hours": "OPENING",
    }
    assert layers["overhead_lines"]["columns"] == {"voltage_kv": "KV"}
    assert layers["streets"]["columns"]["volume"] == "AADT"
    assert layers["streets"]["columns"]["sidewalk"] == "SIDEWALK"
    assert sorted(each["set"]["kind"] for each in layers["hazards"]) == ["fuel", "rail"]
    problems = Problems()
    read = read_layers(read_settings(draft.file, problems), problems)
    assert not problems.items
    assert sorted(read.get("hazards")["kind"]) == ["fuel", "rail"]
    assert read.get("parking")["capacity"].tolist() == [12]


@pytest.mark.parametrize("make", [False, True])
def test_a_folder_without_maps_is_refused_and_nothing_is_made(tmp_path, make):
    empty = tmp_path / "empty"
    if make:
        empty.mkdir()
    with pytest.raises(InputError, match="no folder|no map file"):
        draft_study(tmp_path / "study", empty)
    assert not (tmp_path / "study").exists()


def _found(layer, shape="polygon", fields=(), features=10):
    return FoundLayer("a.gpkg", "a.gpkg", layer, shape, tuple(fields), CRS, features)


@pytest.mark.parametrize(
    ("layer", "shape", "kind"),
    [
        ("Sidewalk_Lines", "line", "paths"),
        ("Public_Toilets", "point", "restrooms"),
        ("Lake", "polygon", "water"),
        ("Municipal_Parking", "polygon", "parking"),
        ("Chain_Fences", "line", "fences"),
        ("Drainage_Easements", "polygon", "easements"),
        ("Picnic_Sites", "point", "picnic"),
        ("Drinking_Fountains", "point", "drinking_water"),
        ("BusStops", "point", "transit_stops"),
        ("Crosswalks", "line", "crossings"),
        ("Culverts", "line", "culverts"),
        ("Storm_Catch_Basins", "point", "inlets"),
        ("Electric_Transmission_Lines", "line", "overhead_lines"),
        ("Railroads", "line", "hazards"),
        ("Gas_Stations", "point", "hazards"),
        ("SSURGO_Soils", "polygon", "soils"),
        ("S_FLD_HAZ_AR_floodzone", "polygon", "flood_zones"),
        ("NWI_Wetlands", "polygon", "wetlands"),
        ("Demolished_Buildings", "polygon", "below"),
        ("Census_Block_Groups", "polygon", "population"),
        ("Council_Districts", "polygon", "districts"),
    ],
)
def test_a_plain_name_is_enough(layer, shape, kind):
    assert guesses([_found(layer, shape)])[kind][0].points >= 3


@pytest.mark.parametrize(
    ("layer", "shape", "kind"),
    [
        ("StreetLights", "point", "trees"),
        ("Watersheds", "polygon", "water"),
        ("FloodPlainParcels", "polygon", "parcels"),
        ("Trees", "line", "trees"),
        ("Rail_Trails", "line", "hazards"),
        ("Sewer_Manholes", "point", "inlets"),
        ("Wetlands", "polygon", "water"),
        ("Drinking_Fountains", "polygon", "water"),
        ("School_Districts", "polygon", "districts"),
        ("Zoning_Districts", "polygon", "districts"),
    ],
)
def test_a_name_that_only_sounds_like_it_is_not_taken(layer, shape, kind):
    own = guesses([_found(layer, shape)]).get(kind, [])
    assert all(guess.points < 3 for guess in own)


def test_of_two_parcel_layers_the_larger_is_first():
    few, many = _found("Parcels_old", features=5), _found("Parcels", features=500)
    assert guesses([few, many])["parcels"][0].found is many


def test_a_surface_model_is_not_taken_for_the_ground():
    facts = {"bands": 1, "dtype": "float32", "cell": 1.0, "unit": "", "compound": False}
    model = FoundLayer("dsm_2020.tif", "dsm_2020.tif", "", "raster", (), CRS, 100, facts)
    assert all(guess.points < 3 for guess in guesses([model]).get("elevation", []))
    assert guesses([model])["surface"][0].points >= 3


def test_bands_of_children_are_found_by_their_names(tmp_path):
    maps = tmp_path / "maps"
    maps.mkdir()
    _frame([box(0, 0, 90, 90)], PARCEL_ID=["1"]).to_file(maps / "parcels.gpkg")
    bands = {"UNDER_5": [9], "AGE_5_TO_9": [8], "AGE_10_TO_14": [7], "WARD": ["4"]}
    _frame([box(0, 0, 90, 90)], **bands).to_file(maps / "census_blocks.gpkg")
    _frame([box(0, 0, 90, 90)], WARD=["4"]).to_file(maps / "Wards.gpkg")
    layers = _study(draft_study(tmp_path / "study", maps))["layers"]
    assert layers["population"]["columns"] == {
        "under_5": "UNDER_5",
        "from_5_to_9": "AGE_5_TO_9",
        "from_10_to_14": "AGE_10_TO_14",
        "name": "WARD",
    }
    assert layers["districts"]["columns"] == {"name": "WARD"}


@settings(deadline=None)
@given(st.text(max_size=60))
def test_any_name_makes_valid_toml(name):
    text = f"a = {_quoted(name)}\n# {_one_line(name)}\n"
    assert tomllib.loads(text) == {"a": name}


def test_links_are_not_followed(tmp_path):
    (tmp_path / "maps").mkdir()
    (tmp_path / "maps" / "loop").symlink_to(tmp_path / "maps")
    assert look_through(tmp_path / "maps") == ([], [])


def test_the_command_says_what_to_do_next(maps, tmp_path):
    command = [sys.executable, "-m", "playsite", "new", tmp_path / "s", "--from", maps]
    done = subprocess.run(
        command, capture_output=True, text=True, check=False, stdin=subprocess.DEVNULL
    )
    assert done.returncode == 0, done.stderr
    assert "To be said by you: [layers.elevation] height_unit" in done.stdout
    assert "Next: playsite check" in done.stdout


def test_a_raster_that_says_its_unit_needs_no_answer(tmp_path):
    maps = tmp_path / "maps"
    maps.mkdir()
    _frame([shapely.box(0, 0, 1, 1)], pid=["a"]).to_file(maps / "parcels.gpkg")
    write_elevation(maps / "dem.tif", ground(lambda x, _: x), unit="ft")
    draft = draft_study(tmp_path / "study", maps)
    assert not any("height_unit" in question for question in draft.questions)
