"""Which file, and which layer in it, a source means; and what stands in its head."""

from __future__ import annotations

import warnings
import zipfile
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pyogrio
from pyogrio.errors import DataLayerError, DataSourceError

from playsite.layers._crs import horizontal, read_crs
from playsite.layers._hashes import input_sha256, sha256_of
from playsite.layers._many import is_pattern
from playsite.layers._opening import VECTORS, ArchiveError, open_as, options_for
from playsite.problems import nearest_word

if TYPE_CHECKING:
    from pyproj import CRS

    from playsite.layers._notes import Notes
    from playsite.settings import LayerSource

__all__ = [
    "WINDOWS",
    "MapFile",
    "crs_of",
    "input_sha256",
    "label_of",
    "locate",
    "look_into",
    "sha256_of",
]

WINDOWS = "cp1252"
"""How text is read that is no UTF-8: what Western Windows writes."""

_GIVE = "Give a file of map data that GDAL reads, such as GeoPackage (.gpkg)."
_UNREADABLE = (DataSourceError, DataLayerError, ValueError, OSError, zipfile.BadZipFile)


@dataclass(frozen=True)
class MapFile:
    """One layer of one file, found and readable.

    Parameters
    ----------
    label
        What people read: file, and layer where it has several.
    path
        Where it is, for people and for hashing.
    open_as
        What the library opens: a path, or the whole file in memory.
    layer
        Its layer.
    fields
        Its columns.
    crs
        Its coordinate reference system, without heights.
    bounds
        West, south, east, north in that system.
    features
        How many it has.
    options
        For the library that opens it.
    """

    label: str
    path: Path
    open_as: str | bytes
    layer: str
    fields: tuple[str, ...]
    crs: CRS
    bounds: tuple[float, float, float, float]
    features: int
    options: dict[str, Any]


def label_of(source: LayerSource) -> str:
    """Name of a source for people: its file, and its layer where that is not named alike."""
    if is_pattern(source.path):
        return source.path
    path = Path(source.path)
    alike = source.layer is None or source.layer == path.stem
    return path.name if alike else f"{path.name} ({source.layer})"


def locate(kind: str, source: LayerSource, notes: Notes) -> str | None:
    """Where a source's file lies; a problem, and None, where there is none."""
    if "://" in source.path or source.path.startswith("/vsi"):  # an address: GDAL's to open
        return source.path
    try:
        path = notes.settings.folder / Path(source.path).expanduser()
        if path.is_file() or path.is_dir():
            return str(path)
        what, remedy = _absent(source, path)
    except (OSError, ValueError, RuntimeError) as error:  # too long, a zero byte, no such home
        reason = str(getattr(error, "strerror", None) or error).rstrip(".")
        what = f'"{source.path[:200]}" can\'t be looked for: {reason}.'
        remedy = "Paths count from the study file's folder."
    else:
        inside = next((each for each in path.parents if each.suffix.lower() == ".zip"), None)
        if inside is not None and inside.is_file():  # one of several files in an archive
            return f"/vsizip/{inside}/{path.relative_to(inside).as_posix()}"
    notes.problem(kind, what, remedy, "path")
    return None


def _absent(source: LayerSource, path: Path) -> tuple[str, str]:
    if path.exists():
        return f'"{source.path}" is neither a file nor a folder.', "Give a file of map data."
    if is_pattern(source.path):
        return f'no file fits "{source.path}".', "Paths count from the study file's folder."
    if path.is_symlink():
        return f'"{source.path}" is a link to nothing.', "Give the file itself."
    what, remedy = f'there is no file "{source.path}".', f"There is no folder {path.parent}."
    if path.parent.is_dir():
        near = nearest_word(path.name, [file.name for file in path.parent.iterdir()])
        remedy = near if near.startswith("Did") else "Paths count from the study file's folder."
    return what, remedy


def look_into(kind: str, source: LayerSource, notes: Notes) -> MapFile | None:
    """Look into a source's file; None where that is a problem, which is told."""
    path = locate(kind, source, notes)
    if path is None:
        return None
    options = options_for(path)
    opened: str | bytes = path
    try:
        opened = open_as(path, VECTORS)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # said again, and caught, when features are read
            layer = _layer(kind, source, _names(opened), notes)
            if layer is None:
                return None
            head = _head(opened, layer, options)
    except _UNREADABLE as error:
        remedy = error.remedy if isinstance(error, ArchiveError) else _GIVE
        notes.problem(kind, f'"{source.path}" can\'t be read: {_plain(error)}.', remedy, "path")
        return None
    if isinstance(opened, bytes) and path.lower().endswith(".shp"):
        what = f'"{source.path}" lacks its index (.shx).'
        notes.finding(kind, what, "It is made again in memory; the folder is left as it is.")
    crs = crs_of(kind, source, head["crs"], notes)
    if crs is None or not _has_features(kind, source, head, crs, notes):
        return None
    return MapFile(
        label=label_of(source),
        path=Path(path),
        open_as=opened,
        layer=layer,
        fields=tuple(str(name) for name in head["fields"]),
        crs=crs,
        bounds=tuple(head["total_bounds"]),
        features=int(head["features"]),
        options=options,
    )


def _names(opened: str | bytes) -> list[str]:
    return [str(row[0]) for row in pyogrio.list_layers(opened)]


def _head(opened: str | bytes, layer: str, options: dict[str, Any]) -> dict[str, Any]:
    """Read the head of a file; names that are no UTF-8 are read as Windows writes them."""
    asked = {"layer": layer, "force_feature_count": True, "force_total_bounds": True}
    try:
        head: dict[str, Any] = pyogrio.read_info(opened, **asked, **options)
    except UnicodeDecodeError:
        options["encoding"] = WINDOWS
        head = pyogrio.read_info(opened, **asked, **options)
    return head


def _layer(kind: str, source: LayerSource, layers: list[str], notes: Notes) -> str | None:
    if source.layer is not None:
        if source.layer in layers:
            return source.layer
        what = f'"{source.path}" has no layer "{source.layer}".'
        notes.problem(kind, what, nearest_word(source.layer, layers), "layer")
        return None
    if len(layers) == 1:
        return layers[0]
    if not layers:
        notes.problem(kind, f'"{source.path}" holds no layer.', _GIVE, "path")
        return None
    what = f'"{source.path}" holds {len(layers)} layers: {", ".join(sorted(layers))}.'
    notes.problem(kind, what, 'Say which: layer = "...".', "path")
    return None


def crs_of(kind: str, source: LayerSource, text: str | None, notes: Notes) -> CRS | None:
    """System of a file's coordinates: the study's word, else the file's; None is told.

    Parameters
    ----------
    kind, source
        What is read, and what the study file says about it.
    text
        What the file says; None: nothing.
    notes
        Takes what is wrong or assumed.
    """
    asked = None
    if source.crs is not None:
        asked = _asked(kind, source.crs, notes)
        if asked is None:
            return None
    own = horizontal(read_crs(text)) if text else None
    if own is not None and not (own.is_projected or own.is_geographic):
        own = None  # a drawing's own grid: nobody knows where on Earth it lies
    silent = f'"{source.path}" doesn\'t say what its coordinates mean.'
    if asked is None and own is None:
        notes.problem(kind, silent, 'Ask who made it, and give crs = "EPSG:..." here.', "path")
    elif own is None and asked is not None:
        notes.finding(kind, silent, f"They are taken as {asked.name}, as the study says.")
    elif own is not None and asked is not None and not own.equals(asked, ignore_axis_order=True):
        notes.finding(
            kind,
            f'"{source.path}" says {own.name}, the study says {asked.name}.',
            "The study's word is taken.",
            weight="caution",
        )
    return asked or own


def _asked(kind: str, text: str, notes: Notes) -> CRS | None:
    """System that the study names for a file; None where it is none of a map, which is told."""
    try:
        asked = horizontal(read_crs(text))
    except ValueError as error:
        notes.problem(kind, f"{error}.", "Ask who made the file.", "crs")
        return None
    if asked.is_projected or (asked.is_geographic and len(asked.axis_info) == 2):
        return asked
    what = f'"{text}" is no system of places on a map.'
    notes.problem(kind, what, 'Expected a code such as "EPSG:26910".', "crs")
    return None


def _has_features(
    kind: str, source: LayerSource, head: dict[str, Any], crs: CRS, notes: Notes
) -> bool:
    if head["features"] == 0:
        notes.problem(kind, f'"{source.path}" holds no features.', "Leave it out.", "path")
        return False
    bounds = head["total_bounds"]
    if bounds is None:
        remedy = "Give a file with shapes; a table needs columns lon and lat, and crs."
        notes.problem(kind, f'"{source.path}" is a table without shapes.', remedy, "path")
        return False
    if crs.is_geographic and max(abs(value) for value in bounds) > 360:
        what = f'"{source.path}" says degrees, but its coordinates run to {max(bounds):,.0f}.'
        notes.problem(kind, what, 'Give what they are: crs = "EPSG:...".', "path")
        return False
    return True


def _plain(error: Exception) -> str:
    """GDAL's sentence, without its advice to programmers."""
    return str(error).split("; It might help")[0].rstrip(". ")
