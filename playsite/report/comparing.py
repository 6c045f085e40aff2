"""Two runs side by side, from their result folders alone: what changed, and why."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import pandas as pd

from playsite.csv_cells import unguarded
from playsite.errors import InputError
from playsite.problems import Problem
from playsite.report.changes import Picture, sentences_of, site_changes
from playsite.report.cost_changes import cost_change_lines
from playsite.report.people_units import percent_text, value_text
from playsite.report.wording import date_text, joined, plain_cell, records, site_title

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from playsite.report.changes import SiteChange
    from playsite.report.wording import Row

__all__ = ["Run", "comparison_lines", "read_run"]

_FILES = ("sites.csv", "measurements.csv", "run.json")
_COSTS = "costs.csv"
_TEXT = {
    *(
        "parcel_id",
        "name",
        "status",
        "conditions",
        "reason",
        "criterion",
        "unit",
        "origin",
        "layer",
    ),
    *("layer_date", "method", "source", "note", "line", "differs_between_sites"),
}
_OF_THE_RUN = {
    "made_on",
    "criteria",
    "sha256",
    "versions",
    "visits",
    "findings",
    "cited",
    "settings",
}
_MOST_NAMED = 8
_LEAST_SHARE = 5e-4


@dataclass(frozen=True)
class Run:
    """One run as its folder tells it: its picture, how it was made, and its costs where it has any."""

    picture: Picture
    record: Mapping[str, Any]
    costs: pd.DataFrame | None = None


def read_run(folder: Path) -> Run:
    """Read a result folder.

    Raises
    ------
    InputError
        If it isn't one, with every file that is missing or can't be read.
    """
    problems = [
        Problem(
            f"there is no {name} in it.",
            "Give the folder that `playsite rank` wrote.",
            file=str(folder),
        )
        for name in _FILES
        if not (folder / name).is_file()
    ]
    if problems:
        raise InputError(problems)
    try:
        record = json.loads((folder / "run.json").read_text(encoding="utf-8"))
        tables = [_table(folder / name) for name in _FILES[:2]]
        costs = _table(folder / _COSTS) if (folder / _COSTS).is_file() else None
        weights = {str(each["name"]): float(each["weight"]) for each in record["criteria"]}
        units = str(record["settings"]["study"]["units"])
        visits = [_numbered(row) for row in record.get("visits", [])]
    except (OSError, ValueError, KeyError, TypeError) as error:
        what = f"its tables can't be read: {type(error).__name__}: {error}."
        raise InputError([Problem(what, "Rank the study again.", file=str(folder))]) from None
    return Run(Picture(tables[0], tables[1], weights, visits, units), record, costs)


def _table(path: Path) -> pd.DataFrame:
    """Table with ids and words as text, whatever they look like, and all else as numbers."""
    table = pd.read_csv(path, dtype=str, keep_default_na=False)
    for name in table.columns:
        if name in _TEXT:
            table[name] = table[name].map(unguarded)
        else:
            table[name] = [float(cell or "nan") for cell in table[name]]
    return table.astype({name: int for name in ("site_no",) if name in table})


def _numbered(row: Mapping[str, Any]) -> dict[str, Any]:
    """A visit with its numbers as numbers: JSON writes what is without end as a word."""
    done = {name: row[name] for name in ("parcel_id", "criterion", "unit", "date", "note", "role")}
    for name in ("value", "map_value"):
        done[name] = float("nan") if row[name] is None else float(row[name])
    return done


def comparison_lines(before: Run, after: Run) -> Iterator[str]:
    """Say what changed between two runs: inputs, settings, weights, visits, then site by site."""
    causes = [
        ("Inputs", _inputs(before, after)),
        ("Settings", _settings(before.record, after.record)),
        ("Weights and criteria", _weights(before, after)),
        ("Visits", _visits(before, after)),
        ("Versions", _mapping(before.record["versions"], after.record["versions"])),
        ("Parcels", _parcels(before, after)),
    ]
    changes = site_changes(before.picture, after.picture)
    for head, said in causes:
        if said:
            yield f"{head}:"
            yield from (f"  {text}" for text in said)
    if not any(said for _, said in causes):
        yield "Inputs, settings, weights, visits and versions are the same."
    if changes:
        yield "Sites:"
        yield from (f"  {text}" for text in sentences_of(changes))
    else:
        yield "No site changes: statuses, ranks, scores and measured values are the same."
    costs = _costs(before, after)
    if costs:
        yield "Cost, beside the score:"
        yield from (f"  {text}" for text in costs)
    if changes:
        yield ""
        yield from _aligned(changes)


def _costs(before: Run, after: Run) -> list[str]:
    if before.costs is None or after.costs is None:
        word = "are new" if before.costs is None else "are no longer there"
        return [] if before.costs is after.costs else [f"the costs {word}"]
    titles = {str(row["parcel_id"]): site_title(row) for row in records(after.picture.sites)}
    said = list(cost_change_lines(before.costs, after.costs, titles))
    return said or ["every line of every site is the same"]


def _inputs(before: Run, after: Run) -> list[str]:
    was, now = before.record["sha256"], after.record["sha256"]
    told = (
        ("changed", [name for name in now if name in was and was[name] != now[name]]),
        ("new", [name for name in now if name not in was]),
        ("no longer used", [name for name in was if name not in now]),
    )
    return [f"{word}: {_some(sorted(names))}" for word, names in told if names]


def _some(names: Sequence[str]) -> str:
    more = len(names) - _MOST_NAMED
    return joined([*names[:_MOST_NAMED], *([f"{more:,} more"] if more > 0 else [])])


def _settings(was: Mapping[str, Any], now: Mapping[str, Any]) -> list[str]:
    others = [{k: v for k, v in record.items() if k not in _OF_THE_RUN} for record in (was, now)]
    return [
        *_mapping(was["settings"], now["settings"]),
        *_mapping(others[0], others[1]),
    ]


def _mapping(was: Mapping[str, Any], now: Mapping[str, Any]) -> list[str]:
    """Entries that differ, by their path of keys."""
    flat = [dict(_flat(each)) for each in (was, now)]
    said = []
    for key in sorted({*flat[0], *flat[1]}):
        texts = [_entry(part[key]) if key in part else "not set" for part in flat]
        if texts[0] != texts[1]:
            said.append(f"{key}: {texts[0]} before, {texts[1]} now")
    return said


def _flat(given: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    if isinstance(given, Mapping) and given:
        for key, value in given.items():
            yield from _flat(value, f"{path}.{key}" if path else str(key))
    elif isinstance(given, list) and any(isinstance(each, Mapping) for each in given):
        for number, value in enumerate(given, start=1):
            yield from _flat(value, path if len(given) == 1 else f"{path}.{number}")
    else:
        yield path, given


def _entry(value: Any) -> str:
    if value is None or value in ({}, []):
        return "not set"
    return f"{value:g}" if isinstance(value, float) else str(value)


def _weights(before: Run, after: Run) -> list[str]:
    was, now = before.picture.weights, after.picture.weights
    said = []
    for name in dict.fromkeys((*now, *was)):
        if name not in was or name not in now:
            said.append(f"{name} is {'new' if name in now else 'left out'}")
        elif abs(now[name] - was[name]) > _LEAST_SHARE:
            shares = [percent_text(100 * each) for each in (was[name], now[name])]
            said.append(f"{name} weighs {shares[1]} of all instead of {shares[0]}")
    return said


def _visits(before: Run, after: Run) -> list[str]:
    was, now = (
        [_visit(row, run.picture.units) for row in run.picture.visits] for run in (before, after)
    )
    return [
        *(f"new: {text}" for text in now if text not in was),
        *(f"no longer counted: {text}" for text in was if text not in now),
    ]


def _visit(row: Row, units: str) -> str:
    note = plain_cell(row["note"])
    value = value_text(row["value"], str(row["unit"]), units)
    day = date_text(plain_cell(row["date"]))
    text = f"parcel {row['parcel_id']}, {row['criterion']} {value} ({day}, {row['role']})"
    return f"{text}: {note}" if note else text


def _parcels(before: Run, after: Run) -> list[str]:
    was, now = (list(run.picture.sites["parcel_id"]) for run in (before, after))
    told = (
        ("new", [name for name in now if name not in set(was)]),
        ("no longer there", [name for name in was if name not in set(now)]),
    )
    return [f"{word}: {_some(names)}" for word, names in told if names]


def _aligned(changes: Sequence[SiteChange]) -> Iterator[str]:
    """The same as a table: site, before, now, why."""
    rows = [("Site", "Before", "Now", "Why")]
    for change in changes:
        stood = [_stood(change.row, when) for when in ("was", "is")]
        rows.append((change.title, *stood, change.row["why"]))
    widths = [max(len(row[place]) for row in rows) for place in range(3)]
    for row in rows:
        yield "  ".join(
            [*(cell.ljust(width) for cell, width in zip(row, widths, strict=False)), row[3]]
        )


def _stood(row: Mapping[str, Any], when: str) -> str:
    if row[f"status_{when}"] != "ranked":
        return str(row[f"status_{when}"])
    return f"{int(row[f'rank_{when}'])}, {100 * float(row[f'score_{when}']):.1f} points"
