"""A study folder that tests fill with small map files, and read through the gate."""

import warnings
from dataclasses import dataclass
from pathlib import Path

import geopandas as gpd
import numpy as np
import pytest
import rasterio
from affine import Affine
from shapely.geometry import box

from playsite.errors import InputError
from playsite.layers import Layers, read_layers
from playsite.problems import Problems
from playsite.settings import read_settings

HEAD = """
[study]
title = "A test"
units = "metres"
{study}
[program]
pad = {{ length = "30 m", width = "20 m" }}
"""

EAST, NORTH, CRS = 500_000.0, 4_500_000.0, "EPSG:26918"


@dataclass
class Read:
    """What came of one reading."""

    layers: Layers | None
    problems: list[str]

    @property
    def findings(self) -> list[str]:
        return [f"{f.weight} {f}" for f in self.layers.findings]

    def found(self, *words: str) -> list[str]:
        return [said for said in self.findings if all(word in said for word in words)]

    def told(self, *words: str) -> list[str]:
        return [said for said in self.problems if all(word in said for word in words)]


class Study:
    """A folder with map files and a study file."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def write(self, name: str, frame: gpd.GeoDataFrame, **options) -> None:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # files that say too little are what is tried here
            frame.to_file(self.folder / name, **options)

    def features(self, file: str, shapes, /, *, crs=CRS, **columns) -> None:
        self.write(file, gpd.GeoDataFrame(columns, geometry=shapes, crs=crs))

    def parcels(self, shapes=None, *, crs=CRS, **columns) -> None:
        shapes = shapes or [box(EAST, NORTH, EAST + 100, NORTH + 80)]
        columns = columns or {"parcel_id": [f"P{n}" for n in range(len(shapes))]}
        self.features("parcels.gpkg", shapes, crs=crs, **columns)

    def raster(self, name: str, array, *, corner=None, cell=1.0, crs=CRS, **profile) -> None:
        array = np.asarray(array)
        x, y = corner or (EAST - 50, NORTH + 150)
        head = {
            "driver": "GTiff",
            "height": array.shape[0],
            "width": array.shape[1],
            "count": 1,
            "dtype": array.dtype,
            "crs": crs,
            "transform": Affine(cell, 0, x, 0, -cell, y),
        }
        unit = profile.pop("unit", None)
        with rasterio.open(self.folder / name, "w", **(head | profile)) as opened:
            opened.write(array, 1)
            if unit:
                opened.units = (unit,)

    def read(self, layers: str = "", *, parcels: str = "", study: str = "") -> Read:
        text = HEAD.format(study=study)
        text += parcels or '[layers.parcels]\npath = "parcels.gpkg"\n'
        (self.folder / "study.toml").write_text(text + layers, encoding="utf-8")
        problems = Problems()
        settings = read_settings(self.folder, problems)
        try:
            found = read_layers(settings, problems)
        except InputError as error:
            return Read(None, [str(problem) for problem in error.problems])
        return Read(found, [str(problem) for problem in problems.items])


@pytest.fixture
def study(tmp_path) -> Study:
    """Give an empty study folder."""
    return Study(tmp_path)
