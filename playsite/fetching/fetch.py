"""Fill the layers that a study lacks: fetch, write dated files, and name them in the study."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import pyogrio
from pyproj import Transformer

from playsite.errors import InputError
from playsite.fetching.elevation import elevation_window
from playsite.fetching.placing import today, written_whole
from playsite.fetching.sources import features_from, name_of
from playsite.fetching.study_file import Entry, check_room, name_in_study
from playsite.fetching.tags import TAGS
from playsite.layers import KINDS, read_layers
from playsite.problems import Problem, Problems, nearest_word
from playsite.settings import Settings, read_settings

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    import geopandas as gpd

    from playsite.fetching.sources import Features
    from playsite.layers import Layers

__all__ = ["CREDIT", "REACH_M", "Fetched", "fetch"]

CREDIT = "© OpenStreetMap contributors, ODbL 1.0"
"""What the licence of the data asks to be shown."""

REACH_M = 2000.0
"""Features are fetched this far around the parcels: as far as layers are read."""

_LARGEST_M = 100_000.0


@dataclass(frozen=True)
class Fetched:
    """What was fetched of one kind: a file, or a sentence why there is none."""

    kind: str
    features: int
    file: Path | None
    said: str
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Order:
    """What is fetched, from where, and within what bounds."""

    settings: Settings
    layers: Layers
    source: str
    most_minutes: float
    most_megabytes: float


def fetch(
    study: Path,
    kinds: Sequence[str],
    source: str | None,
    *,
    most_minutes: float = 5.0,
    most_megabytes: float = 200.0,
) -> list[Fetched]:
    """Fetch layers for a study's extent.

    Parameters
    ----------
    study
        The study file, or its folder; its parcels say where.
    kinds
        Kinds of layers; none: all that the study lacks and OpenStreetMap has. One that the
        study has stays as it is.
    source
        File, saved answer, server, or ``"overpass"``; for ``elevation`` a raster, its address
        or that of a STAC item.
    most_minutes, most_megabytes
        Bounds on time and size.

    Returns
    -------
    list of Fetched
        One for each kind. A kind of which nothing is mapped gets no file: not mapped is not
        absent, so the layer stays unknown, and the study says so in a comment.

    Raises
    ------
    InputError
        If the study, a kind or the source is at fault. Nothing is half-written.
    """
    problems = Problems()
    settings = read_settings(study, problems)
    _check(kinds, most_minutes, most_megabytes, problems)
    problems.stop_if_any()
    named = list(dict.fromkeys(kinds)) or [kind for kind in TAGS if kind not in settings.layers]
    there = [kind for kind in named if kind in settings.layers]
    lacking = [kind for kind in named if kind not in settings.layers]
    said = "the study has it already: it stays as it is"
    done = [Fetched(kind, 0, None, said) for kind in there]
    if not lacking:
        return done
    if not source:
        what = "nothing says where the data comes from: no server is asked that nobody chose."
        remedy = (
            "Give --from with a .osm or .osm.pbf file, a saved answer (.json), a server's address, "
            'or the word "overpass" for the public server.'
        )
        raise InputError([Problem(what, remedy)])
    check_room(settings.file, lacking)
    layers = _parcels(settings, problems)
    order = _Order(settings, layers, source, most_minutes, most_megabytes)
    return done + (_elevation(order) if lacking == ["elevation"] else _features(order, lacking))


def _check(
    kinds: Sequence[str], most_minutes: float, most_megabytes: float, problems: Problems
) -> None:
    known = [*TAGS, "elevation"]
    for kind in kinds:
        if kind in KINDS and kind not in known:
            problems.add(
                f'"{kind}" can\'t be fetched: OpenStreetMap does not hold it, or too little of it.'
            )
        elif kind not in known:
            problems.add(f'there is no kind of layer "{kind}".', nearest_word(kind, known))
    if "elevation" in kinds and len(set(kinds)) > 1:
        what = "elevation comes from another source than the other layers."
        problems.add(what, "Fetch it alone: playsite fetch STUDY elevation --from ...")
    for name, given in (("--most-minutes", most_minutes), ("--most-megabytes", most_megabytes)):
        if not (math.isfinite(given) and given > 0):
            problems.add(f"{name} is a number above 0; given {given:g}.")


def _parcels(settings: Settings, problems: Problems) -> Layers:
    """Read the parcels alone: they say where to look."""
    whole = settings.layers
    settings.layers = {"parcels": whole["parcels"]} if "parcels" in whole else {}
    try:
        layers = read_layers(settings, problems)
    finally:
        settings.layers = whole
    problems.stop_if_any()
    west, south, east, north = layers.parcels.total_bounds
    if max(east - west, north - south) > _LARGEST_M:
        what = f"the parcels reach over {max(east - west, north - south) / 1000:,.0f} km."
        remedy = "One may have a slip in its coordinates: look at them with playsite check."
        raise InputError([Problem(what, remedy, layer="parcels")])
    return layers


def _features(order: _Order, kinds: Sequence[str]) -> list[Fetched]:
    west, south, east, north = order.layers.parcels.total_bounds
    around = (west - REACH_M, south - REACH_M, east + REACH_M, north + REACH_M)
    to_degrees = Transformer.from_crs(order.layers.crs, 4326, always_xy=True)
    found = features_from(
        order.source,
        to_degrees.transform_bounds(*around),
        kinds,
        most_minutes=order.most_minutes,
        most_megabytes=order.most_megabytes,
    )
    done, entries = [], []
    with written_whole(order.settings.folder) as places:
        for kind in kinds:
            frame = found.of_kind(kind)
            if frame.empty:
                done.append(_nothing(kind, order, found.notes))
                entries.append(_said_of_nothing(kind))
                continue
            place = places.new(kind, ".gpkg")
            _write(frame.to_crs(order.layers.crs), place.inside, kind, found, order)
            done.append(Fetched(kind, len(frame), place.final, CREDIT, found.notes))
            entries.append(_entry(kind, place.final, order, found.notes, found.date, CREDIT))
        places.settle()
        name_in_study(order.settings.file, entries)
    return done


def _nothing(kind: str, order: _Order, notes: tuple[str, ...]) -> Fetched:
    where = f"within {REACH_M / 1000:g} km in {name_of(order.source)}"
    said = f"none is mapped {where}; not mapped is not absent, so it stays unknown"
    return Fetched(kind, 0, None, said, notes)


def _said_of_nothing(kind: str) -> Entry:
    what = f"{kind}: OpenStreetMap has none within {REACH_M / 1000:g} km ({CREDIT})."
    return Entry(kind, {}, (what, "Not mapped is not absent: it stays unknown till someone looks."))


def _write(frame: gpd.GeoDataFrame, path: Path, kind: str, found: Features, order: _Order) -> None:
    metadata = {
        "credit": CREDIT,
        "date": found.date or "",
        "fetched": today(),
        "source": name_of(order.source),
    }
    pyogrio.write_dataframe(
        frame,
        path,
        driver="GPKG",
        layer=kind,
        layer_metadata=metadata,
        dataset_metadata=metadata,
        geometry_type=None if frame.geom_type.nunique() == 1 else "Unknown",
    )


def _elevation(order: _Order) -> list[Fetched]:
    with written_whole(order.settings.folder) as places:
        place = places.new("elevation", ".tif")
        found = elevation_window(
            order.source,
            tuple(order.layers.parcels.total_bounds),
            order.layers.crs,
            place.inside,
            most_minutes=order.most_minutes,
            most_megabytes=order.most_megabytes,
        )
        entry = _entry("elevation", place.final, order, found.notes, found.date, found.credit)
        if not found.unit:
            entry = replace(entry, lacking=(*entry.lacking, _HEIGHT_UNIT))
        places.settle()
        name_in_study(order.settings.file, [entry])
    said = f"heights in {found.unit}" if found.unit else "say its height_unit in the study"
    return [Fetched("elevation", 1, place.final, said, found.notes)]


_HEIGHT_UNIT = 'height_unit = "m"    # or "ft": the source doesn\'t say; ask, never guess'
_DATE = 'date = "..."    # of what it shows: the source doesn\'t say'
_CREDIT = 'credit = "..."    # what its licence asks to be shown: the source doesn\'t say'


def _entry(
    kind: str, path: Path, order: _Order, notes: tuple[str, ...], date: str | None, credit: str
) -> Entry:
    keys = {"path": f"{path.parent.name}/{path.name}"}
    keys |= ({"date": date} if date else {}) | ({"credit": credit} if credit else {})
    lacking = (*([] if date else [_DATE]), *([] if credit else [_CREDIT]))
    before = f"Fetched {today()} from {name_of(order.source)}"
    return Entry(kind, keys, (before, *notes), lacking)
