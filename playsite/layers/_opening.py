"""As what a library opens a file: archives, tables of places, and files that lack a part."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path
from typing import Any

__all__ = ["RASTERS", "VECTORS", "ArchiveError", "open_as", "options_for"]

VECTORS = (
    ".shp",
    ".gpkg",
    ".geojson",
    ".geojsonl",
    ".json",
    ".fgb",
    ".gml",
    ".kml",
    ".kmz",
    ".tab",
    ".mif",
    ".csv",
    ".dxf",
    ".sqlite",
)
"""Names by which a map file is known in an archive."""

RASTERS = (".tif", ".tiff", ".asc", ".img", ".vrt", ".nc", ".bil", ".flt", ".xyz")
"""Names by which a raster is known in an archive."""

_TABLES = (".csv", ".txt", ".tsv")
_PLACES = {
    "X_POSSIBLE_NAMES": "lon,long,longitude,lng,x,easting",
    "Y_POSSIBLE_NAMES": "lat,latitude,y,northing",
    "GEOM_POSSIBLE_NAMES": "wkt,geom,geometry,the_geom,shape",
}
_SHAPEFILE_HEAD = 100


class ArchiveError(ValueError):
    """An archive that holds no map file, or several, and what to do about it."""

    def __init__(self, what: str, remedy: str) -> None:
        super().__init__(what)
        self.remedy = remedy


def options_for(path: str) -> dict[str, Any]:
    """Give the options by which a library finds places in a table, and leaves the folder alone."""
    if path.lower().endswith(_TABLES):
        return dict(_PLACES)
    # Else the library would leave a file of its own beside the user's.
    return {"WRITE_GFS": "NO"} if path.lower().endswith(".gml") else {}


def open_as(path: str, suffixes: tuple[str, ...]) -> str | bytes:
    """Path that the library opens, or the whole file in memory where it needs mending first.

    Parameters
    ----------
    path
        Where the file lies.
    suffixes
        Names to look for in an archive.

    Raises
    ------
    ArchiveError
        If an archive doesn't hold just one map file.
    ValueError
        If the file can't be brought into memory.
    """
    low = path.lower()
    if low.startswith("/vsi") or "://" in low:
        return path
    if low.endswith(".zip"):
        return _inside_zip(Path(path), suffixes)
    if low.endswith(".shp") and not _has_index(Path(path)):
        return _with_index(Path(path))
    if low.endswith((".parquet", ".geoparquet")):
        return _from_parquet(path)
    return path


def _inside_zip(path: Path, suffixes: tuple[str, ...]) -> str:
    """GDAL finds no file in a folder of an archive: it has to be led there."""
    with zipfile.ZipFile(path) as archive:
        names = [name for name in archive.namelist() if "__MACOSX" not in name]
    databases = {n[: n.lower().index(".gdb/") + 4] for n in names if ".gdb/" in n.lower()}
    files = [n for n in names if n.lower().endswith(suffixes)]
    found = sorted(databases) or sorted(files)
    if not found and path.name.lower().endswith(".gdb.zip"):
        return str(path)  # a database without a folder around it
    if not found:
        raise ArchiveError("the archive holds no map file", "Unpack it, and look what it holds.")
    if len(found) > 1:
        raise ArchiveError(
            f"the archive holds {len(found)} map files: {', '.join(found)}",
            f'Say which: path = "{path.name}/{found[0]}", or unpack it.',
        )
    return f"/vsizip/{path}/{found[0]}"


def _has_index(path: Path) -> bool:
    return any(each.suffix.lower() == ".shx" for each in _parts(path))


def _parts(path: Path) -> list[Path]:
    return [each for each in path.parent.iterdir() if each.stem == path.stem]


def _with_index(path: Path) -> bytes:
    """Archive, in memory, of a shapefile and the index that it lacks: where each record begins."""
    whole = path.read_bytes()
    index, at = bytearray(), _SHAPEFILE_HEAD
    while at + 8 <= len(whole):
        words = int.from_bytes(whole[at + 4 : at + 8], "big")
        index += (at // 2).to_bytes(4, "big") + words.to_bytes(4, "big")
        at += 8 + 2 * words
    length = ((_SHAPEFILE_HEAD + len(index)) // 2).to_bytes(4, "big")
    head = whole[:24] + length + whole[28:_SHAPEFILE_HEAD]
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w") as archive:
        for part in _parts(path):
            if part.suffix.lower() in {".shp", ".dbf", ".prj", ".cpg"}:
                archive.write(part, f"{path.stem}{part.suffix.lower()}")
        archive.writestr(f"{path.stem}.shx", head + index)
    return held.getvalue()


def _from_parquet(path: str) -> bytes:
    """Bring GeoParquet, which the library can't read, into memory as something it can."""
    import geopandas as gpd  # noqa: PLC0415 -- slow to import, and seldom needed here

    try:
        frame = gpd.read_parquet(path)
    except ImportError:
        raise ValueError(
            'GeoParquet needs one more package: pip install "playsite[parquet]"'
        ) from None
    except (TypeError, KeyError, NotImplementedError) as error:
        raise ValueError(str(error)) from None
    plain = [
        name
        for name, values in frame.items()
        if values.dtype.kind in "biufM" or values.map(_is_text).all()
    ]
    held = io.BytesIO()
    # In the file's order: an index of places would move its rows.
    frame[list(dict.fromkeys([*plain, frame.geometry.name]))].to_file(
        held, driver="FlatGeobuf", layer=Path(path).stem, SPATIAL_INDEX="NO"
    )
    return held.getvalue()


def _is_text(value: object) -> bool:
    return value is None or isinstance(value, (str, float))
