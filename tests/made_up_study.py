"""A small made-up town on disk, for tests of the whole run."""

from __future__ import annotations

import textwrap

import geopandas as gpd
import numpy as np
import rasterio
import shapely
from affine import Affine

CRS = "EPSG:26918"
WEST, NORTH = 500_000.0, 4_500_400.0
"""Corner of the ground: a square of 400 m, cells of 1 m."""

HEAD = """
[study]
title = "A made-up town"
units = "metres"
{study}
[program]
{program}
[layers.parcels]
path = "parcels.gpkg"
"""
PAD = 'pad = { length = "31.7 m", width = "22.7 m" }'
TWO_AGES = """
ages = ["2-5", "5-12"]
children_at_once = 45
[[program.equipment]]
kind = "composite"
ages = "5-12"
length = "26 ft"
width = "20 ft"
height = "6 ft"
[[program.equipment]]
kind = "belt swing"
ages = "5-12"
length = "20 ft"
bays = 2
pivot_height = "8 ft"
[[program.equipment]]
kind = "spinner"
ages = "5-12"
length = "3 ft"
[[program.equipment]]
kind = "climber"
ages = "5-12"
length = "12 ft"
width = "6 ft"
height = "6 ft"
[[program.equipment]]
kind = "composite"
ages = "2-5"
length = "14 ft"
width = "10 ft"
height = "4 ft"
[[program.equipment]]
name = "two rockers in line"
kind = "rocker"
ages = "2-5"
length = "10 ft"
width = "1 ft"
height = "2 ft"
[[program.equipment]]
kind = "bucket swing"
ages = "2-5"
length = "10 ft"
pivot_height = "8 ft"
seat_height = "2 ft"
"""
"""A program for two ages, seven pieces: it needs a rectangle of 118 by 70 ft."""


def box(x, y, width, height, turned_deg=0.0):
    """Rectangle with its lower left corner x, y metres from the ground's lower left corner."""
    shape = shapely.box(0, 0, width, height)
    shape = shapely.affinity.rotate(shape, turned_deg, origin=(0, 0))
    return shapely.affinity.translate(shape, WEST + x, NORTH - 400 + y)


def line(*points):
    return shapely.LineString([(WEST + x, NORTH - 400 + y) for x, y in points])


def point(x, y):
    return shapely.Point(WEST + x, NORTH - 400 + y)


def ground(height):
    """Elevation from a function of metres east and north of the ground's lower left corner."""
    x, y = np.meshgrid(np.arange(400) + 0.5, 399.5 - np.arange(400))
    return height(x, y).astype("float32")


def write_study(folder, parcels, *, elevation=None, layers=None, study="", program=PAD, more=""):
    """Write a study; ``layers`` is kind to (shapes, columns)."""
    folder.mkdir(parents=True, exist_ok=True)
    text = HEAD.format(study=study, program=program)
    _write(folder / "parcels.gpkg", list(parcels.values()), {"parcel_id": list(parcels)})
    for kind, (shapes, columns) in (layers or {}).items():
        _write(folder / f"{kind}.gpkg", shapes, columns)
        text += f'[layers.{kind}]\npath = "{kind}.gpkg"\n'
    if elevation is not None:
        write_elevation(folder / "elevation.tif", elevation)
        text += '[layers.elevation]\npath = "elevation.tif"\nheight_unit = "m"\nnoise = "3 cm"\n'
    file = folder / "study.toml"
    file.write_text(text + textwrap.dedent(more), encoding="utf-8")
    return file


def write_elevation(path, elevation, *, crs=CRS, unit=None):
    profile = {
        "driver": "GTiff",
        "height": elevation.shape[0],
        "width": elevation.shape[1],
        "count": 1,
        "dtype": "float32",
        "crs": crs,
        "transform": Affine(1, 0, WEST, 0, -1, NORTH),
        "nodata": -9999,
    }
    with rasterio.open(path, "w", **profile) as raster:
        raster.write(np.where(np.isfinite(elevation), elevation, -9999).astype("float32"), 1)
        if unit:
            raster.units = (unit,)


def _write(path, shapes, columns):
    gpd.GeoDataFrame(columns, geometry=list(shapes), crs=CRS).to_file(path)
