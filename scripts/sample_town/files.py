"""Writing the town: layers, elevation, the study, what is true, how it was made, and the sums."""

from __future__ import annotations

import hashlib
import json
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import pyogrio
import rasterio
import shapely
from rasterio.transform import from_origin
from rasterio.windows import Window

from sample_town import plan
from sample_town.ground import NOISE_M, natural_m
from sample_town.wording import README, STUDY

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.random import Generator
    from numpy.typing import NDArray

    from sample_town.country import Country
    from sample_town.ground import Ground

NODATA = -9999.0
BLOCK_ROWS = 512


def write_layer(folder: Path, name: str, rows: list[dict[str, Any]]) -> None:
    """One GeoPackage with one layer of the same name, in the town's coordinates."""
    # the file format stamps its time of writing: a fixed one makes the same town the same file
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": "2025-01-01T00:00:00.000Z"})
    frame = gpd.GeoDataFrame(rows, geometry="geometry", crs=plan.CRS)
    moved = shapely.transform(frame.geometry.values, lambda xy: xy + np.asarray(plan.ORIGIN_M))
    frame["geometry"] = shapely.set_precision(moved, 0.001)
    path = folder / f"{name}.gpkg"
    path.unlink(missing_ok=True)
    frame.to_file(path, layer=name, driver="GPKG", engine="pyogrio")


def write_elevation(path: Path, ground: Ground, country: Country, rng: Generator) -> None:
    """Heights with noise, in centimetres steps; ponds stay level."""
    east, north = plan.ORIGIN_M
    profile = {
        "driver": "GTiff",
        "dtype": "float32",
        "count": 1,
        "crs": plan.CRS,
        "nodata": NODATA,
        "width": country.east_m,
        "height": country.north_m,
        "tiled": True,
        "blockxsize": 256,
        "blockysize": 256,
        "compress": "deflate",
        "predictor": 3,
        "zlevel": 9 if country.north_m == plan.SIDE_M else 1,
        "transform": from_origin(east, north + country.north_m, 1, 1),
        "bigtiff": "if_safer",
    }
    with rasterio.open(path, "w", **profile) as target:
        target.units = ("m",)
        target.set_band_description(1, "made-up bare ground, metres")
        for top in range(0, country.north_m, BLOCK_ROWS):
            rows = min(BLOCK_ROWS, country.north_m - top)
            band = _noisy_rows(top, rows, ground, country, rng)
            target.write(band, 1, window=Window(0, top, country.east_m, rows))


def _noisy_rows(
    top: int, rows: int, ground: Ground, country: Country, rng: Generator
) -> NDArray[np.float32]:
    """Some rows of the elevation, from the north."""
    noise = rng.standard_normal((rows, country.east_m), dtype=np.float32) * np.float32(NOISE_M)
    height = np.zeros((rows, country.east_m))
    if country.east_m > plan.SIDE_M:
        x, y = np.meshgrid(
            np.arange(country.east_m) + 0.5, country.north_m - top - np.arange(rows) - 0.5
        )
        roll = np.clip((x - plan.SIDE_M) / 200, 0, 1) * 7 * np.sin(x / 150) * np.sin(y / 190)
        height = natural_m(x, y) + roll
    first = country.north_m - plan.SIDE_M
    low = max(first - top, 0)
    if low < rows:
        part = slice(top + low - first, top + rows - first)
        height[low:, : plan.SIDE_M] = ground.height_m[part]
        noise[low:, : plan.SIDE_M][ground.still[part]] = 0
    return np.round(height + noise, 2).astype(np.float32)


def write_texts(folder: Path, facts: dict[str, Any], seed: int, parcels: int) -> None:
    """Study, truth, how it was made, then the sums of all files."""
    (folder / "study.toml").write_text(STUDY.format(town=plan.TOWN), encoding="utf-8")
    text = json.dumps(facts, indent=1, sort_keys=True) + "\n"
    (folder / "truth.json").write_text(text, encoding="utf-8")
    readme = README.format(town=plan.TOWN, crs=plan.CRS, seed=seed, parcels=parcels)
    (folder / "README.md").write_text(readme, encoding="utf-8")
    names = sorted(
        path.name
        for path in folder.iterdir()
        if path.suffix in {".gpkg", ".tif", ".toml", ".json", ".md"}
    )
    sums = [
        f"{hashlib.sha256((folder / name).read_bytes()).hexdigest()}  {name}\n" for name in names
    ]
    (folder / "SHA256SUMS").write_text("".join(sums), encoding="utf-8")
