"""One raster file of heights: what its head says of place and of the unit of height."""

from __future__ import annotations

import math
import warnings
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import rasterio
from pyproj import CRS
from rasterio.errors import NotGeoreferencedWarning

from playsite.layers._crs import vertical_unit_m
from playsite.layers._notes import listed
from playsite.layers._opening import RASTERS, open_as
from playsite.layers.files import crs_of, locate
from playsite.problems import nearest_word
from playsite.units import LENGTHS_M, metres

if TYPE_CHECKING:
    from affine import Affine

    from playsite.layers._notes import Notes
    from playsite.settings import LayerSource

__all__ = ["Raster", "look_into_raster"]


@dataclass(frozen=True)
class Raster:
    """One raster file, its head read; ``kind`` is the layer that it is of."""

    kind: str
    source: LayerSource
    path: str
    crs: CRS
    height_unit_m: float
    said_by: str
    transform: Affine
    width: int
    height: int
    doubles: bool


def look_into_raster(kind: str, source: LayerSource, notes: Notes) -> Raster | None:
    """Read the head of a raster file; None where that is a problem, which is told."""
    path = locate(kind, source, notes)
    if path is None:
        return None
    head = None
    with (
        notes.no_traceback(kind, f'"{source.path}"', "path"),
        rasterio.Env(GTIFF_REPORT_COMPD_CS="YES"),
        warnings.catch_warnings(),
    ):
        warnings.simplefilter("ignore", NotGeoreferencedWarning)  # told below, as a problem
        head = _head(kind, path, source, notes)
    if head is None:
        return None
    if fault := _fault(head):
        what = f'"{source.path}" {fault}.'
        notes.problem(kind, what, "Ask who made it for its world file.", "path")
        return None
    own = CRS.from_wkt(head["crs"].to_wkt()) if head["crs"] else None
    if head["count"] != 1:
        what = f'"{source.path}" has {head["count"]} bands.'
        notes.finding(kind, what, f"The first is read as {kind}.", weight="caution")
    crs = crs_of(kind, source, own.to_wkt() if own is not None else None, notes)
    unit_m, said_by = _height_unit(kind, source, own, head["unit"], notes)
    if crs is None or unit_m is None:
        return None
    return Raster(
        kind=kind,
        source=source,
        path=head["path"],
        crs=crs,
        height_unit_m=unit_m,
        said_by=said_by,
        transform=head["transform"],
        width=head["width"],
        height=head["height"],
        doubles=head["dtype"] == "float64",
    )


def _fault(head: dict[str, Any]) -> str:
    """What keeps a raster from being the ground; empty: nothing."""
    transform = head["transform"]
    if not all(math.isfinite(number) for number in transform[:6]) or not transform.determinant:
        return "has cells without a size or a place"
    if transform.is_identity:
        return "doesn't say where on the map it lies"
    return "holds complex numbers, no heights" if head["dtype"].startswith("complex") else ""


def _head(kind: str, path: str, source: LayerSource, notes: Notes) -> dict[str, Any] | None:
    if path.lower().endswith(".zip"):
        path = str(open_as(path, RASTERS))
    with rasterio.open(path) as opened:
        inside = {name.rsplit(":", 1)[-1].strip('"'): name for name in opened.subdatasets}
        if not inside and source.layer is None:
            return {**opened.profile, "unit": opened.units[0], "path": path}
    if source.layer in inside:
        with rasterio.open(inside[source.layer]) as opened:
            return {**opened.profile, "unit": opened.units[0], "path": inside[source.layer]}
    if not inside:
        what, remedy = f'"{source.path}" holds one raster: "layer" has no meaning.', "Take it out."
    elif source.layer is None:
        what = f'"{source.path}" holds {len(inside)} rasters: {listed(sorted(inside), 12)}.'
        remedy = 'Say which: layer = "...".'
    else:
        what = f'"{source.path}" has no layer "{source.layer}".'
        remedy = nearest_word(source.layer, inside)
    notes.problem(kind, what, remedy, "layer" if source.layer else "path")
    return None


def _height_unit(
    kind: str, source: LayerSource, own: CRS | None, band_unit: str | None, notes: Notes
) -> tuple[float | None, str]:
    """Metres in one unit of height: the study's word, else the file's; never a guess."""
    file_m = _unit_m(band_unit) if band_unit else None
    if file_m is None and own is not None:
        file_m = vertical_unit_m(own)
    if source.height_unit is None:
        if file_m is None:
            what = f'"{source.path}" doesn\'t say whether its heights are feet or metres.'
            remedy = 'Ask who made it, and give height_unit = "m" or height_unit = "ft".'
            notes.problem(kind, what, remedy, "height_unit")
        return file_m, "the file"
    study_m = _unit_m(source.height_unit)
    if study_m is None:
        what = f'"{source.height_unit}" is not a unit of height.'
        remedy = f"Known here: {', '.join(LENGTHS_M)}."
        notes.problem(kind, what, remedy, "height_unit")
    elif file_m is not None and abs(file_m / study_m - 1) > 1e-5:
        notes.finding(
            kind,
            f"The study says that one unit of height is {study_m:.5g} m, {source.path} says "
            f"{file_m:.5g} m.",
            "The study's word is taken.",
            "Make sure: grades are wrong by the same factor.",
            weight="loud",
        )
    return study_m, "the study"


def _unit_m(unit: str) -> float | None:
    text = unit.strip().lower().replace("_", " ")
    text = {"ftus": "us-ft", "us survey foot": "us-ft", "foot us": "us-ft"}.get(text, text)
    try:
        return metres(f"1 {text}")
    except ValueError:
        return None
