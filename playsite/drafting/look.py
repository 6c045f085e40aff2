"""What lies in a folder of maps: every layer of every file that can be read, with its columns."""

from __future__ import annotations

import os
import warnings
import zipfile
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import pyogrio
import rasterio

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["FoundLayer", "look_through"]

VECTORS: tuple[str, ...] = (
    ".shp",
    ".gpkg",
    ".geojson",
    ".json",
    ".geojsonl",
    ".fgb",
    ".gml",
    ".kml",
    ".kmz",
)
VECTORS += (".tab", ".csv", ".dxf", ".parquet", ".gdb", ".sqlite")
RASTERS = (".tif", ".tiff", ".asc", ".img", ".vrt")
_PLACES = {
    "X_POSSIBLE_NAMES": "lon,long,longitude,lng,x,easting",
    "Y_POSSIBLE_NAMES": "lat,latitude,y,northing",
}
_MOST_FILES = 5_000
_SHAPES = {"Point": "point", "LineString": "line", "Polygon": "polygon"}
Shape = Literal["point", "line", "polygon", "raster", "mixed"]


@dataclass(frozen=True, eq=False)
class FoundLayer:
    """One layer of one file.

    Parameters
    ----------
    path
        As a study file beside ``--from`` would write it: relative to the folder, forward slashes.
    opened
        What the library opens.
    layer
        Its layer, where the file has several; empty otherwise.
    shape
        Of its features; ``raster`` for elevation and pictures.
    fields
        Columns, in their order.
    crs
        As the file says it; empty: it doesn't.
    features
        How many; rows times columns for a raster.
    raster
        For a raster: ``bands``, ``dtype``, ``cell``, ``unit``.
    """

    path: str
    opened: str
    layer: str
    shape: Shape
    fields: tuple[str, ...]
    crs: str
    features: int
    raster: dict[str, Any] = field(default_factory=dict)

    @property
    def words(self) -> str:
        """Name to guess from: the layer's where it has one, else the file's."""
        return self.layer or Path(self.path).stem


def look_through(folder: Path) -> tuple[list[FoundLayer], list[str]]:
    """Find every readable layer below a folder; say which files could not be read.

    Links are not followed, so a loop ends and nothing outside is read.
    """
    found: list[FoundLayer] = []
    skipped: list[str] = []
    for count, (path, opened) in enumerate(_files(folder)):
        if count >= _MOST_FILES:
            skipped.append(f"more than {_MOST_FILES} files: the rest was not looked at")
            break
        try:
            found.extend(_layers(path, opened))
        except Exception as error:  # noqa: BLE001  # one bad file must not end the look
            skipped.append(f"{path}: {str(error).splitlines()[0] if str(error) else 'unreadable'}")
    return found, skipped


def _files(folder: Path) -> Iterator[tuple[str, str]]:
    """Give each map file: as a study writes it, and as the library opens it."""
    for top, folders, names in os.walk(folder):
        databases = [name for name in folders if name.lower().endswith(".gdb")]
        folders[:] = sorted(name for name in folders if name not in databases)
        for name in sorted([*names, *databases]):
            whole = Path(top) / name
            if whole.is_symlink():
                continue
            path = whole.relative_to(folder).as_posix()
            if name.lower().endswith(".zip"):
                yield from (
                    (f"{path}/{inner}", f"/vsizip/{whole}/{inner}") for inner in _inside(whole)
                )
            elif whole.suffix.lower() in (*VECTORS, *RASTERS):
                yield path, str(whole)


def _inside(archive: Path) -> list[str]:
    try:
        with zipfile.ZipFile(archive) as opened:
            names = [name for name in opened.namelist() if "__MACOSX" not in name]
    except (zipfile.BadZipFile, OSError):
        return []
    databases = {n[: n.lower().index(".gdb/") + 4] for n in names if ".gdb/" in n.lower()}
    kept = {
        n for n in names if n.lower().endswith((*VECTORS, *RASTERS)) and ".gdb/" not in n.lower()
    }
    return sorted(databases | kept)


def _layers(path: str, opened: str) -> Iterator[FoundLayer]:
    if path.lower().endswith(RASTERS):
        yield _raster(path, opened)
        return
    options = _PLACES if path.lower().endswith(".csv") else {}
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        names = [str(row[0]) for row in pyogrio.list_layers(opened)]
        for name in names:
            head = pyogrio.read_info(opened, layer=name, force_feature_count=True, **options)
            if head["geometry_type"] is None:
                continue
            yield FoundLayer(
                path=path,
                opened=opened,
                layer=name if len(names) > 1 else "",
                shape=_shape(str(head["geometry_type"])),
                fields=tuple(str(each) for each in head["fields"]),
                crs=str(head["crs"] or ""),
                features=int(head["features"]),
            )


def _shape(given: str) -> Shape:
    plain = given.removeprefix("Multi").split(" ")[0].removeprefix("3D").removeprefix("Multi")
    return _SHAPES.get(plain, "mixed")  # type: ignore[return-value]


def _raster(path: str, opened: str) -> FoundLayer:
    with rasterio.open(opened) as raster:
        facts = {
            "bands": raster.count,
            "dtype": raster.dtypes[0],
            "cell": abs(raster.transform.a),
            "unit": (raster.units[0] or "") if raster.units else "",
            "compound": bool(raster.crs) and "VERT" in raster.crs.to_wkt().upper(),
        }
        crs = raster.crs.to_string() if raster.crs else ""
        return FoundLayer(path, opened, "", "raster", (), crs, raster.width * raster.height, facts)
