"""Cells around the parcels: a raster's own where it can be, else those that it is warped to."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import rasterio
import shapely
from affine import Affine
from pyproj import CRS, Transformer
from rasterio.enums import Resampling
from rasterio.vrt import WarpedVRT

from playsite.layers._crs import metric
from playsite.layers._notes import listed

if TYPE_CHECKING:
    from playsite.layers._notes import Notes
    from playsite.layers._raster import Raster

__all__ = ["Grid", "footprint", "heights_on", "lay_grid", "part_of", "reaching_of", "tell_cells"]

Bounds = tuple[float, float, float, float]

_SHIFT_CELLS = 0.05
_ALIKE = 1.01


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

    @property
    def bounds(self) -> Bounds:
        """West, south, east, north, m."""
        west, north = self.transform.c, self.transform.f
        return west, north - self.height * self.cell_m, west + self.width * self.cell_m, north


def reaching_of(rasters: list[Raster], crs: CRS, around: Bounds) -> list[tuple[Raster, Bounds]]:
    """Rasters that lie around the parcels, and the part of the box there that each covers, m."""
    found = ((raster, _reach(raster, crs, around)) for raster in rasters)
    return [(raster, reach) for raster, reach in found if reach is not None]


def lay_grid(reaching: list[tuple[Raster, Bounds]], crs: CRS, around: Bounds) -> Grid:
    """Cells of the first raster that reaches there, as far as any reaches around the parcels."""
    reaches = np.array([reach for _, reach in reaching])
    (west, south), (east, north) = reaches[:, :2].min(axis=0), reaches[:, 2:].max(axis=0)
    x, y, cell_m = _cells(reaching[0][0], crs, around)
    return _cells_over((west, south, east, north), Affine(cell_m, 0, x, 0, -cell_m, y))


def part_of(grid: Grid, reach: Bounds) -> tuple[Grid, tuple[slice, slice]]:
    """Cells of a grid that a raster covers, one more on each side; and which they are."""
    west, south, east, north = reach
    cell_m = grid.cell_m
    whole = _cells_over(
        (west - cell_m, south - cell_m, east + cell_m, north + cell_m), grid.transform
    )
    left = round((whole.transform.c - grid.transform.c) / cell_m)
    top = round((grid.transform.f - whole.transform.f) / cell_m)
    rows = slice(max(top, 0), min(top + whole.height, grid.height))
    columns = slice(max(left, 0), min(left + whole.width, grid.width))
    corner = Affine(
        cell_m,
        0,
        grid.transform.c + columns.start * cell_m,
        0,
        -cell_m,
        grid.transform.f - rows.start * cell_m,
    )
    return Grid(corner, columns.stop - columns.start, rows.stop - rows.start), (rows, columns)


def _cells_over(bounds: Bounds, of: Affine) -> Grid:
    """Give the cells that cover a box, counted from the corner of others."""
    west, south, east, north = bounds
    x, y, cell_m = of.c, of.f, of.a
    left, right = (
        int(np.floor((west - x) / cell_m + _SHIFT_CELLS)),
        int(np.ceil((east - x) / cell_m - _SHIFT_CELLS)),
    )
    top, bottom = (
        int(np.floor((y - north) / cell_m + _SHIFT_CELLS)),
        int(np.ceil((y - south) / cell_m - _SHIFT_CELLS)),
    )
    corner = Affine(cell_m, 0, x + left * cell_m, 0, -cell_m, y - top * cell_m)
    return Grid(corner, right - left, bottom - top)


def tell_cells(
    reaching: list[tuple[Raster, Bounds]], crs: CRS, around: Bounds, notes: Notes
) -> None:
    """Say which rasters are warped, and that their cells are not all of one size."""
    sides_m = [_cells(raster, crs, around)[2] for raster, _ in reaching]
    warped: dict[str, list[str]] = {}
    for raster, _ in reaching:
        if _as_it_lies(raster, crs, around) is None:
            turned = ", turned" if raster.transform.b or raster.transform.d else ""
            warped.setdefault(f"{raster.crs.name}{turned}", []).append(Path(raster.path).name)
    for lies, names in warped.items():
        notes.finding(
            reaching[0][0].kind,
            f"{listed(names, 2)} lies in {lies}.",
            f"It is warped to {crs.name}, cells of {sides_m[0]:.3g} m (bilinear).",
        )
    if max(sides_m) > min(sides_m) * _ALIKE:
        sizes = Counter(f"{side_m:.3g} m" for side_m in sides_m)
        notes.finding(
            reaching[0][0].kind,
            "Its files have cells of "
            + ", ".join(f"{size} ({count})" for size, count in sizes.items())
            + ".",
            f"All are brought to the first file's, {sides_m[0]:.3g} m (bilinear).",
            "Where coarser ones are made finer, low spots that small are not in the data.",
            weight="caution",
        )


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


def footprint(raster: Raster, crs: CRS) -> Any:
    """Ground that a raster covers, cells without a height and all, as a polygon in metres."""
    x, y = _place(raster.transform, *_edge(0, 0, raster.width, raster.height))
    x, y = Transformer.from_crs(raster.crs, crs, always_xy=True).transform(x, y)
    there = np.isfinite(x) & np.isfinite(y)
    return shapely.convex_hull(shapely.multipoints(np.column_stack([x, y])[there]))


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


def _place(transform: Affine, column: Any, row: Any) -> tuple[Any, Any]:
    """Easting and northing of a corner of a cell: affine 2 and 3 spell this differently."""
    return (
        transform.a * column + transform.b * row + transform.c,
        transform.d * column + transform.e * row + transform.f,
    )


def heights_on(raster: Raster, crs: CRS, grid: Grid) -> Any:
    """Heights of one raster on the cells of the grid, in metres; NaN where it has none."""
    with rasterio.open(raster.path) as opened:
        scale, offset = opened.scales[0], opened.offsets[0]
        dtype = np.float64 if raster.doubles else np.float32
        corner = _corner_in(_as_it_lies(raster, crs, grid.bounds), grid)
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
