"""Elevation: bare ground as a north-up raster in metres, near the parcels only."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from affine import Affine

from playsite.layers._grid import footprint, lay_grid, reaching_of, tell_cells
from playsite.layers._kind import LayerKind
from playsite.layers._many import each_file, said_once
from playsite.layers._mosaic import mosaic
from playsite.layers._notes import Notes
from playsite.layers._raster import look_into_raster
from playsite.problems import Problems

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray
    from pyproj import CRS

    from playsite.layers._grid import Grid
    from playsite.layers._raster import Raster
    from playsite.problems import Finding
    from playsite.settings import LayerSource

__all__ = [
    "AROUND_M",
    "KIND",
    "MOST_CELLS",
    "WIDEST_CELLS",
    "Elevation",
    "look_into_rasters",
    "read_elevation",
    "tell_wide",
]

Bounds = tuple[float, float, float, float]

WIDEST_CELLS = 1e8
"""No window has more: one parcel that needs it has parts far apart, or a slip in its coordinates."""

AROUND_M = 300.0
"""Elevation is read this far around the parcels: water comes from further than the parcel."""

MOST_CELLS = 4e7
"""So many cells are held in memory at once: 160 MB."""

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
    findings
        What was noticed while a window was read; of the whole it stands with the gate's own.
    extent
        Ground that its files cover, a polygon; None where all is in memory.
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
    findings: tuple[Finding, ...] = ()
    extent: Any = None

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

        Raises
        ------
        InputError
            If a file can't be read there, or the bounds are too wide to be held at once.
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
    kind: str = "elevation",
    *,
    most_cells: float = MOST_CELLS,
) -> Elevation | None:
    """Read the elevation around the parcels; None where that is a problem, which is told.

    Several files become one raster: the cells of the first, its gaps filled from the next.

    Parameters
    ----------
    sources
        Rasters, as the study names them; one path may name many.
    crs
        The study's system, in metres.
    parcels_bounds
        West, south, east, north of the parcels, m.
    notes
        Takes problems and findings.
    kind
        ``"elevation"``, or ``"surface"`` for tops of roofs and crowns.
    most_cells
        Of more cells than this, only windows are read, when they are asked for.
    """
    rasters = look_into_rasters(sources, notes, kind)
    if not rasters:
        return None
    around = _around(parcels_bounds)
    grid = None
    with notes.no_traceback(kind, rasters[0].source.path, "path"):
        reaching = reaching_of(rasters, crs, around)
        if not reaching:
            what, remedy = (
                "it doesn't reach the parcels.",
                "Look at its coordinate reference system.",
            )
            notes.problem(kind, what, remedy, "path")
            return None
        tell_cells(reaching, crs, around, notes)
        grid = lay_grid(reaching, crs, around)
    if grid is None:
        return None
    if grid.cell_m >= _COARSE_M and kind == "elevation":
        _tell_coarse(grid.cell_m, notes)
    one = _as_one(sources, rasters, grid, crs)
    if grid.width * grid.height > most_cells:
        return _in_windows(one, rasters, grid, notes)
    array = mosaic(reaching, crs, grid, notes)
    if array is not None and np.isnan(array).all():
        what = "it holds no height near the parcels."
        notes.problem(kind, what, "Give another file, or leave it out.", "path")
    return None if array is None else replace(one, array=array)


def look_into_rasters(
    sources: tuple[LayerSource, ...], notes: Notes, kind: str = "elevation"
) -> list[Raster]:
    """Heads of all files; none where one of them is a problem."""
    heads: list[Raster | None] = []
    look = partial(look_into_raster, kind)
    for source in sources:
        files = each_file(source, notes.settings.folder)
        heads += said_once([(file.path, file) for file in files], notes, look)
    return [] if None in heads else [head for head in heads if head is not None]


def _in_windows(one: Elevation, rasters: list[Raster], grid: Grid, notes: Notes) -> Elevation:
    """Give an elevation that is read where it is asked for: around some parcels at a time."""
    settings = notes.settings
    notes.finding(
        rasters[0].kind,
        f"It has {grid.width * grid.height / 1e6:,.0f} million cells here.",
        "It is read in windows around groups of parcels, never as a whole.",
    )

    def read(bounds: Bounds) -> Elevation | None:
        around, its = _around(bounds), Notes(settings, Problems())
        reaching = reaching_of(rasters, one.crs, around)
        if not reaching:
            return None
        part = lay_grid(reaching, one.crs, around)
        if part.width * part.height > WIDEST_CELLS:
            tell_wide("parcels that are measured together", part.width * part.height, its)
        array = mosaic(reaching, one.crs, part, its) if not its.problems.items else None
        its.problems.stop_if_any()
        at: dict[str, Any] = {"array": array, "transform": part.transform, "cell_m": part.cell_m}
        return replace(one, read=None, extent=None, findings=tuple(its.findings), **at)

    extent = shapely.union_all([footprint(raster, one.crs) for raster in rasters])
    return replace(one, read=read, extent=extent)


def tell_wide(whose: str, cells: float, notes: Notes) -> None:
    """Say that there are parcels around which the ground can't be held at once."""
    notes.problem(
        "elevation",
        f"around {whose} it has {cells / 1e6:,.0f} million cells, more than can be read at once.",
        "Look for a parcel of parts that lie far apart, or for a slip in its coordinates.",
        "path",
    )


def _tell_coarse(cell_m: float, notes: Notes) -> None:
    notes.finding(
        "elevation",
        f"Its cells are {cell_m:.3g} m wide.",
        "Low spots are not assessed, and grade is a class only.",
        "Get elevation of 1 m or finer.",
        weight="caution",
    )


def _as_one(
    sources: tuple[LayerSource, ...], rasters: list[Raster], grid: Grid, crs: CRS
) -> Elevation:
    """Give all but the heights."""
    dates = [source.date for source in sources if source.date]
    noises = [source.noise_m for source in sources]
    lengths = [source.noise_length_m for source in sources]
    return Elevation(
        array=np.empty((0, 0)),
        transform=grid.transform,
        cell_m=grid.cell_m,
        crs=crs,
        noise_m=None if None in noises else max(n for n in noises if n is not None),
        noise_length_m=None if None in lengths else max(n for n in lengths if n is not None),
        date=", ".join(dict.fromkeys(dates)) or None,
        path=", ".join(source.path for source in sources),
        height_unit_said_by=rasters[0].said_by,
    )
