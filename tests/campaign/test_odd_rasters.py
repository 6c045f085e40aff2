"""Rasters that are odd rather than broken: each is told, or read as the ground that it is."""

import warnings

import numpy as np
import pytest
import rasterio
from affine import Affine
from campaign.town import judge, only
from made_up_study import CRS, NORTH, WEST, ground
from rasterio.control import GroundControlPoint

from playsite.study import check

PLANE = ground(lambda x, y: 10 + 0.01 * x + 0.02 * y)  # as the sound town's


def _write(path, array, **changes):
    profile = {
        "driver": "GTiff",
        "height": array.shape[-2],
        "width": array.shape[-1],
        "count": 1,
        "dtype": array.dtype,
        "crs": CRS,
        "transform": Affine(1, 0, WEST, 0, -1, NORTH),
    } | changes
    scales, unit = profile.pop("scales", None), profile.pop("unit", None)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the point is that the file is odd
        with rasterio.open(path, "w", **profile) as raster:
            raster.write(array if array.ndim == 3 else array[None])
            if scales:
                raster.scales = scales
            if unit:
                raster.units = (unit,)


def _huge(path, cell, side):
    """A raster that is cheap to write, whatever its size: none of its cells is."""
    profile = {
        "driver": "GTiff", "height": side, "width": side, "count": 1, "dtype": "float32",
        "crs": CRS, "transform": Affine(cell, 0, WEST, 0, -cell, NORTH),
        "SPARSE_OK": True, "tiled": True, "compress": "deflate", "BIGTIFF": "YES",
    }  # fmt: skip
    with rasterio.open(path, "w", **profile):
        pass


def _points(path):
    corners = [
        GroundControlPoint(row, column, WEST + column, NORTH - row)
        for row in (0, 400)
        for column in (0, 400)
    ]
    _write(path, PLANE, transform=Affine.identity(), gcps=corners)


def _text(text):
    return lambda path: path.write_text(text.replace("FOLDER", str(path.parent)))


VRT = (
    '<VRTDataset rasterXSize="400" rasterYSize="400"><SRS>EPSG:26918</SRS>'
    "<GeoTransform>500000, 1, 0, 4500400, 0, -1</GeoTransform>"
    '<VRTRasterBand dataType="Float32" band="1"><SimpleSource>'
    '<SourceFilename relativeToVRT="0">{}</SourceFilename><SourceBand>1</SourceBand>'
    "</SimpleSource></VRTRasterBand></VRTDataset>"
)

TOLD = {
    "a picture": lambda path: _write(path, np.full((3, 400, 400), 90, "uint8"), count=3),
    "complex numbers": lambda path: _write(path, PLANE.astype("complex64")),
    "no cell has a size": lambda path: _write(path, PLANE, transform=Affine(0, 0, 1, 0, 0, 1)),
    "a place that is no number": lambda path: _write(
        path, PLANE, transform=Affine(1, 0, np.nan, 0, -1, NORTH)
    ),
    "an infinite place": lambda path: _write(
        path, PLANE, transform=Affine(1, 0, np.inf, 0, -1, NORTH)
    ),
    "cells of a kilometre": lambda path: _write(
        path, PLANE[:9, :9], transform=Affine(1000, 0, WEST - 2000, 0, -1000, NORTH + 2000)
    ),
    "cells of a millimetre": lambda path: _huge(path, 0.001, 1_000_000),
    "cells without end": lambda path: _huge(path, 0.01, 500_000),
    "cells that are no squares": lambda path: _write(
        path, PLANE[::2], transform=Affine(1, 0, WEST, 0, -2, NORTH)
    ),
    "scaled away": lambda path: _write(path, PLANE, scales=(0.0,)),
    "scaled to no number": lambda path: _write(path, PLANE, scales=(np.nan,)),
    "a unit that disagrees": lambda path: _write(path, PLANE, unit="ft"),
    "points for a place": _points,
    "a tile that is gone": _text(VRT.format("FOLDER/gone.tif")),
    "a mosaic of itself": _text(VRT.format("FOLDER/elevation.tif")),
    "a mosaic of no raster": _text(VRT.format("FOLDER/parcels.gpkg")),
    "a mosaic of nothing": _text('<VRTDataset rasterXSize="9" rasterYSize="9"></VRTDataset>'),
    "broken XML": _text("<VRTDataset rasterXSize="),
    "an ASCII grid without cells": _text("ncols 400\nnrows 400\nxllcorner 0\nyllcorner 0\n"),
    "an ASCII grid of words": _text(
        "ncols 2\nnrows 2\nxllcorner 0\nyllcorner 0\ncellsize 1\nNODATA_value -9999\na b\nc d\n"
    ),
    "an ASCII grid beyond memory": _text(
        "ncols 2000000000\nnrows 2000000000\nxllcorner 0\nyllcorner 0\ncellsize 1\n1 2\n"
    ),
    "void cells that nobody marked": lambda path: _write(
        path, np.where(PLANE > 14, -32767, PLANE).astype("float32")
    ),
    "the lowest of numbers for void": lambda path: _write(
        path, np.where(PLANE > 14, np.finfo("float32").min, PLANE).astype("float32")
    ),
    "a sheet of glass": lambda path: _write(path, np.zeros((400, 400), "float32")),
    "a stair of metres": lambda path: _write(path, PLANE.astype("int16")),
}


@pytest.mark.parametrize("name", TOLD)
def test_an_odd_raster_is_told(name, town, usual):
    (town / "elevation.tif").unlink()
    TOLD[name](town / "elevation.tif")
    only(town)
    judge(town, usual, ["elevation"])


SAME = {
    "whole numbers with a scale": lambda path: _write(
        path, np.round(PLANE * 1000).astype("int32"), scales=(0.001,)
    ),
    "doubles": lambda path: _write(path, PLANE.astype("float64")),
    "from south to north": lambda path: _write(
        path, PLANE[::-1], transform=Affine(1, 0, WEST, 0, 1, NORTH - 400)
    ),
    "a void of its own": lambda path: _write(path, PLANE, nodata=-1e30),
    "not a number for void": lambda path: _write(path, PLANE, nodata=np.nan),
    "packed": lambda path: _write(path, PLANE, compress="lzw", predictor=3, tiled=True),
    "other bytes first": lambda path: _write(path, PLANE, ENDIANNESS="BIG"),
}


@pytest.mark.parametrize("name", SAME)
def test_a_raster_written_another_way_is_the_same_ground(name, town):
    (town / "elevation.tif").unlink()
    SAME[name](town / "elevation.tif")
    only(town)
    _, layers, _ = check(town)
    np.testing.assert_allclose(layers.elevation.array[2:-2, 2:-2], PLANE[2:-2, 2:-2], atol=0.001)
