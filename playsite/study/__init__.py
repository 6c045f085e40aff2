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

from playsite._words_file import Words, read_words
from playsite.cost.checking import check_cost, check_parcels
from playsite.criteria._registry import choose, installed
from playsite.engine import Watch, quietly
from playsite.layers import read_layers
from playsite.layers.files import sha256_of
from playsite.problems import Problems, nearest_word
from playsite.program.required import check_programs
from playsite.result import Desk, Result, Study
from playsite.settings import read_settings
from playsite.site import Site
from playsite.study.assembling import answer_tables, natural_order
from playsite.study.ballot_files import ballot_files, read_ballots
from playsite.study.choosing import joined
from playsite.study.costing import check_charter, with_money
from playsite.study.drawing import base_map
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
from playsite.study.obstacles import drawn_obstacles, kept_clear, obstacles_of
from playsite.study.one_part import Asked, part_of_town
from playsite.study.parts import parts_of
from playsite.study.visiting import checked_log, marked, visited
from playsite.study.weight_files import group_files, member_weights, with_group_weights

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from playsite.criteria._registry import Chosen
    from playsite.layers import Layers
    from playsite.problems import Finding
    from playsite.ranking.ballots import Ballots
    from playsite.settings import Settings
    from playsite.study.visiting import Visited
    from playsite.visits import Visit

__all__ = ["check", "needed_pad", "needed_pads", "run"]


def check(file: str | Path) -> tuple[Settings, Layers, tuple[Finding, ...]]:
    """Run the gate alone: read settings, layers and criteria, and compute nothing from them.

    Raises
    ------
    InputError
        With every problem found, told at once.
    """
    problems = Problems()
    settings = read_settings(file, problems)
    chosen = choose(settings, problems)
    members = member_weights(settings, chosen, problems)
    chosen = with_group_weights(chosen, members, settings, problems)
    _check_letterhead(settings, problems)
    _words(settings, problems)
    check_programs(settings.every_program, problems, settings.place)
    check_cost(settings, problems)
    check_charter(settings, chosen, problems)
    layers = read_layers(settings, problems)
    _check_crossed(settings, layers, problems)
    check_parcels(settings, layers.parcels.index, problems)
    _ballots(settings, layers.parcels.index, problems)
    problems.stop_if_any()
    return settings, layers, (*layers.findings, *Site(layers, settings).findings)


def run(
    file: str | Path,
    *,
    watch: Watch = quietly,
    fresh: bool = False,
    price: bool = False,
    log: Sequence[Visit] | None = None,
) -> Result:
    """Rank the parcels of a study.

    Parameters
    ----------
    file
        The study file, or the folder that holds a ``study.toml``.
    watch
        Shows the progress of long steps.
    fresh
        Measure again even where an earlier run with the same inputs is remembered.
    price
        Price the sites even where the study has no ``[cost]``, by the shipped prices.
    log
        Visits to count; absent: those of ``visits.csv`` beside the study.

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
    members = member_weights(settings, chosen, problems)
    chosen = with_group_weights(chosen, members, settings, problems)
    check_programs(settings.every_program, problems, settings.place)
    _check_letterhead(settings, problems)
    words = _words(settings, problems)
    book, limits = check_cost(settings, problems), check_charter(settings, chosen, problems)
    visits = checked_log(settings, chosen, problems) if log is None else log
    sha256 = _input_sha256(settings)
    key = "" if problems.items else fingerprint(settings, chosen, sha256)
    found = recall(key, Found) if key and not fresh else None
    if found is None:
        found = _found(settings, _layers(settings, problems), chosen, watch, key)
        remember(key, found)
        forget_parts(key)
    check_parcels(settings, found.parcels.index, problems)
    ballots = _ballots(settings, found.parcels.index, problems)
    problems.stop_if_any()
    asked = Asked(settings, found.pad, found.beside, chosen)
    read = functools.partial(_layers, settings, problems)
    spots = obstacles_of(visits, found.parcels.geometry)
    seen = visited(kept_clear(found, spots, asked, read, key, watch), visits, chosen)
    result = _result(settings, found, seen, chosen, members, sha256)
    if spots:
        told = drawn_obstacles(spots, result.evidence.crs)
        result = replace(result, evidence=pd.concat([result.evidence, told], ignore_index=True))
    result = replace(result, ballots=ballots, study=replace(result.study, words=words))
    return with_money(result, settings, seen.found, book=book, limits=limits, price=price)


def _layers(settings: Settings, problems: Problems) -> Layers:
    """Read the layers; what is wrong with them or was before stops the run."""
    layers = read_layers(settings, problems)
    _check_crossed(settings, layers, problems)
    _ballots(settings, layers.parcels.index, problems)
    problems.stop_if_any()
    return layers


def _ballots(settings: Settings, parcels: Iterable[str], problems: Problems) -> Ballots | None:
    """Ballots of a study; a comment may be about any criterion that is installed."""
    return read_ballots(settings, natural_order(parcels), sorted(installed()), problems)


def _check_crossed(settings: Settings, layers: Layers, problems: Problems) -> None:
    """Tell of streets that the study lets people cross and that the map doesn't name."""
    asked, streets = settings.walks.cross_busy_streets, layers.get("streets")
    if isinstance(asked, bool) or streets is None:
        return
    names = sorted({str(name).strip() for name in streets["name"].dropna()})
    known = {name.lower() for name in names}
    for name in asked:
        if name.strip().lower() not in known:
            what = f'no street near the parcels is called "{name}".'
            problems.add(
                what, nearest_word(name, names), **settings.place("walks", "cross_busy_streets")
            )


def _found(
    settings: Settings, layers: Layers, chosen: Sequence[Chosen], watch: Watch, key: str
) -> Found:
    """Find out all that does not depend on weights, part by part; a finished part is kept."""
    site = Site(layers, settings)
    asked = Asked(settings, needed_pad(settings), needed_pads(settings), chosen)
    rasters = [each for each in (layers.elevation, layers.surface) if each is not None]
    windowed_m = [each.cell_m for each in rasters if not each.is_whole]
    parts = parts_of(layers.parcels, cell_m=min(windowed_m, default=None))
    done: list[Part] = []
    for number, parcels in enumerate(watch(parts, "Parts of the town", len(parts))):
        name = f"{key}-{number}"
        known = recall(name, Part) if len(parts) > 1 else None
        if known is None:
            is_whole = len(parts) == 1 and not windowed_m
            here = site if is_whole else site.part(parcels)
            known = part_of_town(asked, here, watch)
            if len(parts) > 1:
                remember(name, known)
        done.append(known)
    return _joined(done, layers, site, asked)


def _joined(parts: Sequence[Part], layers: Layers, site: Site, asked: Asked) -> Found:
    placed = functools.reduce(joined, (part.placed for part in parts))
    spots = pd.concat([part.low_spots for part in parts], ignore_index=True)
    spots = spots[~spots.geometry.normalize().to_wkb().duplicated()].reset_index(drop=True)
    spots["low_spot"] = [str(number) for number in range(1, len(spots) + 1)]
    ledger = pd.concat([part.ledger for part in parts], ignore_index=True)
    return Found(
        pad=asked.pad,
        beside=asked.beside,
        layers=replace(layers, frames={}, elevation=None, surface=None),
        parcels=layers.parcels,
        largest=pd.concat([part.largest for part in parts]),
        ledger=ledger.iloc[_in_natural_order(ledger["parcel_id"])].reset_index(drop=True),
        taken=_stacked([part.taken for part in parts]),
        pads=placed.pads,
        measured=placed.measured,
        low_spots=gpd.GeoDataFrame(spots, crs=layers.crs),
        contours=pd.concat([part.contours for part in parts], ignore_index=True),
        base_map=base_map(site),
        findings=(*layers.findings, *_once(part.findings for part in parts)),
        fits_beside=pd.concat([part.fits_beside for part in parts]),
        rooms=pd.concat([part.rooms for part in parts], ignore_index=True),
        relaxations=pd.concat([part.relaxations for part in parts], ignore_index=True),
        earthwork=pd.concat([part.earthwork for part in parts], ignore_index=True),
        water=pd.concat([part.water for part in parts], ignore_index=True),
        need=_stacked([part.need for part in parts]).drop_duplicates(ignore_index=True),
        homes=_stacked([part.homes for part in parts]),
        sections=pd.concat([part.sections for part in parts], ignore_index=True),
        grading=pd.concat([part.grading for part in parts], ignore_index=True),
        arrows=pd.concat([part.arrows for part in parts], ignore_index=True),
        grade_areas=_stacked([part.grade_areas for part in parts]),
        shade=_stacked([part.shade for part in parts]),
    )


def _stacked(tables: Sequence[Any]) -> Any:
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
    settings: Settings,
    desk: Found,
    seen: Visited,
    chosen: Sequence[Chosen],
    members: pd.DataFrame,
    sha256: dict[str, str],
) -> Result:
    study, found = settings.study, seen.found
    answer = functools.partial(answer_tables, chosen=chosen, least_known_pct=study.least_known_pct)
    tables = answer(found, found.layers, members=members, visits=seen.counting)
    told = marked(tables["measurements"], tables["evidence"], seen.counting)
    tables["measurements"], tables["evidence"] = told
    before = None
    if len(seen.counting):
        alone = answer(desk, desk.layers, firm=False)
        before = Desk(alone["sites"], alone["measurements"])
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
        letterhead=settings.folder / study.letterhead if study.letterhead else None,
    )
    return Result(
        study=facts,
        pad=found.pad,
        beside=found.beside,
        fits_beside=found.fits_beside,
        rooms=found.rooms,
        relaxations=found.relaxations,
        earthwork=found.earthwork,
        water=found.water,
        need=found.need,
        homes=found.homes,
        taken=found.taken,
        sections=found.sections,
        grading=found.grading,
        arrows=found.arrows,
        grade_areas=found.grade_areas,
        shade=found.shade,
        criteria=tuple(chosen),
        members=members,
        low_spots=found.low_spots,
        contours=found.contours,
        base_map=found.base_map,
        findings=(*found.findings, *seen.findings),
        layers=found.layers.sources,
        visits=seen.rows,
        desk=before,
        run=_run_record(settings, seen, chosen, sha256),
        **tables,
    )


def _input_sha256(settings: Settings) -> dict[str, str]:
    """SHA-256 of every file that the study names; a missing one is a problem told elsewhere."""
    paths = dict.fromkeys(source.path for each in settings.layers.values() for source in each)
    return {path: sha256_of(settings.folder / path) for path in paths}


def _price_sha256(settings: Settings) -> dict[str, str]:
    """SHA-256 of the files of prices that the study names."""
    cost = settings.cost
    paths = [path for path in ((cost.prices, cost.bids) if cost else ()) if path is not None]
    return {path: sha256_of(settings.folder / path) for path in paths}


def _people_sha256(settings: Settings) -> dict[str, str]:
    """SHA-256 of what people filled in; no measurement depends on it."""
    return {
        os.path.relpath(file, settings.folder): sha256_of(file)
        for file in (*group_files(settings), *ballot_files(settings))
    }


def _words(settings: Settings, problems: Problems) -> Words:
    """Words of another language for the map; English where the study names none."""
    given = settings.study.words
    return Words() if given is None else read_words(settings.folder / given, problems)


def _check_letterhead(settings: Settings, problems: Problems) -> None:
    given = settings.study.letterhead
    if given is not None and not (settings.folder / given).is_file():
        problems.add(
            f'There is no file "{given}".',
            "Name a .docx beside the study, or leave letterhead out.",
            **settings.place("study", "letterhead"),
        )


def _setbacks_text(settings: Settings) -> str:
    given = settings.setbacks.model_dump(exclude={"line_error_m", "root_diameters"})
    words = {name.removesuffix("_m").replace("_", " "): metres for name, metres in given.items()}
    said = [f"{name} {metres:.4g} m" for name, metres in words.items() if metres]
    roots = settings.setbacks.root_diameters
    said += [f"roots of trees {roots:g} stem diameters"] if roots else []
    none = [name for name, metres in words.items() if not metres] + ([] if roots else ["roots"])
    return "; ".join([*said, f"nothing from {', '.join(none)}"] if none else said)


def _run_record(
    settings: Settings, seen: Visited, chosen: Sequence[Chosen], sha256: dict[str, str]
) -> dict[str, Any]:
    cited = {str(source) for each in chosen for source in each.criterion.sources}
    cited |= {knot.source for each in chosen for knot in each.curve.knots}
    return {
        "title": settings.study.title,
        "made_on": _today(),
        "settings": settings.as_read(),
        "crs": seen.found.layers.crs.to_string(),
        "versions": versions_in_use(),
        "sha256": {**sha256, **_price_sha256(settings), **_people_sha256(settings)},
        "visits": seen.counting.drop(columns="standing").to_dict("records"),
        "criteria": [
            {"name": each.name, "package": each.package, "weight": each.weight} for each in chosen
        ],
        "cited": sorted(cited),
        "findings": [str(finding) for finding in (*seen.found.findings, *seen.findings)],
    }


def _today() -> str:
    """Date of the run; ``SOURCE_DATE_EPOCH`` fixes it, for outputs that are equal to the byte."""
    fixed = os.environ.get("SOURCE_DATE_EPOCH")
    now = dt.datetime.fromtimestamp(int(fixed), tz=dt.UTC) if fixed else dt.datetime.now(tz=dt.UTC)
    return now.date().isoformat()
