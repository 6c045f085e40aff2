"""Malformed inputs, layer by layer: each ends in a finding or in a sentence, never in a traceback."""

import shutil
import warnings

import numpy as np
import pytest
import rasterio
import shapely
from affine import Affine
from campaign.town import LAYERS, frame_of, judge, only, save
from made_up_study import CRS, NORTH, WEST, box, ground, point, write_elevation

NUMBERS = {"streets": "width_m", "buildings": "height_m", "trees": "height_m", "fences": "height_m"}
OTHER = {"Point": box(1, 1, 5, 5), "LineString": point(3, 3), "Polygon": point(3, 3)}


def _moved(kind, to):
    return [shapely.transform(shape, to) for shape in LAYERS[kind][0]]


def _bytes(change):
    def fault(kind, path):
        path.write_bytes(change(path.read_bytes()))

    return fault


def _shapes(make, **columns):
    def fault(kind, path):
        save(frame_of(kind, make(kind), **columns), path)

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
    save(frame_of(kind).iloc[:0], path)


def _no_crs(kind, path):
    save(frame_of(kind, crs=None), path)


def _far_system(kind, path):
    save(frame_of(kind).set_crs("EPSG:32633", allow_override=True), path)


def _degrees_called_metres(kind, path):
    save(frame_of(kind).to_crs(4326).set_crs(CRS, allow_override=True), path)


def _metres_called_degrees(kind, path):
    save(frame_of(kind).set_crs(4326, allow_override=True), path)


def _raster(kind, path):
    path.unlink()
    write_elevation(path.with_suffix(".tif"), ground(lambda x, y: x * 0 + 1))
    shutil.move(path.with_suffix(".tif"), path)


def _other_type(kind, path):
    first = LAYERS[kind][0][0]
    save(frame_of(kind, [OTHER[first.geom_type]] * len(LAYERS[kind][0])), path)


def _words_for_numbers(kind, path):
    save(frame_of(kind, **{NUMBERS[kind]: ["about seven"]}), path)


def _absurd_numbers(kind, path):
    save(frame_of(kind, **{NUMBERS[kind]: [1e9]}), path)


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


NO_FILES = list(VECTOR_FAULTS)[: list(VECTOR_FAULTS).index("no features")]
CASES = [
    (kind, fault)
    for kind, (shapes, _) in LAYERS.items()
    for fault in VECTOR_FAULTS
    # One reader opens all kinds: a file that is none is tried as polygons, lines and points.
    if fault not in NO_FILES or kind in {"parcels", "streets", "trees"}
    # Parcels of a millimetre stand below; where points are due, polygons are right as well.
    if (kind, fault) != ("parcels", "degrees called metres")
    and (shapes[0].geom_type, fault) != ("Point", "every type at once")
]


@pytest.mark.parametrize(("kind", "fault"), CASES)
def test_a_spoilt_layer_ends_in_a_finding_or_a_sentence(kind, fault, town, usual):
    VECTOR_FAULTS[fault](kind, town / f"{kind}.gpkg")
    only(town, kind)
    # Parcels that lie elsewhere leave the elevation where it is: it is the one that is told.
    names = [kind, "elevation"] if fault == "a system far off" else [kind]
    judge(town, usual, names)


@pytest.mark.parametrize("kind", NUMBERS)
@pytest.mark.parametrize("fault", [_words_for_numbers, _absurd_numbers])
def test_numbers_that_are_none_are_told(kind, fault, town, usual):
    fault(kind, town / f"{kind}.gpkg")
    only(town, kind)
    judge(town, usual, [kind])


def test_parcels_of_a_millimetre_are_told(town, usual):
    _degrees_called_metres("parcels", town / "parcels.gpkg")
    only(town)
    judge(town, usual, ["parcels", "elevation"])


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
def test_a_spoilt_elevation_ends_in_a_finding_or_a_sentence(fault, town, usual):
    RASTER_FAULTS[fault](town / "elevation.tif")
    only(town)
    judge(town, usual, ["elevation"])
