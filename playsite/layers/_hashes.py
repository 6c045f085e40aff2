"""Whether a map file is still the same: one sum over all of its parts."""

from __future__ import annotations

import hashlib
import warnings
from pathlib import Path
from typing import TYPE_CHECKING

import rasterio
from rasterio.errors import RasterioError

from playsite.layers._many import files_of, is_pattern
from playsite.layers._opening import RASTERS

if TYPE_CHECKING:
    from playsite.settings import Settings

__all__ = ["input_sha256", "sha256_of"]

_BLOCK = 1 << 20
_PARTS = {
    ".shp": (".shp", ".shx", ".dbf", ".prj", ".cpg"),
    ".tab": (".tab", ".dat", ".map", ".id", ".ind"),
    ".mif": (".mif", ".mid"),
    ".csv": (".csv", ".csvt", ".prj"),
    ".gml": (".gml", ".xsd", ".gfs"),
    ".gpkg": (".gpkg", ".gpkg-wal"),
}


def input_sha256(settings: Settings) -> dict[str, str]:
    """SHA-256 of each map file of a study, by its path as the study names it.

    Empty for one that is not there, or that is an address.
    """
    paths = {source.path for sources in settings.layers.values() for source in sources}
    return {path: sha256_of(settings.folder / path) for path in sorted(paths)}


def sha256_of(path: Path) -> str:
    """SHA-256 of a map file and all that belongs to it, by name.

    Parameters
    ----------
    path
        File or folder; one in an archive counts as the archive, a pattern as all files it fits;
        one that is not there or can't be read (it is told elsewhere) has an empty one.
    """
    try:
        files = _belonging(path.expanduser())
        if not files:
            return ""
        total = hashlib.sha256()
        for file in files:
            with file.open("rb") as opened:
                while block := opened.read(_BLOCK):
                    total.update(block)
    except (OSError, ValueError, RuntimeError):
        return ""
    return total.hexdigest()


def _belonging(path: Path) -> list[Path]:
    if path.is_dir():  # a database; what lies in folders of a folder is none of its
        return sorted(file for file in path.iterdir() if file.is_file())
    if path.is_file():
        return _parts_of(path)
    archive = next((each for each in path.parents if each.is_file()), None)
    if archive is not None:
        return [archive]
    if is_pattern(str(path)):
        return [part for file in files_of(str(path)) for part in _belonging(Path(file))]
    return []


def _parts_of(path: Path) -> list[Path]:
    suffix = path.suffix.lower()
    if suffix in RASTERS:
        return _parts_of_raster(path)
    if suffix not in _PARTS:
        return [path]
    alike = (each for each in path.parent.iterdir() if each.stem == path.stem)
    return sorted(each for each in alike if each.suffix.lower() in _PARTS[suffix])


def _parts_of_raster(path: Path) -> list[Path]:
    """Give the tiles behind a mosaic, the file that says the system, and so on."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with rasterio.open(path) as opened:
                files = {Path(file) for file in opened.files}
    except RasterioError:
        files = set()
    return sorted(file for file in {path, *files} if file.is_file())
