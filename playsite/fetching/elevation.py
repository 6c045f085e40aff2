"""A window of someone's elevation: a file, an address read by ranges, a VRT or a STAC item."""

from __future__ import annotations

import json
import urllib.parse
import urllib.request
from typing import TYPE_CHECKING, Any

import rasterio
from rasterio.errors import RasterioError
from rasterio.warp import transform_bounds
from rasterio.windows import Window, from_bounds

from playsite.errors import InputError
from playsite.layers import AROUND_M
from playsite.problems import Problem

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["save_window"]

Bounds = tuple[float, float, float, float]
_BY_RANGES = {
    "GDAL_DISABLE_READDIR_ON_OPEN": "EMPTY_DIR",
    "CPL_VSIL_CURL_ALLOWED_EXTENSIONS": ".tif,.tiff,.vrt",
    "GDAL_HTTP_TIMEOUT": "60",
    "GDAL_HTTP_CONNECTTIMEOUT": "15",
    "GDAL_HTTP_MAX_RETRY": "2",
}
_MOST_BYTES = 5_000_000


def save_window(source: str, bounds: Bounds, crs: Any, path: Path, *, most_megabytes: float) -> str:
    """Save the elevation around some bounds, in its own cells and system.

    Parameters
    ----------
    source
        Path or address of a raster, or address of a STAC item whose asset is one.
    bounds, crs
        Of the parcels, and their system; 300 m around them are saved too.
    path
        GeoTIFF to write.
    most_megabytes
        A larger window is refused.

    Returns
    -------
    str
        Unit of the heights as the file says it; empty: it doesn't.

    Raises
    ------
    InputError
        If it can't be read, doesn't reach the parcels, or the window is too large.
    """
    try:
        with rasterio.Env(**_BY_RANGES), rasterio.open(_asset(source)) as opened:
            window = _window(opened, bounds, crs, source)
            most = most_megabytes * 1e6
            if window.width * window.height * 4 > most:
                what = f"the window around the parcels has more than {most_megabytes:g} MB."
                raise InputError([Problem(what, "Give --most-megabytes.", file=source)])
            profile = {
                "driver": "GTiff",
                "count": 1,
                "dtype": opened.dtypes[0],
                "crs": opened.crs,
                "width": window.width,
                "height": window.height,
                "nodata": opened.nodata,
                "transform": _moved(opened.transform, window),
                "compress": "deflate",
            }
            unit = (opened.units[0] or "") if opened.units else ""
            with rasterio.open(path, "w", **profile) as written:
                written.write(opened.read(1, window=window), 1)
                if unit:
                    written.units = (unit,)
            return str(unit)
    except (RasterioError, OSError, ValueError) as error:
        said = str(error).splitlines()[0] if str(error) else type(error).__name__
        raise InputError([Problem(f"can't be read: {said}.", file=source)]) from error


def _window(opened: Any, bounds: Bounds, crs: Any, source: str) -> Window:
    west, south, east, north = bounds
    around = (west - AROUND_M, south - AROUND_M, east + AROUND_M, north + AROUND_M)
    own = transform_bounds(crs, opened.crs, *around)
    near = from_bounds(*own, opened.transform).round_offsets().round_lengths()
    try:
        return near.intersection(Window(0, 0, opened.width, opened.height))
    except rasterio.errors.WindowError as error:
        what = "it doesn't reach the parcels."
        raise InputError([Problem(what, "Look for another tile.", file=source)]) from error


def _moved(transform: Any, window: Window) -> Any:
    a, b, c, d, e, f = transform[:6]
    return type(transform)(a, b, c + window.col_off * a, d, e, f + window.row_off * e)


def _asset(source: str) -> str:
    """Address of the raster; that of a STAC item's asset where the address is an item's."""
    if not (
        source.startswith(("http://", "https://")) and source.lower().endswith((".json", "/item"))
    ):
        return source
    with urllib.request.urlopen(source, timeout=60) as answer:  # noqa: S310  # http, as checked above
        item = json.loads(answer.read(_MOST_BYTES))
    assets = item.get("assets", {}).values()
    rasters = [
        asset["href"]
        for asset in assets
        if "tiff" in str(asset.get("type", "")).lower()
        or str(asset.get("href", "")).endswith(".tif")
    ]
    if not rasters:
        raise InputError([Problem("this STAC item has no GeoTIFF among its assets.", file=source)])
    return str(urllib.parse.urljoin(source, rasters[0]))
