"""All map data of a study, in one system of metres, checked at the gate."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import pandas as pd

from playsite.layers._candidates import one_row_a_parcel
from playsite.layers._columns import pick_columns
from playsite.layers._coverage import tell_coverage, tell_elevation, tell_gaps
from playsite.layers._crs import choose_crs, read_crs
from playsite.layers._features import NEAR_M, frame_of, keep_near, read_rows
from playsite.layers._many import each_file, said_once
from playsite.layers._notes import Notes
from playsite.layers.elevation import WIDEST_CELLS, look_into_rasters, read_elevation
from playsite.layers.files import input_sha256, label_of, look_into
from playsite.layers.kinds import KINDS
from playsite.layers.surface import read_surface
from playsite.problems import nearest_word

if TYPE_CHECKING:
    from collections.abc import Callable

    from pyproj import CRS

    from playsite.layers._columns import Picked
    from playsite.layers._kind import LayerKind
    from playsite.layers.elevation import Elevation
    from playsite.layers.files import MapFile
    from playsite.problems import Finding, Problems
    from playsite.settings import LayerSource, Settings

__all__ = ["Layers", "read_layers"]

Bounds = tuple[float, float, float, float]
_RASTERS = ("elevation", "surface")


@dataclass(frozen=True, eq=False)
class Layers:
    """Map data of a study.

    Parameters
    ----------
    crs
        System of every coordinate: projected, metres.
    parcels
        Index ``parcel_id`` (text); columns ``parcel_id``, ``name``, ``owner``, ``feature``,
        ``source``, ``geometry``.
    elevation, surface
        Height of the ground, and of roofs and crowns; None: the study has none.
    findings
        What was noticed at the gate.
    sources
        One row a file: ``kind``, ``path``, ``label``, ``layer``, ``date``, ``features``,
        ``sha256``, ``credit``.
    frames
        The other layers by kind; ask ``get``.
    """

    crs: CRS
    parcels: Any
    elevation: Elevation | None
    findings: tuple[Finding, ...]
    sources: pd.DataFrame
    frames: dict[str, Any]
    surface: Elevation | None = None

    def get(self, kind: str) -> Any:
        """Features of a kind of layer, as a GeoDataFrame.

        None: the study has no such layer, and what it would hold is unknown. An empty one:
        the layer is there, and holds nothing near.
        """
        return self.parcels if kind == "parcels" else self.frames.get(kind)

    def has(self, kind: str) -> bool:
        """Whether the study has such a layer."""
        if kind in _RASTERS:
            return getattr(self, kind) is not None
        return self.get(kind) is not None

    def date_of(self, kind: str) -> str | None:
        """Date of a kind of layer, as the study says it; None: not known."""
        return self._joined(kind, "date") or None

    def label_of(self, kind: str) -> str:
        """File of a kind of layer, for people; empty: the study has none."""
        return self._joined(kind, "label")

    def without_features(self) -> Layers:
        """Give the same without features and heights: what reports need, small enough to keep."""
        return replace(self, parcels=self.parcels.iloc[:0], elevation=None, surface=None, frames={})

    def _joined(self, kind: str, column: str) -> str:
        given = self.sources.loc[self.sources["kind"] == kind, column]
        return ", ".join(dict.fromkeys(value for value in given if isinstance(value, str)))


@dataclass(frozen=True)
class _Opened:
    """One file whose head is read and found sound; by which of the study's tables it is named."""

    named_by: int
    source: LayerSource
    file: MapFile
    picked: list[Picked]


def read_layers(settings: Settings, problems: Problems) -> Layers:
    """Read all map data that a study names.

    Parameters
    ----------
    settings
        The study.
    problems
        Takes every fault that was found; the caller stops before anything is computed.

    Returns
    -------
    Layers
        What is sound of it.

    Raises
    ------
    InputError
        If the parcels can't be read: nothing else can be judged without them. By then the
        heads of all other files were looked into, so their faults are told too.
    """
    notes = Notes(settings, problems)
    _check_kinds(settings, notes)
    opened = {
        name: _look_into_all(KINDS[name], sources, notes)
        for name, sources in settings.layers.items()
        if name in KINDS and name not in _RASTERS
    }
    crs, parcels = _parcels(opened.pop("parcels", []), settings, notes)
    if crs is None or parcels is None:
        for kind in _RASTERS:
            look_into_rasters(settings.layers.get(kind, ()), notes, kind)
        what = "no parcels could be read: of the other files only the heads were looked at."
        notes.problem("parcels", what, "Mend what is said of them, and try again.", "path")
        problems.stop_if_any()
        raise AssertionError  # pragma: no cover -- there is at least the problem added above
    bounds: Bounds = tuple(parcels.total_bounds)
    frames = {
        name: _layer(KINDS[name], sources, crs, bounds, notes) for name, sources in opened.items()
    }
    rasters = settings.layers.get("elevation", ())
    elevation = _elevation(rasters, crs, parcels, notes) if rasters else None
    tops = settings.layers.get("surface", ())
    surface = read_surface(tops, crs, parcels, elevation, notes) if tops else None
    tell_gaps(settings.layers, KINDS, notes)
    kept = {"parcels": parcels, **frames}
    findings, files = tuple(notes.findings), _sources(settings, kept)
    return Layers(crs, parcels, elevation, findings, files, frames, surface)


def _check_kinds(settings: Settings, notes: Notes) -> None:
    for name in settings.layers:
        if name not in KINDS:
            what = f'there is no kind of layer "{name}".'
            notes.problem(name, what, nearest_word(name, KINDS))
    for name, kind in KINDS.items():
        if kind.needed and name not in settings.layers:
            what = f"the study names no {name} ({kind.plain})."
            notes.problem(name, what, f'Add a table [layers.{name}] with path = "...".')
    for name, sources in settings.layers.items():
        if name in KINDS:
            _check_entries(KINDS[name], sources, notes)


_OF_RASTERS = ("height_unit", "noise_m", "noise_length_m")
_OF_FEATURES = ("where", "columns", "values", "set")


def _check_entries(kind: LayerKind, sources: tuple[LayerSource, ...], notes: Notes) -> None:
    """Entries that a kind of layer doesn't read are refused: silence would hide a slip."""
    for source in sources:
        for entry in _OF_RASTERS if kind.shapes else _OF_FEATURES:
            if getattr(source, entry):
                name = entry.removesuffix("_m")
                what = f'"{name}" has no meaning for {kind.name}.'
                notes.problem(kind.name, what, "Take it out.", name)


def _look_into_all(
    kind: LayerKind, sources: tuple[LayerSource, ...], notes: Notes
) -> list[_Opened]:
    def look(given: tuple[int, LayerSource], notes: Notes) -> _Opened | None:
        named_by, source = given
        file = look_into(kind.name, source, notes)
        if file is None:
            return None
        return _Opened(named_by, source, file, pick_columns(kind, source, file.fields, notes))

    heads: list[_Opened | None] = []
    for named_by, named in enumerate(sources):
        files = each_file(named, notes.settings.folder)
        heads += said_once([(each.path, (named_by, each)) for each in files], notes, look)
    return [head for head in heads if head is not None]


def _from_each(
    opened: list[_Opened], notes: Notes, do: Callable[[_Opened, Notes], Any]
) -> list[Any]:
    """Do something with each file; of files that one path names, what is alike is said once."""
    taken: list[Any] = []
    for _, group in itertools.groupby(opened, key=lambda one: one.named_by):
        taken += said_once([(one.source.path, one) for one in group], notes, do)
    return taken


def _parcels(opened: list[_Opened], settings: Settings, notes: Notes) -> tuple[CRS | None, Any]:
    """Read all parcels, and choose the system of the study by them."""
    kind = KINDS["parcels"]
    if notes.problems_of("parcels"):
        return None, None
    rows = _from_each(
        opened, notes, lambda one, its: read_rows(kind, one.source, one.file, one.picked, its)
    )
    if not rows or any(part is None for part in rows):
        return None, None
    whole = [number for number, part in enumerate(rows) if not part.empty]
    if not whole:
        notes.problem("parcels", "the filter leaves no parcel.", "Look at it.", "where")
        return None, None
    try:
        asked = read_crs(settings.study.crs) if settings.study.crs else None
        crs, findings = choose_crs(asked, rows[whole[0]].crs, _middle(rows[whole[0]]))
    except ValueError as error:
        notes.problems.add(f"{error}.", **settings.place("study", "crs"))
        return None, None
    notes.findings += findings
    parcels: Any = None
    with notes.no_traceback("parcels", "the parcels", "path"):
        parts = iter(rows)
        frames = _from_each(
            opened,
            notes,
            lambda one, its: frame_of(kind, next(parts), one.file, one.picked, crs, its),
        )
        parcels = one_row_a_parcel(pd.concat(frames, ignore_index=True), notes)
    if parcels is None or parcels.empty:
        notes.problem("parcels", "no parcel is left.", "Look at what was left out.", "path")
        return None, None
    return crs, parcels


def _middle(rows: Any) -> tuple[float, float]:
    """Middle of most shapes: one with a slip in its coordinates doesn't move it."""
    bounds = rows.bounds.median()
    return (bounds["minx"] + bounds["maxx"]) / 2, (bounds["miny"] + bounds["maxy"]) / 2


def _layer(
    kind: LayerKind, opened: list[_Opened], crs: CRS, parcels_bounds: Bounds, notes: Notes
) -> Any:
    """Read one kind of layer from all its files, near the parcels."""
    west, south, east, north = parcels_bounds
    near: Bounds = (west - NEAR_M, south - NEAR_M, east + NEAR_M, north + NEAR_M)

    def read(one: _Opened, notes: Notes) -> Any:
        rows = read_rows(kind, one.source, one.file, one.picked, notes, (near, crs))
        frame = None
        with notes.no_traceback(kind.name, one.file.label, "path"):
            if rows is not None:
                frame = keep_near(frame_of(kind, rows, one.file, one.picked, crs, notes), near)
                if not notes.problems_of(kind.name):
                    tell_coverage(kind, one.file, frame, parcels_bounds, crs, notes)
        return frame

    frames = [frame for frame in _from_each(opened, notes, read) if frame is not None]
    if not frames:
        return None
    frame = gpd.GeoDataFrame(pd.concat(frames, ignore_index=True), geometry="geometry", crs=crs)
    if kind.settle is not None:
        frame = kind.settle(frame, notes.findings)
    return frame.reset_index(drop=True)


def _elevation(
    rasters: tuple[LayerSource, ...], crs: CRS, parcels: Any, notes: Notes
) -> Elevation | None:
    """Read the ground, and say where parcels have none; one parcel alone is no group of many."""
    bounds: Bounds = tuple(parcels.total_bounds)
    if len(parcels) == 1:
        elevation = read_elevation(rasters, crs, bounds, notes, most_cells=WIDEST_CELLS)
    else:
        elevation = read_elevation(rasters, crs, bounds, notes)
    if elevation is not None:
        tell_elevation(parcels, elevation, notes)
    return elevation


def _sources(settings: Settings, frames: dict[str, Any]) -> pd.DataFrame:
    sha256 = input_sha256(settings)
    rows = []
    for kind, sources in settings.layers.items():
        for source in sources:
            label = label_of(source)
            labels = [label_of(each) for each in each_file(source, settings.folder)]
            frame = frames.get(kind)
            here = None if frame is None else int(frame["source"].isin(labels).sum())
            rows.append(
                {
                    "kind": kind,
                    "path": source.path,
                    "label": label,
                    "layer": source.layer,
                    "date": source.date,
                    "features": here,
                    "sha256": sha256[source.path],
                    "credit": source.credit,
                }
            )
    columns = ["kind", "path", "label", "layer", "date", "features", "sha256", "credit"]
    # Objects, not text: a missing date stays None, which is false, where NaN would be true.
    return pd.DataFrame(rows, columns=columns, dtype=object).astype({"features": "Int64"})
