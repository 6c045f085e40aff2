"""Malformed inputs, layer by layer: each ends in a finding or in a sentence, never in a traceback."""

import shutil
import warnings

import geopandas as gpd
import numpy as np
import pytest
import rasterio
import shapely
from affine import Affine
from made_up_study import CRS, NORTH, WEST, box, ground, line, point, write_elevation, write_study

from playsite.errors import InputError, PlaysiteError
from playsite.study import run

LAYERS = {
    "parcels": ([box(100, 100, 60, 60), box(200, 100, 60, 60)], {"parcel_id": ["A", "B"]}),
    "streets": ([line((0, 80), (400, 80))], {"class": ["local"], "lanes": [2], "width_m": [7.0]}),
    "paths": ([line((0, 90), (400, 90))], {"bridge": ["no"]}),
    "water": ([box(300, 300, 30, 30)], {"name": ["Pond"]}),
    "restrooms": ([point(50, 85)], {"access": ["yes"]}),
    "parking": ([point(60, 85)], {"access": ["yes"]}),
    "picnic": ([point(70, 85)], {"access": ["yes"]}),
    "buildings": ([box(10, 10, 10, 10)], {"kind": ["dwelling"], "height_m": [6.0]}),
    "trees": ([point(20, 120)], {"height_m": [9.0], "diameter_m": [0.3], "crown_m": [3.0]}),
    "fences": ([line((0, 5), (9, 5))], {"height_m": [1.5]}),
    "easements": ([box(380, 380, 9, 9)], {"kind": ["drainage"]}),
    "playgrounds": ([point(390, 10)], {"access": ["yes"]}),
}
NUMBERS = {"streets": "width_m", "buildings": "height_m", "trees": "height_m", "fences": "height_m"}
OTHER = {"Point": box(1, 1, 5, 5), "LineString": point(3, 3), "Polygon": point(3, 3)}


def _frame(kind, shapes=None, crs=CRS, **columns):
    usual, table = LAYERS[kind]
    shapes = list(usual) if shapes is None else shapes
    table = {name: (values * len(shapes))[: len(shapes)] for name, values in table.items()}
    return gpd.GeoDataFrame({**table, **columns}, geometry=shapes, crs=crs)


def _save(frame, path):
    path.unlink(missing_ok=True)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the point is that the file is bad
        frame.to_file(path)


def _moved(kind, to):
    return [shapely.transform(shape, to) for shape in LAYERS[kind][0]]


def _bytes(change):
    def fault(kind, path):
        path.write_bytes(change(path.read_bytes()))

    return fault


def _shapes(make, **columns):
    def fault(kind, path):
        _save(_frame(kind, make(kind), **columns), path)

    return fault


def _with_one_more(shape):
    def make(kind):
        return [*LAYERS[kind][0], shape(LAYERS[kind][0][0])]

    return _shapes(make)


def _folder(kind, path):
    path.unlink()
    path.mkdir()


def _dangling(kind, path):
    path.unlink()
    path.symlink_to(path.with_name("nothing.gpkg"))


def _no_features(kind, path):
    _save(_frame(kind).iloc[:0], path)


def _no_crs(kind, path):
    _save(_frame(kind, crs=None), path)


def _far_system(kind, path):
    _save(_frame(kind).set_crs("EPSG:32633", allow_override=True), path)


def _degrees_called_metres(kind, path):
    _save(_frame(kind).to_crs(4326).set_crs(CRS, allow_override=True), path)


def _metres_called_degrees(kind, path):
    _save(_frame(kind).set_crs(4326, allow_override=True), path)


def _raster(kind, path):
    path.unlink()
    write_elevation(path.with_suffix(".tif"), ground(lambda x, y: x * 0 + 1))
    shutil.move(path.with_suffix(".tif"), path)


def _other_type(kind, path):
    first = LAYERS[kind][0][0]
    _save(_frame(kind, [OTHER[first.geom_type]] * len(LAYERS[kind][0])), path)


def _words_for_numbers(kind, path):
    _save(_frame(kind, **{NUMBERS[kind]: ["about seven"]}), path)


def _absurd_numbers(kind, path):
    _save(_frame(kind, **{NUMBERS[kind]: [1e9]}), path)


def _empty_of(shape):
    return type(shape)()


def _not_finite(value):
    def change(xy):
        xy = xy.copy()
        xy[len(xy) // 2, 0] = value  # never the first: a ring must close
        return xy

    return lambda shape: shapely.transform(shape, change)


def _crossing(shape):
    x, y = WEST + 5, NORTH - 390
    if shape.geom_type == "Polygon":
        return shapely.Polygon([(x, y), (x + 20, y + 20), (x + 20, y), (x, y + 20)])
    return shape


VECTOR_FAULTS = {
    "truncated": _bytes(lambda text: text[: len(text) // 3]),
    "empty file": _bytes(lambda text: b""),
    "text": _bytes(lambda text: b"this is no map"),
    "zeros": _bytes(lambda text: b"\0" * len(text)),
    "a folder": _folder,
    "a dangling link": _dangling,
    "a raster": _raster,
    "no features": _no_features,
    "no system": _no_crs,
    "a system far off": _far_system,
    "degrees called metres": _degrees_called_metres,
    "metres called degrees": _metres_called_degrees,
    "another type": _other_type,
    "a null shape": _with_one_more(lambda shape: None),
    "an empty shape": _with_one_more(_empty_of),
    "not a number": _with_one_more(_not_finite(np.nan)),
    "infinite": _with_one_more(_not_finite(np.inf)),
    "huge coordinates": _with_one_more(_not_finite(1e15)),
    "a collection": _with_one_more(
        lambda shape: shapely.GeometryCollection([shape, shapely.Point(0, 0)])
    ),
    "every type at once": _with_one_more(lambda shape: OTHER[shape.geom_type]),
}


@pytest.fixture(scope="module")
def town(tmp_path_factory):
    """A sound town, to be copied and spoilt."""
    folder = tmp_path_factory.mktemp("sound")
    layers = {kind: own for kind, own in LAYERS.items() if kind != "parcels"}
    parcels = dict(zip(LAYERS["parcels"][1]["parcel_id"], LAYERS["parcels"][0], strict=True))
    elevation = ground(lambda x, y: 10 + 0.01 * x + 0.02 * y)
    write_study(folder, parcels, elevation=elevation, layers=layers)
    return folder


@pytest.fixture(scope="module")
def usual(town, tmp_path_factory):
    """What is noticed of the sound town."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PLAYSITE_CACHE", str(tmp_path_factory.mktemp("memory")))
        return {str(finding) for finding in run(town).findings}


def _judge(folder, usual, names, monkeypatch):
    """Hold one spoilt town to the law: a new finding, or a sentence that names the place."""
    monkeypatch.setenv("PLAYSITE_CACHE", str(folder / "memory"))
    before = sorted(folder.iterdir())
    try:
        result = run(folder)
    except InputError as error:
        said = str(error)
        assert any(name in said for name in names), said
        assert len(said) > 30
    except PlaysiteError as error:
        pytest.fail(f"a criterion had to find out what the gate should have: {error}")
    else:
        new = [str(finding) for finding in result.findings if str(finding) not in usual]
        assert any(name in text for text in new for name in names), new
        scores = result.sites["score"].dropna()
        assert scores.between(0, 1).all()
        assert np.isfinite(result.pads[["easting", "northing"]].to_numpy(float)).all()
    assert [path for path in sorted(folder.iterdir()) if path.name != "memory"] == before


@pytest.mark.parametrize("kind", LAYERS)
@pytest.mark.parametrize("fault", VECTOR_FAULTS)
def test_a_spoilt_layer_ends_in_a_finding_or_a_sentence(
    kind, fault, town, usual, tmp_path, monkeypatch
):
    folder = tmp_path / "town"
    shutil.copytree(town, folder)
    if kind == "parcels" and fault == "degrees called metres":
        pytest.skip("a town of parcels a millimetre wide has no other layer near: see below")
    if fault == "every type at once" and LAYERS[kind][0][0].geom_type == "Point":
        pytest.skip("points and polygons are both right for this layer")
    VECTOR_FAULTS[fault](kind, folder / f"{kind}.gpkg")
    _judge(folder, usual, [kind, f"{kind}.gpkg"], monkeypatch)


@pytest.mark.parametrize("kind", NUMBERS)
@pytest.mark.parametrize("fault", [_words_for_numbers, _absurd_numbers])
def test_numbers_that_are_none_are_told(kind, fault, town, usual, tmp_path, monkeypatch):
    folder = tmp_path / "town"
    shutil.copytree(town, folder)
    fault(kind, folder / f"{kind}.gpkg")
    _judge(folder, usual, [kind], monkeypatch)


def test_parcels_of_a_millimetre_are_told(town, usual, tmp_path, monkeypatch):
    folder = tmp_path / "town"
    shutil.copytree(town, folder)
    _degrees_called_metres("parcels", folder / "parcels.gpkg")
    _judge(folder, usual, ["parcels", "elevation"], monkeypatch)


def _write_raster(path, array, **changes):
    profile = {
        "driver": "GTiff",
        "height": array.shape[-2],
        "width": array.shape[-1],
        "count": 1,
        "dtype": array.dtype,
        "crs": CRS,
        "nodata": -9999,
        "transform": Affine(1, 0, WEST, 0, -1, NORTH),
    } | changes
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        with rasterio.open(path, "w", **profile) as raster:
            raster.write(array if array.ndim == 3 else array[None])


PLANE = ground(lambda x, y: 10 + 0.01 * x)
RASTER_FAULTS = {
    "truncated": lambda path: path.write_bytes(path.read_bytes()[:2000]),
    "empty file": lambda path: path.write_bytes(b""),
    "text": lambda path: path.write_text("no raster"),
    "one cell": lambda path: _write_raster(path, PLANE[:1, :1]),
    "all missing": lambda path: _write_raster(path, np.full((400, 400), -9999, "float32")),
    "all not a number": lambda path: _write_raster(path, np.full((400, 400), np.nan, "float32")),
    "no system": lambda path: _write_raster(path, PLANE, crs=None),
    "degrees": lambda path: _write_raster(path, PLANE, crs="EPSG:4326"),
    "rotated": lambda path: _write_raster(
        path, PLANE, transform=Affine(0.9, 0.43, WEST, 0.43, -0.9, NORTH)
    ),
    "absurd heights": lambda path: _write_raster(path, PLANE * 1e6),
    "half absurd": lambda path: _write_raster(
        path, np.where(PLANE > 12, 1e30, PLANE).astype("float32")
    ),
    "far off": lambda path: _write_raster(path, PLANE, transform=Affine(1, 0, 0, 0, -1, 0)),
    "coarse": lambda path: _write_raster(
        path, PLANE[::20, ::20], transform=Affine(20, 0, WEST, 0, -20, NORTH)
    ),
    "two bands": lambda path: _write_raster(path, np.stack([PLANE, PLANE]), count=2),
    "only half the parcels": lambda path: _write_raster(path, PLANE[:, :180]),
}


@pytest.mark.parametrize("fault", RASTER_FAULTS)
def test_a_spoilt_elevation_ends_in_a_finding_or_a_sentence(
    fault, town, usual, tmp_path, monkeypatch
):
    folder = tmp_path / "town"
    shutil.copytree(town, folder)
    RASTER_FAULTS[fault](folder / "elevation.tif")
    _judge(folder, usual, ["elevation"], monkeypatch)
