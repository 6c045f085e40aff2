"""Each kind of layer, and the columns that are worked out."""

from pathlib import Path

import numpy as np
import pytest
from shapely.geometry import LineString, Point, box

from playsite.layers import KINDS

EAST, NORTH = 500_000.0, 4_500_000.0
LINE = LineString([(EAST, NORTH - 10), (EAST + 100, NORTH - 10)])
SQUARE = box(EAST, NORTH, EAST + 10, NORTH + 10)
POINT = Point(EAST + 20, NORTH + 20)


def layer(study, kind, shapes, /, **columns):
    study.parcels()
    study.features("x.geojson", shapes, **(columns or {"other": range(len(shapes))}))
    read = study.read(f'[layers.{kind}]\npath = "x.geojson"\ncrs = "EPSG:26918"\n')
    assert not read.problems
    return read, read.layers.get(kind)


def test_every_kind_is_told_in_the_readme():
    readme = (Path(__file__).resolve().parents[2] / "README.md").read_text(encoding="utf-8")
    told = readme.split("Layers you may give: ")[1].split(".")[0].split(", ")
    assert sorted(told) == sorted(KINDS)
    assert [kind.name for kind in KINDS.values() if kind.needed] == ["parcels"]


@pytest.mark.parametrize("kind", [name for name in KINDS if name not in ("elevation", "parcels")])
def test_every_kind_reads_each_of_its_shapes_with_no_column_of_ours(study, kind):
    shapes = {"point": POINT, "line": LINE, "polygon": SQUARE}
    for shape in KINDS[kind].shapes:
        _, frame = layer(study, kind, [shapes[shape]])
        assert {column.column for column in KINDS[kind].columns} <= set(frame.columns)
        assert list(frame.index) == list(range(len(frame)))


def test_pavement_is_the_width_else_the_lanes_else_the_class(study):
    read, streets = layer(
        study,
        "streets",
        [LINE] * 4 + [SQUARE],
        width_m=[8.0, None, None, None, None],
        lanes=[4, 2, None, None, None],
        **{"class": ["local", "local", "arterial", "highway", "local"]},
    )
    assert streets["pavement_width_m"].tolist()[:4] == [8.0, 7.0, 14.0, 14.0]
    assert np.isnan(streets["pavement_width_m"].iloc[4])
    assert streets["width_from"].tolist() == ["width", "lanes", "class", "class", "surface"]
    # A line of 100 m with half the width around it: length times width and a round end each side.
    areas = [100 * w + np.pi * w**2 / 4 for w in (8.0, 7.0, 14.0, 14.0)]
    assert streets["pavement"].area.tolist() == pytest.approx([*areas, 100.0], rel=0.002)
    assert streets["class"].iloc[3] == "arterial"
    assert read.found("Highways: 1 of 5 streets", "counts as an arterial")
    assert read.found("neither width nor lanes: 2 of 5")


def test_five_lanes_twenty_metres_off_leave_eleven(study):
    # Pad edge 20 m from the centre line of a five-lane street: 20 - 5 x 3.5 / 2 = 11.25 m.
    _, streets = layer(study, "streets", [LINE], lanes=[5])
    pad = box(EAST + 40, NORTH + 10, EAST + 60, NORTH + 30)
    assert streets["pavement"].distance(pad).tolist() == [pytest.approx(11.25, abs=0.05)]


@pytest.mark.parametrize(
    ("word", "public"),
    [
        ("yes", True),
        ("public", True),
        ("permissive", True),
        (None, True),
        ("YES", True),
        ("private", False),
        ("no", False),
        ("customers", False),
        ("permit", False),
        ("staff only", False),
    ],
)
@pytest.mark.parametrize("kind", ["restrooms", "parking", "picnic", "playgrounds"])
def test_a_place_counts_only_where_the_public_may_use_it(study, kind, word, public):
    read, places = layer(study, kind, [POINT, POINT], access=[word, "yes"])
    assert places["is_public"].tolist() == [public, True]
    assert bool(read.found("Not open to the public: 1 of 2")) is not public
    assert bool(read.found("caution", "not known here")) is (word == "staff only")


def test_places_that_say_nothing_are_taken_as_public_and_that_is_said(study):
    read, places = layer(study, "restrooms", [POINT])
    assert places["is_public"].tolist() == [True]
    assert read.found("caution", "doesn't say who may use them")


def test_a_stream_has_its_width_or_is_its_line(study):
    read, water = layer(study, "water", [LINE, LINE, SQUARE], width_m=[4.0, None, 3.0])
    assert water.area.tolist() == [pytest.approx(400 + np.pi * 4, rel=0.01), 0.0, 100.0]
    assert read.found("caution", "Lines without a width: 1 of 3")


def test_buildings_of_unknown_kind_are_dwellings(study):
    read, buildings = layer(
        study, "buildings", [SQUARE] * 5, kind=["house", "yes", None, "garage", "dwelling"]
    )
    assert buildings["kind"].tolist() == ["dwelling", "dwelling", "dwelling", "other", "dwelling"]
    assert read.found("Buildings of unknown kind: 2 of 5")
    assert read.found("caution", '"garage" 1x', 'taken as "other"')
    read, buildings = layer(study, "buildings", [SQUARE])
    assert buildings["kind"].tolist() == ["dwelling"]
    assert read.found("every building counts as a dwelling")


def test_crowns_are_given_or_outlined_or_guessed_and_that_is_said(study):
    read, trees = layer(
        study,
        "trees",
        [POINT, POINT, POINT, SQUARE, POINT],
        crown_m=[3.0, None, None, None, None],
        height_m=[8.0, 8.0, None, 8.0, None],
        diameter_cm=[30.0, 30.0, 30.0, None, None],
    )
    assert trees["crown_m"].tolist()[:4] == pytest.approx([3.0, 2.0, 3.0, np.sqrt(100 / np.pi)])
    assert np.isnan(trees["crown_m"].iloc[4])
    assert trees["crown_from"].tolist() == ["given", "height", "diameter", "outline", "unknown"]
    assert read.found("give no crown: 2 of 5")
    assert read.found("neither crown, height nor diameter: 1 of 5")


def test_fences_of_unknown_height_are_counted(study):
    read, fences = layer(study, "fences", [LINE, LINE], height_ft=[4.0, None])
    assert fences["height_m"].tolist()[0] == pytest.approx(1.2192)
    assert read.found("caution", "Fences of unknown height: 1 of 2", "stop a child")


def test_an_easement_that_is_a_line_has_no_land(study):
    read, easements = layer(study, "easements", [LINE, SQUARE])
    assert easements.area.tolist() == [100.0]
    assert read.found("loud", "lines, which have no land: 1 of 2")


def test_opening_hours_that_can_not_be_read_are_told(study):
    hours = ["Mo-Fr 08:00-15:00", "school hours", "dawn to dusk", None]
    read, places = layer(study, "restrooms", [POINT] * 4, opening_hours=hours)
    assert places["opening_hours"].isna().tolist() == [False, False, False, True]
    assert read.found("caution", "can't be read: 1 of 4", "not open when children play")
    read, _ = layer(study, "restrooms", [POINT])
    assert read.found("caution", "doesn't say when they are open")
    read, _ = layer(study, "parking", [POINT])
    assert not read.found("doesn't say when they are open")


def test_spaces_are_a_number_or_nobody_knows(study):
    _, lots = layer(
        study,
        "parking",
        [SQUARE] * 5,
        capacity=[40, None, 30, 20, 10],
        capacity_disabled=["2", "no", "yes", None, "0"],
    )
    assert lots["accessible_spaces"].tolist()[:2] == [2, 0]
    assert lots["accessible_spaces"].isna().tolist() == [False, False, True, True, False]
    assert lots["capacity"].isna().tolist() == [False, True, False, False, False]


def test_nobody_walks_along_a_highway_without_a_sidewalk(study):
    _, streets = layer(
        study,
        "streets",
        [LINE] * 6,
        sidewalk=[None, "both", "none", None, None, None],
        foot=[None, None, None, "no", "yes", None],
        **{"class": ["highway", "highway", "highway", "local", "motorway", "trunk"]},
    )
    assert streets["is_walked"].tolist() == [False, True, False, False, True, True]


def test_paths_with_steps_are_not_step_free(study):
    _, paths = layer(
        study,
        "paths",
        [LINE] * 4,
        kind=["steps", "footway", None, "path"],
        wheelchair=[None, "yes", None, "no"],
    )
    assert paths["is_step_free"].tolist() == [False, True, True, False]


def test_a_crossing_that_is_unmarked_is_none(study):
    _, crossings = layer(
        study, "crossings", [POINT] * 4, control=["traffic_signals", "zebra", "unmarked", None]
    )
    assert crossings["is_crossing"].tolist() == [True, True, False, True]


def test_a_gate_that_is_a_point_takes_a_piece_of_its_fence(study):
    fence = LineString([(EAST, NORTH), (EAST + 50, NORTH)])
    at = [Point(EAST + 20, NORTH + 0.4), Point(EAST + 40, NORTH), Point(EAST + 20, NORTH + 5)]
    read, fences = layer(
        study,
        "fences",
        [fence, *at, Point(EAST + 30, NORTH)],
        kind=["fence", "gate", "gate", "gate", "bollard"],
        width_m=[None, 3.0, None, None, None],
    )
    # a metre where no width is given; one 5 m off its fence and what is no gate are left out
    assert fences.length.tolist() == pytest.approx([50.0, 3.0, 1.0])
    assert fences["is_gap"].tolist() == [False, True, True]
    assert fences.geometry[1].centroid.distance(at[0]) == pytest.approx(0.4)
    assert read.found("gates without a fence within 1 m: 2 of 5", "left out")
