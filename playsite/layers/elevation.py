"""Elevation: bare ground as a north-up raster in metres, near the parcels only."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import rasterio
import rasterio.transform
import rasterio.warp
import rasterio.windows
from affine import Affine
from pyproj import CRS, Transformer
from rasterio.enums import Resampling
from rasterio.errors import RasterioError
from rasterio.vrt import WarpedVRT

from playsite.layers._crs import horizontal, metric, read_crs, vertical_unit_m
from playsite.layers._kind import LayerKind
from playsite.layers.files import locate
from playsite.units import LENGTHS_M, metres

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from playsite.layers._notes import Notes
    from playsite.settings import LayerSource

__all__ = ["AROUND_M", "KIND", "Elevation", "read_elevation"]

Bounds = tuple[float, float, float, float]

AROUND_M = 300.0
"""Elevation is read this far around the parcels: water comes from further than the parcel."""

_LOWEST_M, _HIGHEST_M = -500.0, 9000.0
_COARSE_M = 10.0
_SHIFT_CELLS = 0.05

KIND = LayerKind(
    name="elevation",
    shapes=(),
    plain="elevation of the bare ground, as a raster",
    if_absent="The study has no elevation: grade, low spots and drainage are not known.",
    absent_weight="loud",
)


@dataclass(frozen=True, eq=False)
class Elevation:
    """Height of the ground.

    Parameters
    ----------
    array
        Heights in metres, rows from north to south; NaN where none is known.
    transform
        From column and row to easting and northing, m: north-up, square cells.
    cell_m
        Side of a cell.
    crs
        The study's own.
    noise_m
        Standard deviation of the heights' random error; None: not known.
    noise_length_m
        Length over which that error is alike; None: not known.
    date
        When the ground was surveyed; None: not known.
    path
        The file, as the study names it.
    height_unit_said_by
        Who said what unit the file's heights are in: "the study" or "the file".
    """

    array: NDArray[np.floating[Any]]
    transform: Affine
    cell_m: float
    crs: CRS
    noise_m: float | None
    noise_length_m: float | None
    date: str | None
    path: str
    height_unit_said_by: str


@dataclass(frozen=True)
class _Raster:
    """One raster file, its head read."""

    source: LayerSource
    path: str
    crs: CRS
    height_unit_m: float
    said_by: str
    transform: Affine
    width: int
    height: int


@dataclass(frozen=True)
class _Grid:
    transform: Affine
    width: int
    height: int

    @property
    def cell_m(self) -> float:
        return float(self.transform.a)


def read_elevation(
    sources: tuple[LayerSource, ...], crs: CRS, parcels_bounds: Bounds, notes: Notes
) -> Elevation | None:
    """Read the elevation around the parcels; None where that is a problem, which is told.

    Several files become one raster: the cells of the first, its gaps filled from the next.

    Parameters
    ----------
    sources
        Rasters, as the study names them.
    crs
        The study's system, in metres.
    parcels_bounds
        West, south, east, north of the parcels, m.
    notes
        Takes problems and findings.
    """
    with rasterio.Env(GTIFF_REPORT_COMPD_CS="YES"):
        heads = [look_into_raster(source, notes) for source in sources]
        rasters = [raster for raster in heads if raster is not None]
        if not rasters or len(rasters) < len(sources):
            return None
        west, south, east, north = parcels_bounds
        around = (west - AROUND_M, south - AROUND_M, east + AROUND_M, north + AROUND_M)
        grid = _grid(rasters, crs, around, notes)
        if grid is None:
            return None
        array = _mosaic(rasters, crs, grid, notes)
    if array is None:
        return None
    if grid.cell_m >= _COARSE_M:
        notes.finding(
            "elevation",
            f"Its cells are {grid.cell_m:.3g} m wide.",
            "Low spots are not assessed, and grade is a class only.",
            "Get elevation of 1 m or finer.",
            weight="caution",
        )
    return _as_one(rasters, array, grid, crs)


def _as_one(rasters: list[_Raster], array: Any, grid: _Grid, crs: CRS) -> Elevation:
    sources = [raster.source for raster in rasters]
    dates = [source.date for source in sources if source.date]
    noises = [source.noise_m for source in sources]
    lengths = [source.noise_length_m for source in sources]
    return Elevation(
        array=array,
        transform=grid.transform,
        cell_m=grid.cell_m,
        crs=crs,
        noise_m=None if None in noises else max(n for n in noises if n is not None),
        noise_length_m=None if None in lengths else max(n for n in lengths if n is not None),
        date=", ".join(dict.fromkeys(dates)) or None,
        path=", ".join(source.path for source in sources),
        height_unit_said_by=rasters[0].said_by,
    )


def look_into_raster(source: LayerSource, notes: Notes) -> _Raster | None:
    """Read the head of a raster file; None where that is a problem, which is told."""
    path = locate("elevation", source, notes)
    if path is None:
        return None
    try:
        with rasterio.open(path) as opened:
            own = CRS.from_wkt(opened.crs.to_wkt()) if opened.crs else None
            band_unit = (opened.units or (None,))[0]
            transform, width, height = opened.transform, opened.width, opened.height
            bands = opened.count
    except RasterioError as error:
        what = f'"{source.path}" can\'t be read: {str(error).rstrip(".")}.'
        notes.problem("elevation", what, "Give a raster that GDAL reads, such as GeoTIFF.", "path")
        return None
    if bands != 1:
        what = f'"{source.path}" has {bands} bands.'
        notes.finding("elevation", what, "The first is read as elevation.", weight="caution")
    crs = _raster_crs(source, own, notes)
    unit_m, said_by = _height_unit(source, own, band_unit, notes)
    if crs is None or unit_m is None:
        return None
    return _Raster(source, path, crs, unit_m, said_by, transform, width, height)


def _raster_crs(source: LayerSource, own: CRS | None, notes: Notes) -> CRS | None:
    try:
        asked = horizontal(read_crs(source.crs)) if source.crs else None
    except ValueError as error:
        notes.problem("elevation", f"{error}.", "", "crs")
        return None
    if asked is None and own is None:
        what = f'"{source.path}" doesn\'t say what its coordinates mean.'
        remedy = 'Ask who made it, and give crs = "EPSG:..." here.'
        notes.problem("elevation", what, remedy, "path")
        return None
    if asked is not None:
        done = f"It is taken as {asked.name}, as the study says."
        notes.finding("elevation", f"{source.path}: the study gives its coordinates.", done)
        return asked
    return horizontal(own) if own is not None else None


def _height_unit(
    source: LayerSource, own: CRS | None, band_unit: str | None, notes: Notes
) -> tuple[float | None, str]:
    """Metres in one unit of height: the study's word, else the file's; never a guess."""
    file_m = _unit_m(band_unit) if band_unit else None
    if file_m is None and own is not None:
        file_m = vertical_unit_m(own)
    if source.height_unit is None:
        if file_m is None:
            what = f'"{source.path}" doesn\'t say whether its heights are feet or metres.'
            remedy = 'Ask who made it, and give height_unit = "m" or height_unit = "ft".'
            notes.problem("elevation", what, remedy, "height_unit")
        return file_m, "the file"
    study_m = _unit_m(source.height_unit)
    if study_m is None:
        what = f'"{source.height_unit}" is not a unit of height.'
        remedy = f"Known here: {', '.join(LENGTHS_M)}."
        notes.problem("elevation", what, remedy, "height_unit")
    elif file_m is not None and abs(file_m / study_m - 1) > 1e-5:
        notes.finding(
            "elevation",
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


def _grid(rasters: list[_Raster], crs: CRS, around: Bounds, notes: Notes) -> _Grid | None:
    """Cells of the first raster, as far as the rasters reach around the parcels."""
    first, covered = _own_grid(rasters[0], crs, notes), []
    for raster in rasters:
        own = _own_grid(raster, crs, None)
        covered.append(rasterio.transform.array_bounds(own.height, own.width, own.transform))
    west = max(around[0], min(c[0] for c in covered))
    south = max(around[1], min(c[1] for c in covered))
    east = min(around[2], max(c[2] for c in covered))
    north = min(around[3], max(c[3] for c in covered))
    if west >= east or south >= north:
        notes.problem(
            "elevation",
            "it doesn't reach the parcels.",
            "Look at its coordinate reference system, or give another file.",
            "path",
        )
        return None
    cell_m, transform = first.cell_m, first.transform
    left = np.floor((west - transform.c) / cell_m + 1e-6)
    right = np.ceil((east - transform.c) / cell_m - 1e-6)
    top = np.floor((transform.f - north) / cell_m + 1e-6)
    bottom = np.ceil((transform.f - south) / cell_m - 1e-6)
    x, y = _place(transform, left, top)
    corner = Affine(cell_m, 0, x, 0, -cell_m, y)
    return _Grid(corner, int(right - left), int(bottom - top))


def _place(transform: Affine, column: Any, row: Any) -> tuple[Any, Any]:
    """Easting and northing of a corner of a cell: affine 2 and 3 spell this differently."""
    return (
        transform.a * column + transform.b * row + transform.c,
        transform.d * column + transform.e * row + transform.f,
    )


def _as_it_lies(raster: _Raster, crs: CRS) -> Affine | None:
    """Transform of a raster that needs no warping: only its unit of length may differ.

    None where it must be warped: another projection, turned, or cells that are not square.
    """
    step = raster.crs.axis_info[0].unit_conversion_factor if raster.crs.is_projected else 1.0
    scaled = Affine(*(step * number for number in raster.transform[:6]))
    turned = abs(scaled.b) + abs(scaled.d) > 1e-9
    if turned or scaled.a <= 0 or scaled.e >= 0 or abs(scaled.a / -scaled.e - 1) > 1e-5:
        return None
    if metric(raster.crs).equals(crs, ignore_axis_order=True):
        return scaled
    # Systems that differ in name only, such as two realizations of one datum, move nothing.
    columns = np.array([0, raster.width, 0, raster.width, raster.width / 2])
    rows = np.array([0, 0, raster.height, raster.height, raster.height / 2])
    x, y = _place(raster.transform, columns, rows)
    there_x, there_y = Transformer.from_crs(raster.crs, crs, always_xy=True).transform(x, y)
    here_x, here_y = _place(scaled, columns, rows)
    shift = np.hypot(there_x - here_x, there_y - here_y).max()
    return scaled if shift < _SHIFT_CELLS * scaled.a else None


def _own_grid(raster: _Raster, crs: CRS, notes: Notes | None) -> _Grid:
    """Cells of a raster in the study's system: its own, or those that it is warped to."""
    lies = _as_it_lies(raster, crs)
    if lies is not None:
        return _Grid(lies, raster.width, raster.height)
    transform, width, height = rasterio.warp.calculate_default_transform(
        raster.crs.to_wkt(),
        crs.to_wkt(),
        raster.width,
        raster.height,
        *rasterio.transform.array_bounds(raster.height, raster.width, raster.transform),
    )
    if notes is not None:
        notes.finding(
            "elevation",
            f"{raster.source.path} lies in {raster.crs.name}"
            f"{', turned' if raster.transform.b or raster.transform.d else ''}.",
            f"It is warped to {crs.name}, cells of {transform.a:.3g} m (bilinear).",
        )
    return _Grid(transform, width, height)


def _mosaic(rasters: list[_Raster], crs: CRS, grid: _Grid, notes: Notes) -> Any:
    whole: Any = None
    absurd = 0
    for raster in rasters:
        try:
            part = _on_grid(raster, crs, grid)
        except (RasterioError, MemoryError) as error:
            what = f'"{raster.source.path}" can\'t be read: {error}.'
            notes.problem("elevation", what, "", "path")
            return None
        with np.errstate(invalid="ignore"):
            wrong = np.isinf(part) | (part < _LOWEST_M) | (part > _HIGHEST_M)
        absurd += int(wrong.sum())
        part[wrong] = np.nan
        whole = part if whole is None else np.where(np.isnan(whole), part, whole)
    if absurd:
        notes.finding(
            "elevation",
            f"{absurd} cells are not finite, under {_LOWEST_M:g} m or over {_HIGHEST_M:g} m.",
            "They are taken as unknown.",
            count=absurd,
            weight="caution",
        )
    if np.isnan(whole).all():
        what = "it holds no height near the parcels."
        notes.problem("elevation", what, "Give another file, or leave it out.", "path")
        return None
    return whole


def _on_grid(raster: _Raster, crs: CRS, grid: _Grid) -> Any:
    """Heights of one raster on the cells of the grid, in metres."""
    with rasterio.open(raster.path) as opened:
        scale, offset = opened.scales[0], opened.offsets[0]
        dtype = np.float64 if opened.dtypes[0] == "float64" else np.float32
        corner = _corner_in(_as_it_lies(raster, crs), grid)
        if corner is None:
            read = _warped(opened, raster, crs, grid, dtype)
        else:
            read = _copied(opened, corner, grid, dtype)
    if (scale, offset) != (1.0, 0.0):
        read = read * dtype(scale) + dtype(offset)
    return read * dtype(raster.height_unit_m) if raster.height_unit_m != 1.0 else read


def _corner_in(lies: Affine | None, grid: _Grid) -> tuple[int, int] | None:
    """Column and row of a raster at the grid's corner; None where their cells don't agree."""
    if lies is None or abs(lies.a / grid.cell_m - 1) > 1e-6:
        return None
    column = (grid.transform.c - lies.c) / lies.a
    row = (lies.f - grid.transform.f) / lies.a
    if max(abs(column - round(column)), abs(row - round(row))) > _SHIFT_CELLS:
        return None
    return round(column), round(row)


def _copied(opened: Any, corner: tuple[int, int], grid: _Grid, dtype: Any) -> Any:
    """Cells as they are; NaN where the raster has none."""
    whole = np.full((grid.height, grid.width), np.nan, dtype)
    left, top = max(corner[0], 0), max(corner[1], 0)
    right = min(corner[0] + grid.width, opened.width)
    bottom = min(corner[1] + grid.height, opened.height)
    if left < right and top < bottom:
        part = opened.read(1, window=((top, bottom), (left, right)), masked=True, out_dtype=dtype)
        rows = slice(top - corner[1], bottom - corner[1])
        columns = slice(left - corner[0], right - corner[0])
        whole[rows, columns] = np.ma.filled(part, np.nan)
    return whole


def _warped(opened: Any, raster: _Raster, crs: CRS, grid: _Grid, dtype: Any) -> Any:
    with WarpedVRT(
        opened,
        src_crs=raster.crs.to_wkt(),
        crs=crs.to_wkt(),
        transform=grid.transform,
        width=grid.width,
        height=grid.height,
        resampling=Resampling.bilinear,
        src_nodata=opened.nodata,
        nodata=np.nan if opened.nodata is None else opened.nodata,
        dtype=np.dtype(dtype).name,
    ) as vrt:
        return np.ma.filled(vrt.read(1, masked=True, out_dtype=dtype), np.nan)
