"""Whether layers reach where the parcels are: nothing near may mean nothing mapped."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from pyproj import CRS, Transformer
from rasterio.features import rasterize
from shapely.geometry import box

from playsite.layers._notes import listed
from playsite.layers.elevation import AROUND_M, WIDEST_CELLS, tell_wide
from playsite.problems import Finding

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from playsite.layers._kind import LayerKind
    from playsite.layers._notes import Notes
    from playsite.layers.elevation import Elevation
    from playsite.layers.files import MapFile
    from playsite.settings import LayerSource

__all__ = ["tell_coverage", "tell_elevation", "tell_gaps"]

Bounds = tuple[float, float, float, float]

_PARTLY = 0.95
_LOOKED_AT = 100


def tell_gaps(
    given: Mapping[str, Sequence[LayerSource]], kinds: Mapping[str, LayerKind], notes: Notes
) -> None:
    """Say what is unknown because the study has no such layer, or no date of it."""
    dateless = [name for name, sources in given.items() if not all(s.date for s in sources)]
    if dateless:
        notes.findings.append(
            Finding(
                f"The study gives no date for: {', '.join(dateless)}.",
                "Nobody can tell what has changed since.",
                'Give it: date = "2023".',
                count=len(dateless),
            )
        )
    for name, kind in kinds.items():
        if name not in given and kind.if_absent:
            notes.finding(name, kind.if_absent, weight=kind.absent_weight)


def tell_coverage(
    kind: LayerKind, file: MapFile, frame: Any, parcels: Bounds, crs: CRS, notes: Notes
) -> None:
    """Say where a file holds nothing at the parcels, and how many features were left out."""
    extent = box(*parcels)
    if frame.empty:
        west, south, east, north = Transformer.from_crs(
            file.crs, crs, always_xy=True
        ).transform_bounds(*file.bounds)
        away_km = extent.distance(box(west, south, east, north)) / 1000
        notes.finding(
            kind.name,
            f"{file.label} holds nothing near the parcels"
            + (f"; it begins {away_km:,.1f} km away." if away_km > 0 else "."),
            "It is kept as a layer without features.",
            "Look at its coordinate reference system, and at what it covers.",
            count=file.features,
            weight="caution",
        )
        return
    away_m = extent.distance(box(*frame.total_bounds))
    if away_m > 0:
        notes.finding(
            kind.name,
            f"{file.label} doesn't reach the parcels: the nearest is {away_m:,.0f} m off.",
            "It is used as it is.",
            "Make sure that it covers them: what is not mapped there is not known.",
            weight="caution",
        )
    left = file.features - len(frame)
    if left > 0:
        notes.finding(
            kind.name,
            f"Features of {file.label} that are not used: {left} of {file.features}.",
            "They lie more than 2 km off, or the study's filter or the gate leaves them out.",
            count=left,
        )


def _tell_windows(parcels: Any, elevation: Elevation, notes: Notes) -> None:
    """Say what is wrong with an elevation that is read in windows, before anything is measured."""
    bounds = parcels.bounds.to_numpy()
    sides_m = bounds[:, 2:] - bounds[:, :2] + 2 * AROUND_M
    cells = sides_m.prod(axis=1) / elevation.cell_m**2
    if (cells > WIDEST_CELLS).any():
        wide = listed(parcels.index[cells > WIDEST_CELLS])
        tell_wide(f"parcel {wide}", float(cells.max()), notes)
        return
    some = bounds[:: max(1, len(bounds) // _LOOKED_AT)]
    windows = (elevation.window(tuple(each)) for each in some)
    if all(window is None or np.isnan(window.array).all() for window in windows):
        what = f"it holds no height near any of {len(some)} parcels that were looked at."
        notes.problem("elevation", what, "Give another file, or leave it out.", "path")


def tell_elevation(parcels: Any, elevation: Elevation, notes: Notes) -> None:
    """Say which parcels have no height, or none in part; of a large one, which no file covers."""
    if elevation.is_whole:
        known = _known_share(parcels, elevation)
    else:
        _tell_windows(parcels, elevation, notes)
        covered = shapely.intersection(parcels.geometry.array, elevation.extent)
        known = shapely.area(covered) / parcels.area.to_numpy()
    for out, what in (
        (known == 0, "Parcels without elevation"),
        ((known > 0) & (known < _PARTLY), "Parcels with elevation only in part"),
    ):
        if out.any():
            notes.finding(
                "elevation",
                f"{what}: {int(out.sum())} of {len(parcels)}.",
                "What is measured from it is not known there.",
                "Give a further file that covers them.",
                where=listed(parcels.index[out]),
                count=int(out.sum()),
                weight="caution",
            )


def _known_share(parcels: Any, elevation: Elevation) -> Any:
    """Share of each parcel's area that has a height, counted by cells."""
    rows, columns = elevation.array.shape
    numbers = rasterize(
        ((shape, number) for number, shape in enumerate(parcels.geometry, start=1)),
        out_shape=(rows, columns),
        transform=elevation.transform,
        dtype="int32",
    )
    high = ~np.isnan(elevation.array)
    all_cells = np.bincount(numbers.ravel(), minlength=len(parcels) + 1)[1:]
    with_height = np.bincount(numbers[high], minlength=len(parcels) + 1)[1:]
    share = with_height / np.maximum(all_cells, 1)
    # What lies outside the raster has no cells; what lies under another parcel neither.
    west, north = elevation.transform.c, elevation.transform.f
    extent = box(west, north - rows * elevation.cell_m, west + columns * elevation.cell_m, north)
    shapes = parcels.geometry.array
    inside = shapely.area(shapely.intersection(shapes, extent)) / shapely.area(shapes)
    share = np.where(all_cells == 0, _at_points(shapes, elevation), share)
    return share * inside


def _at_points(shapes: Any, elevation: Elevation) -> Any:
    points = shapely.point_on_surface(shapes)
    west, north, cell_m = elevation.transform.c, elevation.transform.f, elevation.cell_m
    column = np.floor((shapely.get_x(points) - west) / cell_m).astype(int)
    row = np.floor((north - shapely.get_y(points)) / cell_m).astype(int)
    rows, columns = elevation.array.shape
    inside = (row >= 0) & (row < rows) & (column >= 0) & (column < columns)
    known = np.zeros(len(points))
    known[inside] = ~np.isnan(elevation.array[row[inside], column[inside]])
    return known
