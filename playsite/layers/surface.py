"""Surface: tops of roofs and crowns as a raster in metres, held against the ground below."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from playsite.layers._kind import LayerKind
from playsite.layers.elevation import read_elevation

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from pyproj import CRS

    from playsite.layers._notes import Notes
    from playsite.layers.elevation import Elevation
    from playsite.settings import LayerSource

__all__ = ["KIND", "read_surface"]

KIND = LayerKind(
    name="surface",
    shapes=(),
    plain="surface model: the tops of roofs and crowns, as a raster",
)
_LOOKED_AT = 40
_BELOW_M, _BELOW_PCT = 0.5, 5.0
_OPEN_PCT = 25.0  # of the ground around parcels at least so much is under the open sky
_OFF_M = 1.0


def read_surface(
    sources: tuple[LayerSource, ...],
    crs: CRS,
    parcels: Any,
    elevation: Elevation | None,
    notes: Notes,
) -> Elevation | None:
    """Read the surface around the parcels as elevation is read; None where that is a problem.

    Where open ground lies off the elevation by more than 1 m, or more than 5 % of the cells lie
    0.5 m under it, that is told: another unit, datum or year.
    """
    surface = read_elevation(sources, crs, tuple(parcels.total_bounds), notes, KIND.name)
    if surface is None:
        return None
    if elevation is None:
        notes.finding(
            KIND.name,
            "The study has no elevation that it could be held against.",
            "It is not used.",
            "Add [layers.elevation].",
            weight="caution",
        )
        return None
    above_m, known = _above_ground(parcels, surface, elevation)
    if known < 1:
        notes.finding(
            KIND.name,
            f"It covers {100 * known:.0f} % of the ground around the parcels that were looked at.",
            "Where it is missing, trees and buildings of the other layers are taken.",
            weight="caution",
        )
    if len(above_m):
        _tell_off(above_m, notes)
    return surface


def _above_ground(
    parcels: Any, surface: Elevation, elevation: Elevation
) -> tuple[NDArray[np.float64], float]:
    """Height over ground in cells round some parcels, and the share of these that has one."""
    bounds = parcels.bounds.to_numpy()
    found, known, every = [np.empty(0)], 0, 0
    for each in bounds[:: max(1, len(bounds) // _LOOKED_AT)]:
        ground, top = (layer.window(tuple(each)) for layer in (elevation, surface))
        if ground is None:
            continue
        rows, columns = np.nonzero(np.isfinite(ground.array))
        every += len(rows)
        if top is None or not len(rows):
            continue
        # North-up, square cells, both of them.
        own, its = ground.transform, top.transform
        column = np.floor((own.c + (columns + 0.5) * own.a - its.c) / its.a).astype(int)
        row = np.floor((its.f - own.f + (rows + 0.5) * own.a) / its.a).astype(int)
        inside = (row >= 0) & (column >= 0)
        inside &= (row < top.array.shape[0]) & (column < top.array.shape[1])
        above_m = top.array[row[inside], column[inside]] - ground.array[rows, columns][inside]
        found.append(above_m[np.isfinite(above_m)])
        known += len(found[-1])
    return np.concatenate(found), known / max(every, 1)


def _tell_off(above_m: NDArray[np.float64], notes: Notes) -> None:
    open_m = float(np.percentile(above_m, _OPEN_PCT))
    below_pct = 100 * float((above_m < -_BELOW_M).mean())
    if abs(open_m) > _OFF_M:
        notes.finding(
            KIND.name,
            f"Open ground lies {abs(open_m):.1f} m {'over' if open_m > 0 else 'under'} the elevation.",
            "It is used as it is: shade is wrong by so much.",
            "Make sure that both have the same unit and datum, and are of like years.",
            weight="loud",
        )
    elif below_pct > _BELOW_PCT:
        notes.finding(
            KIND.name,
            f"{below_pct:.0f} % of its cells lie more than {_BELOW_M} m under the elevation.",
            "They cast no shade.",
            "Make sure that both are of like years.",
            weight="caution",
        )
