"""A window of someone's elevation: a file, an address read by ranges, a VRT or a STAC item."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import rasterio
from pyproj import CRS
from rasterio.errors import WindowError
from rasterio.warp import transform_bounds
from rasterio.windows import Window, from_bounds

from playsite.errors import InputError
from playsite.fetching.bounded import run_bounded
from playsite.fetching.stac import raster_of
from playsite.layers import AROUND_M
from playsite.problems import Problem

if TYPE_CHECKING:
    from affine import Affine

__all__ = ["Heights", "elevation_window", "save_window"]

Bounds = tuple[float, float, float, float]
_BY_RANGES = {
    "GTIFF_REPORT_COMPD_CS": "YES",  # a compound system's heights would be dropped
    "GDAL_DISABLE_READDIR_ON_OPEN": "EMPTY_DIR",
    "GDAL_HTTP_TIMEOUT": "60",
    "GDAL_HTTP_CONNECTTIMEOUT": "15",
    "GDAL_HTTP_MAX_RETRY": "2",
    "GDAL_HTTP_MERGE_CONSECUTIVE_RANGES": "YES",
}
_RASTERS = (".tif", ".tiff", ".vrt")


@dataclass(frozen=True)
class Heights:
    """What is known of a window: unit of height, date of survey, credit; empty: not said."""

    unit: str
    date: str
    credit: str
    notes: tuple[str, ...]


def elevation_window(
    source: str,
    bounds: Bounds,
    crs: Any,
    file: Path,
    *,
    most_minutes: float = 5.0,
    most_megabytes: float = 200.0,
) -> Heights:
    """Save the elevation around some bounds, in its own cells and system.

    Parameters
    ----------
    source
        Path or address (http, https) of a raster or VRT, or of a STAC item that has one.
    bounds, crs
        Of the parcels, and their system in metres; 300 m around them are saved too.
    file
        GeoTIFF to write.
    most_minutes, most_megabytes
        No more time and data than this is spent.

    Raises
    ------
    InputError
        If it can't be read, doesn't reach the parcels, or the window is too large.
    """
    if "://" not in source and not Path(source).is_file():
        what, remedy = "there is no such file.", "Give a raster, or its address."
        raise InputError([Problem(what, remedy, file=source)])
    if "://" in source and not source.startswith(("http://", "https://")):
        remedy = "Give an address that begins with https://, or a file."
        raise InputError([Problem("only http and https are read.", remedy, file=source)])
    asked = {
        "source": source,
        "bounds": [float(value) for value in bounds],
        "crs": CRS.from_user_input(crs).to_wkt(),
        "most_bytes": int(most_megabytes * 1e6),
        "out": str(file),
        "remedy": "Look at it, or give another file or address.",
    }
    told = run_bounded("elevation", asked, most_minutes=most_minutes)
    return Heights(told["unit"], told["date"], told["credit"], tuple(told["notes"]))


def save_window(asked: dict[str, Any]) -> dict[str, Any]:
    """Save a window, as ``elevation_window`` asks for it, and give what the source says of it."""
    raster = raster_of(asked["source"])
    options = dict(_BY_RANGES)
    if raster.address.lower().endswith(_RASTERS):  # nothing else is looked for beside it
        options["CPL_VSIL_CURL_ALLOWED_EXTENSIONS"] = ",".join(_RASTERS)
    with rasterio.Env(**options), rasterio.open(raster.address) as opened:
        if opened.crs is None:
            _refuse(asked, "it doesn't say where on the map it lies.", "Ask who made it.")
        window = _window(opened, asked)
        _check_size(opened, window, asked)
        heights = opened.read(1, window=window)
        if not _known(heights, opened.nodata).any():
            _refuse(asked, "it holds no height around the parcels.", "Look for another tile.")
        unit = opened.units[0] or _unit_of(opened.crs)
        _write(Path(asked["out"]), opened, window, heights, unit)
        notes = [] if opened.count == 1 else [f"it has {opened.count} bands: the first is taken"]
        notes += _uncovered(opened, asked)
    return {"unit": unit, "date": raster.date, "credit": raster.credit, "notes": notes}


def _around(opened: Any, asked: dict[str, Any]) -> Window:
    """Give the cells around the parcels, wherever the raster ends."""
    west, south, east, north = asked["bounds"]
    around = (west - AROUND_M, south - AROUND_M, east + AROUND_M, north + AROUND_M)
    own = transform_bounds(CRS.from_wkt(asked["crs"]), opened.crs, *around)
    near = from_bounds(*own, opened.transform)
    left, top = math.floor(near.col_off), math.floor(near.row_off)
    right, bottom = near.col_off + near.width, near.row_off + near.height
    return Window(left, top, math.ceil(right) - left, math.ceil(bottom) - top)


def _window(opened: Any, asked: dict[str, Any]) -> Window:
    try:
        return _around(opened, asked).intersection(Window(0, 0, opened.width, opened.height))
    except WindowError:
        return _refuse(asked, "it doesn't reach the parcels.", "Look for another tile.")


def _uncovered(opened: Any, asked: dict[str, Any]) -> list[str]:
    whole, inside = _around(opened, asked), _window(opened, asked)
    share = 100 * inside.width * inside.height / (whole.width * whole.height)
    return [] if share > 99.9 else [f"it covers {share:.0f} % of the ground around the parcels"]


def _check_size(opened: Any, window: Window, asked: dict[str, Any]) -> None:
    """Refuse what is too large by whole blocks: a raster in long strips is read by strips."""
    high, wide = opened.block_shapes[0]
    columns = (window.col_off + window.width - 1) // wide - window.col_off // wide + 1
    rows = (window.row_off + window.height - 1) // high - window.row_off // high + 1
    size = columns * wide * rows * high * np.dtype(opened.dtypes[0]).itemsize
    if size > asked["most_bytes"]:
        what = (
            f"the ground around the parcels takes {size / 1e6:,.0f} MB of it, more than "
            f"{asked['most_bytes'] / 1e6:g}."
        )
        _refuse(asked, what, "Give --most-megabytes, or a raster in tiles.")


def _known(heights: Any, nodata: float | None) -> Any:
    known = np.isfinite(heights)
    return known if nodata is None else known & (heights != nodata)


def _unit_of(crs: Any) -> str:
    """Unit of the heights of a compound system; empty: it has none."""
    axes = CRS.from_wkt(crs.to_wkt()).axis_info
    return next((axis.unit_name for axis in axes if axis.direction in {"up", "down"}), "")


def _write(file: Path, opened: Any, window: Window, heights: Any, unit: str) -> None:
    at: Affine = opened.transform
    profile = {
        "driver": "GTiff",
        "count": 1,
        "dtype": opened.dtypes[0],
        "crs": opened.crs,
        "width": window.width,
        "height": window.height,
        "nodata": opened.nodata,
        "transform": at * at.translation(window.col_off, window.row_off),
        "compress": "deflate",
        "tiled": True,
    }
    with rasterio.open(file, "w", **profile) as written:
        written.write(heights, 1)
        written.scales, written.offsets = opened.scales[:1], opened.offsets[:1]
        if unit:
            written.units = (unit,)


def _refuse(asked: dict[str, Any], what: str, remedy: str) -> Any:
    raise InputError([Problem(what, remedy, file=asked["source"])])
