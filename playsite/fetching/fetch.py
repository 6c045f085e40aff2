"""Fill the layers that a study lacks: fetch, write dated files, and name them in the study."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import pyogrio
from pyproj import Transformer

from playsite.errors import InputError
from playsite.fetching.elevation import save_window
from playsite.fetching.sources import features_from
from playsite.fetching.tags import TAGS
from playsite.layers import read_layers
from playsite.problems import Problem, Problems, nearest_word
from playsite.settings import Settings, read_settings

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from playsite.layers import Layers

__all__ = ["CREDIT", "Fetched", "fetch"]

CREDIT = "© OpenStreetMap contributors, ODbL 1.0"
"""What the licence of the data asks to be shown."""

_REACH_M = 2000.0
_SHAPES = {"Point": "point", "LineString": "line", "Polygon": "polygon"}


@dataclass(frozen=True)
class Fetched:
    """What was fetched of one kind: a file, or a sentence why there is none."""

    kind: str
    features: int
    file: Path | None
    said: str


def fetch(
    study: Path,
    kinds: Sequence[str],
    source: str,
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
        Kinds of layers; none: all that the study lacks and that can be fetched.
    source
        File, saved answer or server; for ``elevation`` a raster or its address.
    most_minutes, most_megabytes
        Bounds on time and size.

    Raises
    ------
    InputError
        If the study, a kind or the source is at fault. Nothing is half-written.
    """
    problems = Problems()
    settings = read_settings(study, problems)
    known = [*TAGS, "elevation"]
    for kind in kinds:
        if kind not in known:
            problems.add(f'"{kind}" can\'t be fetched.', nearest_word(kind, known))
        elif kind in settings.layers:
            problems.add(f"the study has {kind} already.", "Take its table out to fetch it anew.")
    problems.stop_if_any()
    layers = read_layers(_parcels_alone(settings), problems)
    problems.stop_if_any()
    wanted = list(kinds) or [kind for kind in TAGS if kind not in settings.layers]
    folder = settings.folder / "open_data"
    done = []
    if "elevation" in wanted:
        done.append(_elevation(settings, layers, folder, source, most_megabytes))
    tagged = [kind for kind in wanted if kind in TAGS]
    if tagged:
        done += _features(layers, tagged, folder, source, most_minutes, most_megabytes)
    return done


def _parcels_alone(settings: Settings) -> Settings:
    """Give the study with its parcels only: they say where to look."""
    settings.layers = {kind: own for kind, own in settings.layers.items() if kind == "parcels"}
    return settings


def _features(  # bounds and source are the user's
    layers: Layers,
    kinds: Sequence[str],
    folder: Path,
    source: str,
    most_minutes: float,
    most_megabytes: float,
) -> list[Fetched]:
    west, south, east, north = layers.parcels.total_bounds
    around = (west - _REACH_M, south - _REACH_M, east + _REACH_M, north + _REACH_M)
    to_degrees = Transformer.from_crs(layers.crs, 4326, always_xy=True)
    bounds = to_degrees.transform_bounds(*around)
    asked: dict[str, tuple[str, ...]] = {}
    for kind in kinds:
        for key, values in TAGS[kind].tags.items():
            asked[key] = (
                () if not values or asked.get(key) == () else (*asked.get(key, ()), *values)
            )
    found = features_from(
        source, bounds, asked, most_minutes=most_minutes, most_megabytes=most_megabytes
    )
    return [_write(kind, _of_kind(found, kind).to_crs(layers.crs), folder) for kind in kinds]


def _of_kind(found: gpd.GeoDataFrame, kind: str) -> gpd.GeoDataFrame:
    rule = TAGS[kind]
    plain = found.geom_type.str.removeprefix("Multi").map(_SHAPES)
    holds = np.array([rule.holds(tags) for tags in found["tags"]], dtype=bool)
    own = found[holds & plain.isin(rule.shapes).to_numpy()]
    table: dict[str, Any] = {
        name: [read(tags) for tags in own["tags"]] for name, read in rule.columns.items()
    }
    return gpd.GeoDataFrame(table, geometry=own.geometry.to_numpy(), crs=found.crs)


def _write(kind: str, frame: gpd.GeoDataFrame, folder: Path) -> Fetched:
    if frame.empty:
        said = "none is mapped there; not mapped is not absent, so it stays unknown"
        return Fetched(kind, 0, None, said)
    folder.mkdir(exist_ok=True)
    path = _free(folder / f"{kind}_{_today()}.gpkg")
    beside = folder / f".{path.name}"
    try:
        pyogrio.write_dataframe(
            frame, beside, driver="GPKG", layer=kind, layer_metadata={"credit": CREDIT}
        )
        beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)
    _name_in_study(kind, path, [f'credit = "{CREDIT}"'])
    return Fetched(kind, len(frame), path, CREDIT)


def _elevation(
    settings: Settings, layers: Layers, folder: Path, source: str, most_megabytes: float
) -> Fetched:
    folder.mkdir(exist_ok=True)
    path = _free(folder / f"elevation_{_today()}.tif")
    beside = folder / f".{path.name}"
    inside = source if "://" in source else str(settings.folder / source)
    try:
        bounds = tuple(layers.parcels.total_bounds)
        unit = save_window(inside, bounds, layers.crs, beside, most_megabytes=most_megabytes)
        beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)
    needed = (
        [] if unit else ['# height_unit = "m"   # or "ft": the file does not say it, never guess']
    )
    _name_in_study("elevation", path, needed)
    said = f"heights in {unit}" if unit else "say its height_unit in the study"
    return Fetched("elevation", 1, path, said)


def _name_in_study(kind: str, path: Path, more: Sequence[str]) -> None:
    """Add a table at the end of the study: all that stands there stays as it is."""
    study = path.parent.parent / "study.toml"
    text = study.read_text(encoding="utf-8-sig")
    lines = [
        *("", f"[layers.{kind}]", f'path = "{path.parent.name}/{path.name}"'),
        *(f'date = "{_today()}"', *more),
    ]
    beside = study.with_name(".study.toml.new")
    beside.write_text(text.rstrip("\n") + "\n" + "\n".join(lines) + "\n", encoding="utf-8")
    beside.replace(study)


def _free(path: Path) -> Path:
    """Give a name that nothing has: what was fetched before stays."""
    tried, number = path, 1
    while tried.exists():
        number += 1
        tried = path.with_stem(f"{path.stem}_{number}")
    return tried


def _today() -> str:
    return dt.datetime.now(tz=dt.UTC).date().isoformat()


def refuse_without_source() -> None:
    """Say that a server or a file must be named: no server is asked that nobody chose."""
    what = "say where the data comes from."
    remedy = "Give --from with a .osm or .osm.pbf file, a saved answer, or a server's address."
    raise InputError([Problem(what, remedy)])
