"""Files that are odd rather than broken: each is read as it is, or told; none is read wrongly."""

import json
import os
import zipfile

import numpy as np
import pandas as pd
import pytest
import shapely
from campaign.town import LAYERS, frame_of, hold_to_sentences, judge, only, save
from made_up_study import CRS, NORTH, WEST, box, line

from playsite.errors import InputError
from playsite.study import check

AREAS = [kind for kind, (shapes, _) in LAYERS.items() if shapes[0].geom_type == "Polygon"]


def _swapped(shape):
    return shapely.transform(shape, lambda xy: xy[:, ::-1])


def _degrees_swapped(kind, path):
    frame = frame_of(kind).to_crs(4326)
    save(frame.set_geometry(frame.geometry.map(_swapped)), path)


def _metres_swapped(kind, path):
    save(frame_of(kind, [_swapped(shape) for shape in LAYERS[kind][0]]), path)


def _flat(kind, path):
    shapes = list(LAYERS[kind][0])
    (x, y), *_ = shapely.get_coordinates(shapes[0])
    flat = shapely.Polygon([(x, y), (x + 9, y), (x + 4, y)])
    save(frame_of(kind, [*shapes, flat]), path)


def _bow_tie(kind, path):
    x, y = WEST + 5, NORTH - 390
    tie = shapely.Polygon([(x, y), (x + 20, y + 20), (x + 20, y), (x, y + 20)])
    save(frame_of(kind, [*LAYERS[kind][0], tie]), path)


def _bare_table(kind, path):
    table = pd.DataFrame(LAYERS[kind][1])
    path.unlink()
    table.to_csv(path.with_suffix(".csv"), index=False)
    path.with_suffix(".csv").rename(path)


def _pipe(kind, path):
    path.unlink()
    os.mkfifo(path)


def _loop(kind, path):
    path.unlink()
    path.symlink_to(path)


def _garbled_shapes(kind, path):
    """Bytes of the shapes themselves are changed, the file around them is sound."""
    whole = bytearray(path.read_bytes())
    at = whole.rfind(b"GP\x00")  # the last shape's head, as a GeoPackage has it
    at += 8 if LAYERS[kind][0][0].geom_type == "Point" else 40  # only points have no envelope
    whole[at : at + 20] = b"\xff" * 20
    path.write_bytes(bytes(whole))


@pytest.mark.parametrize("kind", LAYERS)
@pytest.mark.parametrize(
    "fault", [_degrees_swapped, _metres_swapped, _bare_table, _pipe, _loop, _garbled_shapes]
)
def test_an_odd_layer_is_told(kind, fault, town, usual):
    fault(kind, town / f"{kind}.gpkg")
    only(town, kind)
    # Parcels that lie elsewhere leave the elevation behind, which is then the one that is told.
    judge(town, usual, [kind, "elevation"] if "swapped" in fault.__name__ else [kind])


@pytest.mark.parametrize("kind", AREAS)
@pytest.mark.parametrize("fault", [_flat, _bow_tie])
def test_areas_that_cross_themselves_or_have_none_are_told(kind, fault, town, usual):
    fault(kind, town / f"{kind}.gpkg")
    only(town, kind)
    judge(town, usual, [kind])


def _as(name, text):
    def fault(town):
        (town / name).write_bytes(text if isinstance(text, bytes) else text.encode())
        return name

    return fault


def _features(*shapes):
    made = [{"type": "Feature", "properties": {}, "geometry": shape} for shape in shapes]
    return json.dumps({"type": "FeatureCollection", "features": made})


def _archive(**files):
    def fault(town):
        with zipfile.ZipFile(town / "t.zip", "w") as archive:
            for name, text in files.items():
                archive.writestr(name.replace("__", "/").replace("_dot_", "."), text)
        return "t.zip"

    return fault


def _shapefile(*lost, cut=()):
    def fault(town):
        save(frame_of("trees"), town / "t.shp")
        for ending in lost:
            (town / f"t.{ending}").unlink()
        for ending in cut:
            part = town / f"t.{ending}"
            part.write_bytes(part.read_bytes()[: part.stat().st_size // 2])
        return "t.shp"

    return fault


def _shape_of(wkt):
    return _as("t.csv", f'WKT,height_m\n"{wkt}",9\n"POINT ({WEST + 20} {NORTH - 280})",9\n')


PLACE = {"type": "Point", "coordinates": [-74.99, 40.65]}
TREES = {
    "broken JSON": _as("t.geojson", '{"type": "FeatureCollection", "features": ['),
    "JSON of something else": _as("t.geojson", '{"a": [1, 2]}'),
    "no features in JSON": _as("t.geojson", _features()),
    "only null shapes": _as("t.geojson", _features(None, None)),
    "text for coordinates": _as("t.geojson", _features({**PLACE, "coordinates": ["a", "b"]})),
    "one coordinate": _as("t.geojson", _features({**PLACE, "coordinates": [1]})),
    "coordinates deep down": _as("t.geojson", _features({**PLACE, "coordinates": [[[[1, 2]]]]})),
    "beyond the poles": _as("t.geojson", _features({**PLACE, "coordinates": [40.65, -174.99]})),
    "degrees beyond all": _as("t.geojson", _features({**PLACE, "coordinates": [4e5, 45e5]})),
    "numbers beyond numbers": _as("t.geojson", _features(PLACE).replace("40.65", "1e999")),
    "a TIN": _shape_of("TIN (((0 0, 0 1, 1 1, 0 0)))"),
    "a solid": _shape_of("POLYHEDRALSURFACE (((0 0 0, 0 1 0, 1 1 0, 0 0 0)))"),
    "no WKT": _shape_of("POINTLESS (1 2)"),
    "half a ring": _shape_of("POLYGON ((0 0, 1 1))"),
    "places that are no numbers": _as("t.csv", "lon,lat\nabout here,there\n"),
    "an empty table": _as("t.csv", "lon,lat\n"),
    "a table of nothing": _as("t.csv", ""),
    "a table of zero bytes": _as("t.csv", b"\0" * 500),
    "a picture": _as("t.shp", b"\x89PNG\r\n\x1a\n" + b"\0" * 200),
    "a page": _as("t.kml", "<html><body>Not found</body></html>"),
    "broken XML": _as("t.kml", "<kml><Document><Placemark>"),
    "an XML bomb": _as("t.gml", '<!DOCTYPE a [<!ENTITY b "bb"><!ENTITY c "&b;&b;">]><a>&c;</a>'),
    "a broken archive": _as("t.zip", b"PK\x03\x04 and no more"),
    "an empty archive": _archive(),
    "an archive of no map": _archive(readme_dot_txt="hello"),
    "an archive of a broken map": _archive(inner__t_dot_gpkg="no map"),
    "an archive that leads outside": _archive(____etc__t_dot_geojson="{}"),
    "a shapefile without its table": _shapefile("dbf"),
    "a shapefile without a system": _shapefile("prj"),
    "half a shapefile": _shapefile(cut=["shp"]),
    "half a table": _shapefile(cut=["dbf"]),
    "half an index": _shapefile(cut=["shx"]),
    "half a shapefile without an index": _shapefile("shx", cut=["shp"]),
    "no shapefile without an index": _as("t.shp", "no map"),
    "no parquet": _as("t.parquet", "no map"),
    "no database": lambda town: (town / "t.gdb").mkdir() or "t.gdb",
}


@pytest.mark.parametrize("name", TREES)
def test_an_odd_file_of_trees_is_told(name, town, usual):
    path = TREES[name](town)
    crs = '\ncrs = "EPSG:4326"' if path.endswith("csv") else ""
    if "WKT" in name or name in {"a TIN", "a solid", "half a ring"}:
        crs = f'\ncrs = "{CRS}"'
    only(town, "trees")
    _point_to(town, "trees", path, crs)
    judge(town, usual, ["trees"])


def _point_to(town, kind, path, more=""):
    file = town / "study.toml"
    text = file.read_text(encoding="utf-8")
    sheet = "elevation.tif" if kind == "elevation" else f"{kind}.gpkg"
    assert f'path = "{sheet}"' in text
    told = f"path = {json.dumps(path)}{more}"
    file.write_text(text.replace(f'path = "{sheet}"', told), encoding="utf-8")


PATHS = (
    "",
    ".",
    "..",
    "/",
    "~nobody-of-this-name/t.gpkg",
    "t\0.gpkg",
    "t\n.gpkg",
    "x" * 5000,
    "study.toml",
    "../../../../etc/passwd",
    "trees.gpkg/inner.shp",
    "trees.zip/inner.shp",
    "*.nothing",
    "[",
    "**/nothing",
    "/dev/null",
    "/dev/zero",
    "/proc/self/mem",
    "/vsimem/nothing.gpkg",
    "/vsizip/nothing.zip/a.shp",
    "http://127.0.0.1:9/t.gpkg",
    "/vsicurl/http://127.0.0.1:9/t.tif",
    "file:///nothing.gpkg",
    "C:\\maps\\trees.gpkg",
    "%s{0}$HOME",
    "трава.gpkg",
)


@pytest.mark.parametrize("kind", ["parcels", "trees", "elevation"])
@pytest.mark.parametrize("path", PATHS, ids=lambda path: repr(path)[:30])
def test_a_path_that_leads_nowhere_is_told(kind, path, town, usual):
    only(town, "trees")
    _point_to(town, kind, path)
    judge(town, usual, [kind])


SYSTEMS = [
    "",
    "EPSG:999999",
    "4326",
    "nonsense",
    "EPSG:4978",
    "EPSG:5703",
    "EPSG:3031",
    'LOCAL_CS["x"]',
]


@pytest.mark.parametrize("crs", SYSTEMS)
@pytest.mark.parametrize("kind", ["parcels", "trees", "elevation"])
def test_a_system_that_is_none_is_told(kind, crs, town, usual):
    only(town, "trees")
    sheet = "elevation.tif" if kind == "elevation" else f"{kind}.gpkg"
    _point_to(town, kind, sheet, f"\ncrs = {json.dumps(crs)}")
    # Parcels that lie elsewhere leave the other layers behind.
    judge(town, usual, [kind, "elevation"] if kind == "parcels" else [kind])


@pytest.mark.parametrize(
    "crs", ["EPSG:999999", "EPSG:4326", "EPSG:4978", "EPSG:5703", "EPSG:3031", "x"]
)
def test_a_study_that_can_not_be_measured_in_its_system_is_told(crs, town):
    only(town, "trees")
    file = town / "study.toml"
    text = file.read_text().replace("[study]", f"[study]\ncrs = {json.dumps(crs)}")
    file.write_text(text)
    with pytest.raises(InputError) as told:
        check(town)
    (problem, *_) = told.value.problems
    assert problem.key == "study.crs"
    assert problem.line


WHERE = [
    "nope = 1",
    "1 = 1; DROP TABLE trees",
    "'",
    "height_m = 'tall",
    "((((",
    "height_m > 900",
    "",
]


@pytest.mark.parametrize("where", WHERE)
def test_a_filter_that_is_none_is_told(where, town, usual):
    only(town, "trees")
    before = (town / "trees.gpkg").read_bytes()
    _point_to(town, "trees", "trees.gpkg", f"\nwhere = {json.dumps(where)}")
    if where:
        judge(town, usual, ["trees"])
    else:
        assert {str(finding) for finding in check(town)[2] if finding.layer == "trees"} <= usual
    assert (town / "trees.gpkg").read_bytes() == before


def test_duplicate_ids_are_told(town, usual):
    save(frame_of("parcels", parcel_id=["A", "A"]), town / "parcels.gpkg")
    only(town)
    judge(town, usual, ["parcels"])


@pytest.mark.parametrize("ids", [[None, "B"], ["", "B"], [None, None], [np.nan, 2.0], ["  ", "B"]])
def test_parcels_without_an_id_are_told(ids, town, usual):
    save(frame_of("parcels", parcel_id=ids), town / "parcels.gpkg")
    only(town)
    judge(town, usual, ["parcels"])


MIXED = {
    "words among numbers": ["9", "about 8"],
    "not a number": [np.nan, np.inf],
    "below the ground": [-9.0, 9.0],
    "beyond all trees": [9.0, 9e9],
}


@pytest.mark.parametrize("name", MIXED)
def test_numbers_of_mixed_sort_are_told(name, town, usual):
    shapes = LAYERS["trees"][0] * 2
    save(frame_of("trees", shapes, height_m=MIXED[name]), town / "trees.gpkg")
    only(town, "trees")
    judge(town, usual, ["trees"])


def _sound(town, usual, kind, name=None):
    """The town is as sound as it was: nothing new is noticed of the layer."""
    _, layers, findings = check(town)
    said = [str(each).replace(name or f"{kind}.gpkg", f"{kind}.gpkg") for each in findings]
    assert [text for text in said if text.startswith(f"{kind}: ") and text not in usual] == []
    return layers


def test_lengths_that_carry_their_own_units_are_read(town, usual):
    shapes = LAYERS["trees"][0] * 2
    save(frame_of("trees", shapes, height_m=["9 m", "30 ft"]), town / "trees.gpkg")
    only(town, "trees")
    read = _sound(town, usual, "trees").get("trees")["height_m"]
    assert read.tolist() == [9.0, pytest.approx(9.144)]


def test_a_name_of_a_million_letters_is_kept_out_of_harm(town, usual):
    save(frame_of("trees", name=["x" * 1_000_000]), town / "trees.gpkg")
    only(town, "trees")
    assert len(_sound(town, usual, "trees").get("trees")) == 1


@pytest.mark.parametrize(
    "name", ["bäume & más.gpkg", "木 .gpkg", "a'b\"c.gpkg", "t[1].gpkg", "-t.gpkg"]
)
def test_names_of_all_kinds_are_read(name, town, usual):
    (town / "trees.gpkg").rename(town / name)
    only(town, "trees")
    _point_to(town, "trees", name)
    assert len(_sound(town, usual, "trees", name).get("trees")) == 1


@pytest.mark.parametrize(
    "change",
    [
        lambda text: b"\xef\xbb\xbf" + text,
        lambda text: text.replace(b"\n", b"\r\n"),
        lambda text: text.replace(
            b'path = "trees.gpkg"', b'path = "trees.gpkg"\ndate = 2023-05-01'
        ),
        lambda text: text + b"\n\n# \xc3\xa4\n\n",
        lambda text: text.replace(b'"trees.gpkg"', b"'trees.gpkg'"),
        lambda text: text.replace(b"[layers.trees]", b"[[layers.trees]]"),
        lambda text: text.replace(b'path = "trees.gpkg"', b'"path" = """trees.gpkg"""'),
    ],
    ids=["BOM", "CRLF", "date", "comment", "quotes", "table of tables", "long text"],
)
def test_a_study_file_written_another_way_says_the_same(change, town, usual):
    only(town, "trees")
    file = town / "study.toml"
    file.write_bytes(change(file.read_bytes()))
    assert len(_sound(town, usual, "trees").get("trees")) == 1


def test_shapes_with_heights_measures_and_curves_are_read(town, usual):
    x, y = WEST + 20, NORTH - 280
    table = (
        f'WKT,height_m\n"POINT ZM ({x} {y} 3 4)",9\n"POINT M ({x} {y} 4)",9\n'
        f'"CURVEPOLYGON (CIRCULARSTRING ({x} {y}, {x + 4} {y + 4}, {x + 8} {y}, '
        f'{x + 4} {y - 4}, {x} {y}))",9\n"MULTIPOINT (({x} {y}))",9\n'
    )
    (town / "t.csv").write_text(table)
    only(town, "trees")
    _point_to(town, "trees", "t.csv", f'\ncrs = "{CRS}"')
    _, layers, _ = check(town)
    trees = layers.get("trees")
    assert len(trees) == 4
    # A circle of 4 m, drawn as an arc: its area within 1 %.
    assert trees.area.max() == pytest.approx(np.pi * 16, rel=0.01)
    assert not trees.has_z.any()


def test_a_street_of_no_length_and_one_of_many_corners_do_no_harm(town, usual):
    rng = np.random.default_rng(1)
    x = np.linspace(0, 400, 2_000)
    long = line(*zip(x, 60 + rng.random(x.size), strict=True))
    dot = line((10, 10), (10, 10))
    save(frame_of("streets", [*LAYERS["streets"][0], long, dot]), town / "streets.gpkg")
    only(town, "streets")
    judge(town, usual, ["streets"])


def test_a_layer_given_twice_is_told_or_read_once(town):
    file = town / "study.toml"
    only(town, "trees")
    file.write_text(file.read_text() + '[layers.trees]\npath = "trees.gpkg"\n')
    with pytest.raises(InputError, match="study.toml: is not valid TOML"):
        check(town)


def test_all_faults_of_all_layers_are_told_at_once(town):
    for kind in LAYERS:
        (town / f"{kind}.gpkg").write_bytes(b"no map")
    (town / "elevation.tif").write_bytes(b"no map")
    with pytest.raises(InputError) as told:
        check(town)
    for kind in (*LAYERS, "elevation"):
        hold_to_sentences(told.value.problems, [kind])


def test_a_parcel_as_large_as_a_country_is_told(town, usual):
    save(
        frame_of("parcels", [box(0, 0, 60, 60), box(0, 0, 900_000, 900_000)]), town / "parcels.gpkg"
    )
    only(town)
    judge(town, usual, ["parcels"])
