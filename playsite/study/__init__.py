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
from playsite.engine import Watch, quietly
from playsite.layers import read_layers
from playsite.layers.files import sha256_of
from playsite.problems import Problems
from playsite.program.required import check_programs
from playsite.result import Result, Study
from playsite.settings import read_settings
from playsite.site import Site
from playsite.study.assembling import answer_tables, natural_order
from playsite.study.choosing import joined
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
from playsite.study.needed import needed_pad, needed_pads
from playsite.study.one_part import Asked, part_of_town
from playsite.study.parts import parts_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from playsite.criteria._registry import Chosen
    from playsite.layers import Layers
    from playsite.problems import Finding
    from playsite.settings import Settings

__all__ = ["check", "needed_pad", "needed_pads", "run"]

_CONTOURED = 24


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
    asked = Asked(settings, needed_pad(settings), needed_pads(settings), chosen)
    elevation = layers.elevation
    windowed = elevation is not None and not elevation.is_whole
    parts = parts_of(layers.parcels, cell_m=elevation.cell_m if windowed and elevation else None)
    done: list[Part] = []
    for number, parcels in enumerate(watch(parts, "Parts of the town", len(parts))):
        name = f"{key}-{number}"
        known = recall(name, Part) if len(parts) > 1 else None
        if known is None:
            here = site if len(parts) == 1 else site.part(parcels)
            known = part_of_town(asked, here, watch)
            if len(parts) > 1:
                remember(name, known)
        done.append(known)
    return _joined(done, layers, site, asked)


def _joined(parts: Sequence[Part], layers: Layers, site: Site, asked: Asked) -> Found:
    placed = functools.reduce(joined, (part.placed for part in parts))
    best = placed.pads[placed.pads["role"] == "best"]
    shown = layers.parcels.loc[best["parcel_id"].iloc[:_CONTOURED]]
    spots = pd.concat([part.low_spots for part in parts], ignore_index=True)
    spots = spots[~spots.geometry.normalize().to_wkb().duplicated()].reset_index(drop=True)
    spots["low_spot"] = [str(number) for number in range(1, len(spots) + 1)]
    ledger = pd.concat([part.ledger for part in parts], ignore_index=True)
    return Found(
        pad=asked.pad,
        beside=asked.beside,
        layers=replace(layers, frames={}, elevation=None),
        parcels=layers.parcels,
        largest=pd.concat([part.largest for part in parts]),
        ledger=ledger.iloc[_in_natural_order(ledger["parcel_id"])].reset_index(drop=True),
        pads=placed.pads,
        measured=placed.measured,
        low_spots=gpd.GeoDataFrame(spots, crs=layers.crs),
        contours=contours(shown, site, units=asked.settings.study.units),
        base_map=base_map(site),
        findings=(*layers.findings, *_once(part.findings for part in parts)),
        fits_beside=pd.concat([part.fits_beside for part in parts]),
        rooms=pd.concat([part.rooms for part in parts], ignore_index=True),
        relaxations=pd.concat([part.relaxations for part in parts], ignore_index=True),
        earthwork=pd.concat([part.earthwork for part in parts], ignore_index=True),
        shade=_stacked([part.shade for part in parts]),
    )


def _stacked(tables: Sequence[gpd.GeoDataFrame]) -> gpd.GeoDataFrame:
    """Put tables on top of one another; an empty one has no say in the columns' types."""
    kept = [table for table in tables if len(table)]
    return pd.concat(kept, ignore_index=True) if kept else tables[0]


def _in_natural_order(names: pd.Series[str]) -> list[int]:
    place = {name: number for number, name in enumerate(natural_order(set(names)))}
    return [int(row) for row in names.map(place).argsort(kind="stable")]


def _once(findings: Iterable[Sequence[Finding]]) -> list[Finding]:
    """Say once what was noticed in several parts of a town."""
    kept: dict[tuple[str, str], Finding] = {}
    for each in (finding for part in findings for finding in part):
        kept.setdefault((each.layer, each.done), each)
    return list(kept.values())


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
        beside=found.beside,
        fits_beside=found.fits_beside,
        rooms=found.rooms,
        relaxations=found.relaxations,
        earthwork=found.earthwork,
        shade=found.shade,
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
    given = settings.setbacks.model_dump(exclude={"line_error_m", "root_diameters"})
    words = {name.removesuffix("_m").replace("_", " "): metres for name, metres in given.items()}
    said = [f"{name} {metres or 0:.4g} m" for name, metres in words.items()]
    roots = settings.setbacks.root_diameters
    return "; ".join([*said, f"roots of trees {roots:g} stem diameters" if roots else "roots 0 m"])


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
