"""Files that are read by way of a copy: a shapefile without its index, and GeoParquet."""

from __future__ import annotations

import atexit
import functools
import shutil
import tempfile
from pathlib import Path

import geopandas as gpd
import pyogrio

__all__ = ["readable"]


def readable(path: str) -> str:
    """Path of a file that the reader can open: the file itself, or a copy that stands in for it.

    Nothing is written beside the user's file.

    Raises
    ------
    ValueError
        If GeoParquet is to be read and its library is not installed, or a copy can't be made.
    """
    file = Path(path)
    suffix = file.suffix.lower()
    lacks_index = suffix == ".shp" and not (
        file.with_suffix(".shx").exists() or file.with_suffix(".SHX").exists()
    )
    if path.startswith("/vsi") or "://" in path:
        return path
    if suffix in {".parquet", ".geoparquet"} or lacks_index:
        return _copy(path, file.stat().st_mtime_ns)
    return path


@functools.cache
def _copy(path: str, changed_ns: int) -> str:  # noqa: ARG001  # a changed file is copied anew
    folder = Path(tempfile.mkdtemp(prefix="playsite-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    file = Path(path)
    if file.suffix.lower() == ".shp":
        for part in file.parent.glob(f"{file.stem}.*"):
            shutil.copy(part, folder / part.name)
        before = pyogrio.get_gdal_config_option("SHAPE_RESTORE_SHX")
        pyogrio.set_gdal_config_options({"SHAPE_RESTORE_SHX": True})
        try:
            pyogrio.read_info(folder / file.name)
        finally:
            pyogrio.set_gdal_config_options({"SHAPE_RESTORE_SHX": before})
        return str(folder / file.name)
    try:
        read = gpd.read_parquet(file)
    except ImportError as error:
        raise ValueError('GeoParquet needs a library: pip install "playsite[parquet]"') from error
    made = folder / f"{file.stem}.gpkg"
    read.to_file(made, layer=file.stem)
    return str(made)
