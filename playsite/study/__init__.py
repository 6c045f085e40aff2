"""One run, from a study file to the Result: the one module that knows every step."""

from __future__ import annotations

import datetime as dt
import functools
import os
from dataclasses import replace
from importlib import metadata
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import pandas as pd

from playsite.criteria._registry import choose
from playsite.engine import Watch, in_threads, quietly
from playsite.layers import read_layers
from playsite.layers.files import sha256_of
from playsite.problems import Problems
from playsite.program.required import check_programs, required_pad
from playsite.result import Result, Study
from playsite.settings import read_settings
from playsite.site import Site
from playsite.study.assembling import answer_tables, natural_order
from playsite.study.choosing import Placed, chosen_places, joined, pads_of
from playsite.study.drawing import base_map, contours
from playsite.study.found import (
    Found,
    Part,
    fingerprint,
    forget_parts,
    recall,
    remember,
    versions_in_use,
)
from playsite.study.parts import parts_of
from playsite.study.searching import KEEP, ParcelSearch, search_parcel, takers
from playsite.terrain.low_spots import low_spot_polygons

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from playsite.criteria._registry import Chosen
    from playsite.layers import Layers
    from playsite.problems import Finding
    from playsite.program import RequiredPad
    from playsite.settings import Settings

__all__ = ["check", "run"]

_CONTOURED = 24
_SECOND_LOOK = 32 * KEEP


def check(file: str | Path) -> tuple[Settings, Layers, tuple[Finding, ...]]:
    """Run the gate alone: read settings, layers and criteria, and compute nothing from them.

    Raises
    ------
    InputError
        With every problem found, told at once.
    """
    problems = Problems()
    settings = read_settings(file, problems)
    choose(settings, problems)
    check_programs(settings.every_program, problems, settings.place)
    layers = read_layers(settings, problems)
    problems.stop_if_any()
    return settings, layers, (*layers.findings, *Site(layers).findings)


def needed_pad(settings: Settings) -> RequiredPad:
    """Pad that a study's own program needs, worked out.

    Raises
    ------
    InputError
        If the program is at fault.
    """
    problems = Problems()
    check_programs(settings.every_program, problems, settings.place)
    problems.stop_if_any()
    study = settings.study
    return required_pad(settings.program, problems, profile=study.profile, units=study.units)


def run(file: str | Path, *, watch: Watch = quietly, fresh: bool = False) -> Result:
    """Rank the parcels of a study.

    Parameters
    ----------
    file
        The study file, or the folder that holds a ``study.toml``.
    watch
        Shows the progress of long steps.
    fresh
        Measure again even where an earlier run with the same inputs is remembered.

    Raises
    ------
    InputError
        If the input is at fault; every problem at once.
    ContractError
        If a criterion breaks its contract.
    """
    problems = Problems()
    settings = read_settings(file, problems)
    chosen = choose(settings, problems)
    check_programs(settings.every_program, problems, settings.place)
    sha256 = _input_sha256(settings)
    key = "" if problems.items else fingerprint(settings, chosen, sha256)
    found = recall(key, Found) if key and not fresh else None
    if found is None:
        layers = read_layers(settings, problems)
        problems.stop_if_any()
        found = _found(settings, layers, chosen, watch, key)
        remember(key, found)
        forget_parts(key)
    return _result(settings, found, chosen, sha256)


def _found(
    settings: Settings, layers: Layers, chosen: Sequence[Chosen], watch: Watch, key: str
) -> Found:
    """Find out all that does not depend on weights, part by part; a finished part is kept."""
    site = Site(layers)
    pad = needed_pad(settings)
    elevation = layers.elevation
    windowed = elevation is not None and not elevation.is_whole
    parts = parts_of(layers.parcels, cell_m=elevation.cell_m if windowed and elevation else None)
    done: list[Part] = []
    for number, parcels in enumerate(watch(parts, "Parts of the town", len(parts))):
        name = f"{key}-{number}"
        known = recall(name, Part) if len(parts) > 1 else None
        if known is None:
            known = _part(
                settings, site if len(parts) == 1 else site.part(parcels), pad, chosen, watch
            )
            if len(parts) > 1:
                remember(name, known)
        done.append(known)
    return _joined(done, layers, site, pad, settings)


def _part(
    settings: Settings, site: Site, pad: RequiredPad, chosen: Sequence[Chosen], watch: Watch
) -> Part:
    searches = _searches(settings, site, pad, watch)
    return Part(
        largest=_largest(searches),
        ledger=_ledger(searches),
        placed=_placed(settings, site, pad, searches, chosen, watch),
        low_spots=_low_spots(site),
        findings=site.findings,
    )


def _joined(
    parts: Sequence[Part], layers: Layers, site: Site, pad: RequiredPad, settings: Settings
) -> Found:
    placed = functools.reduce(joined, (part.placed for part in parts))
    best = placed.pads[placed.pads["role"] == "best"]
    shown = layers.parcels.loc[best["parcel_id"].iloc[:_CONTOURED]]
    spots = pd.concat([part.low_spots for part in parts], ignore_index=True)
    spots = spots[~spots.geometry.normalize().to_wkb().duplicated()].reset_index(drop=True)
    spots["low_spot"] = [str(number) for number in range(1, len(spots) + 1)]
    ledger = pd.concat([part.ledger for part in parts], ignore_index=True)
    return Found(
        pad=pad,
        layers=replace(layers, frames={}, elevation=None),
        parcels=layers.parcels,
        largest=pd.concat([part.largest for part in parts]),
        ledger=ledger.iloc[_in_natural_order(ledger["parcel_id"])].reset_index(drop=True),
        pads=placed.pads,
        measured=placed.measured,
        low_spots=gpd.GeoDataFrame(spots, crs=layers.crs),
        contours=contours(shown, site, units=settings.study.units),
        base_map=base_map(site),
        findings=(*layers.findings, *_once(part.findings for part in parts)),
    )


def _in_natural_order(names: pd.Series[str]) -> list[int]:
    place = {name: number for number, name in enumerate(natural_order(set(names)))}
    return [int(row) for row in names.map(place).argsort(kind="stable")]


def _once(findings: Iterable[Sequence[Finding]]) -> list[Finding]:
    """Say once what was noticed in several parts of a town."""
    kept: dict[tuple[str, str], Finding] = {}
    for each in (finding for part in findings for finding in part):
        kept.setdefault((each.layer, each.done), each)
    return list(kept.values())


def _searches(
    settings: Settings, site: Site, pad: RequiredPad, watch: Watch
) -> dict[str, ParcelSearch]:
    taken = takers(site, settings.setbacks)
    shapes = site.layers.parcels.geometry
    same = shapes.normalize().to_wkb()  # several ids on the same land are searched once
    first = same.drop_duplicates().index.tolist()

    def search(parcel_id: str) -> ParcelSearch:
        return search_parcel(
            parcel_id,
            shapes.loc[parcel_id],
            pad=pad,
            site=site,
            setbacks=settings.setbacks,
            taken=taken,
        )

    found = watch(in_threads(search, first), "Searching parcels", len(first))
    of_shape = dict(zip(same.loc[first], found, strict=True))
    return {
        parcel_id: replace(of_shape[same.loc[parcel_id]], parcel_id=parcel_id)
        for parcel_id in natural_order(shapes.index)
    }


def _placed(
    settings: Settings,
    site: Site,
    pad: RequiredPad,
    searches: dict[str, ParcelSearch],
    chosen: Sequence[Chosen],
    watch: Watch,
) -> Placed:
    """Choose places; a parcel of which no place passes is searched again with many more."""
    crs = site.layers.crs
    placed = chosen_places(pads_of(list(searches.values()), pad, crs), chosen, site, watch=watch)
    best = placed.pads[placed.pads["role"] == "best"]
    failed = best.loc[~best["passes"], "parcel_id"]
    again = [parcel_id for parcel_id in failed if len(searches[parcel_id].places) >= KEEP]
    if not again:
        return placed
    taken = takers(site, settings.setbacks)
    for parcel_id in watch(again, "Looking again where no place passes", len(again)):
        searches[parcel_id] = search_parcel(
            parcel_id,
            site.layers.parcels.geometry.loc[parcel_id],
            pad=pad,
            site=site,
            setbacks=settings.setbacks,
            taken=taken,
            keep=_SECOND_LOOK,
        )
    wider = pads_of([searches[parcel_id] for parcel_id in again], pad, crs)
    return joined(placed, chosen_places(wider, chosen, site, watch=watch))


def _largest(searches: dict[str, ParcelSearch]) -> pd.DataFrame:
    rows = {
        parcel_id: (
            each.largest.scale,
            each.largest.easting,
            each.largest.northing,
            each.largest.rotation_deg,
        )
        for parcel_id, each in searches.items()
    }
    columns = ["scale", "easting", "northing", "rotation_deg"]
    return pd.DataFrame.from_dict(rows, orient="index", columns=columns)


def _ledger(searches: dict[str, ParcelSearch]) -> pd.DataFrame:
    rows = [
        (parcel_id, row.rule, row.removed_m2, row.margin, row.unit, row.source)
        for parcel_id, each in searches.items()
        for row in each.ledger
    ]
    columns = ["parcel_id", "rule", "removed_m2", "margin", "unit", "source"]
    return pd.DataFrame(rows, columns=columns)


def _low_spots(site: Site) -> gpd.GeoDataFrame:
    spots, ground = site.low_spots, site.ground
    columns = ["low_spot", "depth_m", "area_m2", "volume_m3"]
    if spots is None or ground is None:
        return gpd.GeoDataFrame(columns=columns, geometry=[], crs=site.layers.crs)
    table = {
        "low_spot": [str(number) for number in spots.id],
        "depth_m": spots.depth_m,
        "area_m2": spots.area_m2,
        "volume_m3": spots.volume_m3,
    }
    shapes = low_spot_polygons(spots.labels, ground.transform)
    return gpd.GeoDataFrame(table, geometry=shapes, crs=site.layers.crs)


def _result(
    settings: Settings, found: Found, chosen: Sequence[Chosen], sha256: dict[str, str]
) -> Result:
    study = settings.study
    tables = answer_tables(found, found.layers, chosen, least_known_pct=study.least_known_pct)
    facts = Study(
        title=study.title,
        units=study.units,
        profile=study.profile,
        least_known_pct=study.least_known_pct,
        made_on=_today(),
        version=metadata.version("playsite"),
        crs=found.layers.crs.to_string(),
        line_error_m=settings.setbacks.line_error_m,
        setbacks=_setbacks_text(settings),
        folder=settings.folder,
    )
    return Result(
        study=facts,
        pad=found.pad,
        criteria=tuple(chosen),
        low_spots=found.low_spots,
        contours=found.contours,
        base_map=found.base_map,
        findings=found.findings,
        layers=found.layers.sources,
        run=_run_record(settings, found, chosen, sha256),
        **tables,
    )


def _input_sha256(settings: Settings) -> dict[str, str]:
    """SHA-256 of every file that the study names; a missing one is a problem told elsewhere."""
    paths = dict.fromkeys(source.path for each in settings.layers.values() for source in each)
    return {path: sha256_of(settings.folder / path) for path in paths}


def _setbacks_text(settings: Settings) -> str:
    given = settings.setbacks.model_dump(exclude={"line_error_m"})
    words = {name.removesuffix("_m").replace("_", " "): metres for name, metres in given.items()}
    return "; ".join(f"{name} {metres or 0:.4g} m" for name, metres in words.items())


def _run_record(
    settings: Settings, found: Found, chosen: Sequence[Chosen], sha256: dict[str, str]
) -> dict[str, Any]:
    cited = {str(source) for each in chosen for source in each.criterion.sources}
    cited |= {knot.source for each in chosen for knot in each.curve.knots}
    return {
        "title": settings.study.title,
        "made_on": _today(),
        "settings": settings.as_read(),
        "crs": found.layers.crs.to_string(),
        "versions": versions_in_use(),
        "sha256": sha256,
        "criteria": [
            {"name": each.name, "package": each.package, "weight": each.weight} for each in chosen
        ],
        "cited": sorted(cited),
        "findings": [str(finding) for finding in found.findings],
    }


def _today() -> str:
    """Date of the run; ``SOURCE_DATE_EPOCH`` fixes it, for outputs that are equal to the byte."""
    fixed = os.environ.get("SOURCE_DATE_EPOCH")
    now = dt.datetime.fromtimestamp(int(fixed), tz=dt.UTC) if fixed else dt.datetime.now(tz=dt.UTC)
    return now.date().isoformat()
