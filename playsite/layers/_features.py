"""Features of one file, near the parcels, in the study's metres, with our columns."""

from __future__ import annotations

import warnings
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import pyogrio
from pyproj import CRS, Transformer
from pyproj.exceptions import ProjError
from shapely.geometry import box

from playsite._way_settings import LONGEST_WALK_M
from playsite.layers._values import to_ours
from playsite.layers.files import WINDOWS
from playsite.layers.gate import of_right_shape, outlined, sound_shapes

if TYPE_CHECKING:
    from playsite.layers._columns import Picked
    from playsite.layers._kind import LayerKind
    from playsite.layers._notes import Notes
    from playsite.layers.files import MapFile
    from playsite.settings import LayerSource

__all__ = ["NEAR_M", "frame_of", "in_crs", "keep_near", "read_rows"]

Bounds = tuple[float, float, float, float]

NEAR_M = LONGEST_WALK_M
"""Features are kept this far around the parcels: the walk network needs the reach."""


def read_rows(
    kind: LayerKind,
    source: LayerSource,
    file: MapFile,
    picked: list[Picked],
    notes: Notes,
    near: tuple[Bounds, CRS] | None = None,
) -> Any:
    """Read a file's rows as they are, their number kept as ``feature``.

    Parameters
    ----------
    kind, source, file, picked
        What is read.
    notes
        Takes what GDAL says, and why it can't.
    near
        West, south, east, north to keep to, and their system; absent: all rows.

    Returns
    -------
    GeoDataFrame or None
        None where it can't be read: the problem is told.
    """
    columns = list(dict.fromkeys(p.theirs for p in picked if p.theirs))
    within = None if near is None else _bounds_in(near, file.crs)
    rows: Any = None
    with (
        warnings.catch_warnings(record=True) as told,
        notes.no_traceback(kind.name, file.label, "where" if source.where else "path"),
    ):
        warnings.simplefilter("always")
        rows = _rows(file, notes, kind.name, columns=columns, where=source.where, bbox=within)
    if rows is None:
        return None
    for sentence in dict.fromkeys(str(warning.message) for warning in told):
        notes.finding(kind.name, f"{file.label}: {sentence}", weight="caution")
    rows["feature"] = rows.index.astype("int64")
    return rows.set_crs(file.crs, allow_override=True)


def _rows(file: MapFile, notes: Notes, kind: str, **asked: Any) -> Any:
    """Read rows; text that is no UTF-8 is read as Windows writes it, and that is told."""
    options: dict[str, Any] = {
        "layer": file.layer,
        "fid_as_index": True,
        "force_2d": True,
        "on_invalid": "warn",  # one shape that can't be one is told and left out, not the file
        **asked,
        **file.options,
    }
    if "encoding" not in options:
        try:
            return pyogrio.read_dataframe(file.open_as, **options)
        except UnicodeDecodeError:
            options["encoding"] = WINDOWS
    notes.finding(
        kind,
        f"{file.label} holds text that is not UTF-8.",
        "It is read as Windows writes it (cp1252).",
        "Look at the names with accents.",
    )
    return pyogrio.read_dataframe(file.open_as, **options)


def frame_of(
    kind: LayerKind,
    rows: Any,
    file: MapFile,
    picked: list[Picked],
    crs: CRS,
    notes: Notes,
) -> Any:
    """Give rows our columns, sound shapes of the right kind, and the study's metres.

    Returns
    -------
    GeoDataFrame
        Columns of the kind, ``feature``, ``source``, ``geometry``; index from 0.
    """
    rows = outlined(in_crs(rows, crs, kind.name, notes), kind, notes)
    rows = of_right_shape(sound_shapes(rows, kind, notes), kind, notes)
    ours = {p.column.column: to_ours(rows, p, kind.name, file.label, notes) for p in picked}
    frame = gpd.GeoDataFrame(ours, geometry=rows.geometry.array, crs=crs, index=rows.index)
    frame["feature"] = rows["feature"]
    frame["source"] = file.label
    return frame.reset_index(drop=True)


def in_crs(rows: Any, crs: CRS, kind: str, notes: Notes) -> Any:
    """Bring rows to the study's system; what can't be brought there is left out, and told."""
    if rows.crs.equals(crs, ignore_axis_order=True):
        return rows.set_crs(crs, allow_override=True)
    brought = rows.to_crs(crs)
    lost = ~np.isfinite(brought.bounds).all(axis=1) & ~rows.geometry.isna() & ~rows.is_empty
    if lost.any():
        notes.finding(
            kind,
            f"Features that can't be brought to {crs.name}: {int(lost.sum())}.",
            "They are left out.",
            where=f"features {', '.join(map(str, rows['feature'][lost].head().tolist()))}",
            count=int(lost.sum()),
            weight="caution",
        )
    return brought[~lost]


def keep_near(frame: Any, around: Bounds) -> Any:
    """Keep what touches the box around the parcels."""
    return frame[frame.intersects(box(*around))].reset_index(drop=True)


def _bounds_in(near: tuple[Bounds, CRS], crs: CRS) -> Bounds | None:
    """Box in a file's system that holds the whole box of the study; None: it can't be told."""
    bounds, from_crs = near
    there = Transformer.from_crs(from_crs, crs, always_xy=True)
    try:
        turned = there.transform_bounds(*bounds, densify_pts=21)
    except ProjError:  # pragma: no cover -- older versions of PROJ raise where newer give inf
        return None
    west, south, east, north = turned
    sound = np.isfinite(turned).all() and west < east and south < north
    return (west, south, east, north) if sound else None
