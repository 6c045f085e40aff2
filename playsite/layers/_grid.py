"""Cells around the parcels: a raster's own where it can be, else those that it is warped to."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import rasterio
from affine import Affine
from pyproj import CRS, Transformer
from rasterio.enums import Resampling
from rasterio.vrt import WarpedVRT

from playsite.layers._crs import metric

if TYPE_CHECKING:
    from playsite.layers._notes import Notes
    from playsite.layers._raster import Raster

__all__ = ["Grid", "heights_on", "lay_grid"]

Bounds = tuple[float, float, float, float]

_SHIFT_CELLS = 0.05
_MOST_CELLS = 5e8


@dataclass(frozen=True)
class Grid:
    """Square cells, north-up, in the study's metres."""

    transform: Affine
    width: int
    height: int

    @property
    def cell_m(self) -> float:
        """Side of a cell."""
        return float(self.transform.a)


def lay_grid(rasters: list[Raster], crs: CRS, around: Bounds, notes: Notes) -> Grid | None:
    """Cells of the first raster that reaches there, as far as any reaches around the parcels."""
    reaching = [(raster, reach) for raster in rasters if (reach := _reach(raster, crs, around))]
    if not reaching:
        what, remedy = "it doesn't reach the parcels.", "Look at its coordinate reference system."
        notes.problem("elevation", what, remedy, "path")
        return None
    for raster, _ in reaching:
        if _as_it_lies(raster, crs, around) is None:
            _tell_warp(raster, crs, _cells(raster, crs, around)[2], notes)
    reaches = np.array([reach for _, reach in reaching])
    (west, south), (east, north) = reaches[:, :2].min(axis=0), reaches[:, 2:].max(axis=0)
    x, y, cell_m = _cells(reaching[0][0], crs, around)
    left, right = (
        np.floor((west - x) / cell_m + _SHIFT_CELLS),
        np.ceil((east - x) / cell_m - _SHIFT_CELLS),
    )
    top, bottom = (
        np.floor((y - north) / cell_m + _SHIFT_CELLS),
        np.ceil((y - south) / cell_m - _SHIFT_CELLS),
    )
    if (right - left) * (bottom - top) > _MOST_CELLS:
        what = f"at {cell_m:.3g} m it has {(right - left) * (bottom - top):.2g} cells around the "
        what += f"parcels, which spread over {(east - west) / 1000:,.0f} km."
        remedy = "Split the study, or look for a parcel that lies far off."
        notes.problem("elevation", what, remedy, "path")
        return None
    corner = Affine(cell_m, 0, x + left * cell_m, 0, -cell_m, y - top * cell_m)
    return Grid(corner, int(right - left), int(bottom - top))


def _reach(raster: Raster, crs: CRS, around: Bounds) -> Bounds | None:
    """Part of the box around the parcels that a raster covers; None where it covers none."""
    there = Transformer.from_crs(crs, raster.crs, always_xy=True)
    west, south, east, north = there.transform_bounds(*around, densify_pts=21)
    if not np.isfinite([west, south, east, north]).all():
        return None
    back = ~raster.transform
    columns, rows = _place(back, np.array([west, west, east, east]), np.array([south, north] * 2))
    left, right = max(columns.min(), 0), min(columns.max(), raster.width)
    top, bottom = max(rows.min(), 0), min(rows.max(), raster.height)
    if left >= right or top >= bottom:
        return None
    x, y = _place(raster.transform, *_edge(left, top, right, bottom))
    x, y = there.transform(x, y, direction="INVERSE")
    reach = (
        max(around[0], float(np.min(x))),
        max(around[1], float(np.min(y))),
        min(around[2], float(np.max(x))),
        min(around[3], float(np.max(y))),
    )
    return reach if reach[0] < reach[2] and reach[1] < reach[3] else None


def _edge(left: float, top: float, right: float, bottom: float) -> tuple[Any, Any]:
    """Points along the four sides of a box of cells."""
    along = np.linspace(0, 1, 22)
    columns, rows = left + along * (right - left), top + along * (bottom - top)
    return (
        np.concatenate([columns, columns, np.full(22, left), np.full(22, right)]),
        np.concatenate([np.full(22, top), np.full(22, bottom), rows, rows]),
    )


def _cells(raster: Raster, crs: CRS, around: Bounds) -> tuple[float, float, float]:
    """Easting and northing of a corner of cells, and their side, m.

    A raster's own where it needs no warping, else square cells of the same area as its own
    have amid the parcels, counted from 0.
    """
    lies = _as_it_lies(raster, crs, around)
    if lies is not None:
        return lies.c, lies.f, lies.a
    there = Transformer.from_crs(crs, raster.crs, always_xy=True)
    x, y = there.transform((around[0] + around[2]) / 2, (around[1] + around[3]) / 2)
    t = raster.transform
    xs, ys = np.array([x, x + t.a, x + t.b]), np.array([y, y + t.d, y + t.e])
    east, north = there.transform(xs, ys, direction="INVERSE")
    across = (east[1] - east[0]) * (north[2] - north[0])
    along = (east[2] - east[0]) * (north[1] - north[0])
    return 0.0, 0.0, float(np.sqrt(abs(across - along)))


def _as_it_lies(raster: Raster, crs: CRS, around: Bounds) -> Affine | None:
    """Transform of a raster that needs no warping: only its unit of length may differ.

    None where it must be warped: another projection, turned, or cells that are not square.
    """
    if not raster.crs.is_projected:
        return None
    step = raster.crs.axis_info[0].unit_conversion_factor
    scaled = Affine(*(step * number for number in raster.transform[:6]))
    turned = abs(scaled.b) + abs(scaled.d) > 1e-9
    if turned or scaled.a <= 0 or scaled.e >= 0 or abs(scaled.a / -scaled.e - 1) > 1e-5:
        return None
    if metric(raster.crs).equals(crs, ignore_axis_order=True):
        return scaled
    # Systems that differ in name only, such as two realizations of one datum, move nothing.
    here_x, here_y = np.array(around)[[0, 0, 2, 2]], np.array(around)[[1, 3, 1, 3]]
    x, y = Transformer.from_crs(crs, raster.crs, always_xy=True).transform(here_x, here_y)
    shift = np.hypot(step * x - here_x, step * y - here_y).max()
    return scaled if shift < _SHIFT_CELLS * scaled.a else None


def _tell_warp(raster: Raster, crs: CRS, cell_m: float, notes: Notes) -> None:
    turned = ", turned" if raster.transform.b or raster.transform.d else ""
    notes.finding(
        "elevation",
        f"{Path(raster.path).name} lies in {raster.crs.name}{turned}.",
        f"It is warped to {crs.name}, cells of {cell_m:.3g} m (bilinear).",
    )


def _place(transform: Affine, column: Any, row: Any) -> tuple[Any, Any]:
    """Easting and northing of a corner of a cell: affine 2 and 3 spell this differently."""
    return (
        transform.a * column + transform.b * row + transform.c,
        transform.d * column + transform.e * row + transform.f,
    )


def heights_on(raster: Raster, crs: CRS, grid: Grid, around: Bounds) -> Any:
    """Heights of one raster on the cells of the grid, in metres."""
    with rasterio.open(raster.path) as opened:
        scale, offset = opened.scales[0], opened.offsets[0]
        dtype = np.float64 if opened.dtypes[0] == "float64" else np.float32
        corner = _corner_in(_as_it_lies(raster, crs, around), grid)
        if corner is None:
            read = _warped(opened, raster, crs, grid, dtype)
        else:
            read = _copied(opened, corner, grid, dtype)
    if (scale, offset) != (1.0, 0.0):
        read = read * dtype(scale) + dtype(offset)
    return read * dtype(raster.height_unit_m) if raster.height_unit_m != 1.0 else read


def _corner_in(lies: Affine | None, grid: Grid) -> tuple[int, int] | None:
    """Column and row of a raster at the grid's corner; None where their cells don't agree."""
    if lies is None or abs(lies.a / grid.cell_m - 1) > 1e-6:
        return None
    column = (grid.transform.c - lies.c) / lies.a
    row = (lies.f - grid.transform.f) / lies.a
    if max(abs(column - round(column)), abs(row - round(row))) > _SHIFT_CELLS:
        return None
    return round(column), round(row)


def _copied(opened: Any, corner: tuple[int, int], grid: Grid, dtype: Any) -> Any:
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


def _warped(opened: Any, raster: Raster, crs: CRS, grid: Grid, dtype: Any) -> Any:
    with WarpedVRT(
        opened,
        src_crs=raster.crs.to_wkt(),
        crs=crs.to_wkt(),
        transform=grid.transform,
        width=grid.width,
        height=grid.height,
        resampling=Resampling.bilinear,
        src_nodata=opened.nodata if opened.nodata is not None else _no_height(opened),
        nodata=np.nan,
        dtype=np.dtype(dtype).name,
    ) as vrt:
        return np.ma.filled(vrt.read(1, masked=True, out_dtype=dtype), np.nan)


def _no_height(opened: Any) -> float | None:
    """NaN is no height, even in a file that doesn't say so."""
    return np.nan if opened.dtypes[0].startswith("float") else None
