"""Heights of several rasters on one grid of cells."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from playsite.layers._grid import heights_on, part_of

if TYPE_CHECKING:
    from pyproj import CRS

    from playsite.layers._grid import Bounds, Grid
    from playsite.layers._notes import Notes
    from playsite.layers._raster import Raster

__all__ = ["mosaic"]

_LOWEST_M, _HIGHEST_M = -500.0, 9000.0


def mosaic(reaching: list[tuple[Raster, Bounds]], crs: CRS, grid: Grid, notes: Notes) -> Any:
    """Give the heights of the first raster, its gaps filled from the next.

    Parameters
    ----------
    reaching
        Rasters and the part of the ground that each covers, m.
    crs, grid
        The study's system, and its cells.
    notes
        Takes what was noticed, and why a file can't be read.

    Returns
    -------
    Array or None
        Metres, NaN where none is known; None where a file can't be read.
    """
    doubles = any(raster.doubles for raster, _ in reaching)
    whole = np.full((grid.height, grid.width), np.nan, np.float64 if doubles else np.float32)
    absurd = 0
    for raster, reach in reaching:
        part, place = part_of(grid, reach)
        heights: Any = None
        with notes.no_traceback(raster.kind, Path(raster.path).name, "path"):
            heights = heights_on(raster, crs, part)
        if heights is None:
            return None
        with np.errstate(invalid="ignore"):
            wrong = np.isinf(heights) | (heights < _LOWEST_M) | (heights > _HIGHEST_M)
        absurd += int(wrong.sum())
        heights[wrong] = np.nan
        here = whole[place]
        np.copyto(here, heights, where=np.isnan(here))
    _tell(reaching[0][0].kind, whole, absurd, notes)
    return whole


def _tell(kind: str, whole: Any, absurd: int, notes: Notes) -> None:
    if absurd:
        notes.finding(
            kind,
            f"Cells that are not finite, under {_LOWEST_M:g} m or over {_HIGHEST_M:g} m: {absurd}.",
            "They are taken as unknown.",
            count=absurd,
            weight="caution",
        )
    unknown_pct = 100 * float(np.isnan(whole).mean())
    if 0 < unknown_pct < 100:
        notes.finding(kind, f"{unknown_pct:.2g} % of the cells around the parcels have no height.")
