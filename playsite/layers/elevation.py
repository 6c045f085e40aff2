"""Elevation: bare ground as a north-up raster in metres, near the parcels only."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import rasterio
from affine import Affine

from playsite.layers._grid import heights_on, lay_grid
from playsite.layers._kind import LayerKind
from playsite.layers._notes import Notes
from playsite.layers._raster import look_into_raster
from playsite.problems import Problems

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray
    from pyproj import CRS

    from playsite.layers._grid import Grid
    from playsite.layers._raster import Raster
    from playsite.settings import LayerSource

__all__ = ["AROUND_M", "KIND", "MOST_CELLS", "Elevation", "read_elevation"]

Bounds = tuple[float, float, float, float]

AROUND_M = 300.0
"""Elevation is read this far around the parcels: water comes from further than the parcel."""

MOST_CELLS = 4e7
"""So many cells are held in memory at once: 160 MB."""

_LOWEST_M, _HIGHEST_M = -500.0, 9000.0
_COARSE_M = 10.0

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
    read
        Reads a window; None where all is in memory.
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
    read: Callable[[Bounds], Elevation | None] | None = None

    @property
    def is_whole(self) -> bool:
        """Whether all of it is in memory; else ``array`` is empty, and windows are read."""
        return self.read is None

    def window(self, bounds: Bounds) -> Elevation | None:
        """Give the elevation around some bounds, as far as water may come from.

        Parameters
        ----------
        bounds
            West, south, east, north, m; 300 m around them are given too.

        Returns
        -------
        Elevation or None
            In memory; None where there is none.
        """
        if self.read is not None:
            return self.read(bounds)
        west, south, east, north = _around(bounds)
        at, (rows, columns) = self.transform, self.array.shape
        first, last = (west - at.c) / at.a, (east - at.c) / at.a
        top, bottom = (north - at.f) / at.e, (south - at.f) / at.e
        left, right = max(0, math.floor(first)), min(columns, math.ceil(last))
        upper, lower = max(0, math.floor(top)), min(rows, math.ceil(bottom))
        if left >= right or upper >= lower:
            return None
        moved = Affine(at.a, 0.0, at.c + left * at.a, 0.0, at.e, at.f + upper * at.e)
        return replace(self, array=self.array[upper:lower, left:right], transform=moved)


def _around(bounds: Bounds) -> Bounds:
    west, south, east, north = bounds
    return west - AROUND_M, south - AROUND_M, east + AROUND_M, north + AROUND_M


def read_elevation(
    sources: tuple[LayerSource, ...],
    crs: CRS,
    parcels_bounds: Bounds,
    notes: Notes,
    *,
    most_cells: float = MOST_CELLS,
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
    most_cells
        Of more cells than this, only windows are read, when they are asked for.
    """
    with rasterio.Env(GTIFF_REPORT_COMPD_CS="YES"):
        heads = [look_into_raster(source, notes) for source in sources]
        rasters = [raster for raster in heads if raster is not None]
        if not rasters or len(rasters) < len(sources):
            return None
        around = _around(parcels_bounds)
        grid = None
        with notes.no_traceback("elevation", rasters[0].source.path, "path"):
            grid = lay_grid(rasters, crs, around, notes)
        if grid is None:
            return None
        large = grid.width * grid.height > most_cells
        array = np.empty((0, 0)) if large else _mosaic(rasters, crs, grid, around, notes)
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
    one = _as_one(rasters, array, grid, crs)
    if not large:
        return one
    millions = grid.width * grid.height / 1e6
    notes.finding("elevation", f"It has {millions:,.0f} million cells here: it is read in windows.")
    settings, placeholder = notes.settings, Problems()

    def read(bounds: Bounds) -> Elevation | None:
        return read_elevation(
            sources, crs, bounds, Notes(settings, placeholder), most_cells=10 * most_cells
        )

    return replace(one, read=read)


def _as_one(rasters: list[Raster], array: Any, grid: Grid, crs: CRS) -> Elevation:
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


def _mosaic(rasters: list[Raster], crs: CRS, grid: Grid, around: Bounds, notes: Notes) -> Any:
    whole: Any = None
    absurd = 0
    for raster in rasters:
        part: Any = None
        with notes.no_traceback("elevation", Path(raster.path).name, "path"):
            part = heights_on(raster, crs, grid, around)
        if part is None:
            return None
        with np.errstate(invalid="ignore"):
            wrong = np.isinf(part) | (part < _LOWEST_M) | (part > _HIGHEST_M)
        absurd += int(wrong.sum())
        part[wrong] = np.nan
        whole = part if whole is None else np.where(np.isnan(whole), part, whole)
    if absurd:
        notes.finding(
            "elevation",
            f"Cells that are not finite, under {_LOWEST_M:g} m or over {_HIGHEST_M:g} m: {absurd}.",
            "They are taken as unknown.",
            count=absurd,
            weight="caution",
        )
    unknown_pct = 100 * float(np.isnan(whole).mean())
    if 0 < unknown_pct < 100:
        notes.finding(
            "elevation", f"{unknown_pct:.2g} % of the cells around the parcels have no height."
        )
    if unknown_pct == 100:
        what = "it holds no height near the parcels."
        notes.problem("elevation", what, "Give another file, or leave it out.", "path")
        return None
    return whole
