"""Weights of a working group: each member's own, by swing points or by order alone."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import pandas as pd

from playsite.problems import nearest_word
from playsite.ranking.rank_order import centroid_weights
from playsite.study.people_csv import csv_rows

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from playsite.criteria._registry import Chosen
    from playsite.problems import Problems
    from playsite.settings import Settings
    from playsite.study.people_csv import Row

__all__ = ["WEIGHT_COLUMNS", "group_files", "member_weights", "with_group_weights"]

WEIGHT_COLUMNS = ("member", "criterion", "swing", "rank")
_MOST_SWING = 100


def group_files(settings: Settings) -> list[Path]:
    """Files of the working group: one, or every CSV of a folder, by name."""
    if settings.weights is None:
        return []
    given = settings.folder / settings.weights.source
    return sorted(given.glob("*.csv")) if given.is_dir() else [given]


def member_weights(
    settings: Settings, chosen: Sequence[Chosen], problems: Problems
) -> pd.DataFrame:
    """Weights of each member, a row a member, a column a criterion; each row adds up to 1.

    A member says 0 to 100 for the swing of each criterion from poor to ideal, or only ranks them
    (1 is the first): then the weights are those of the rank-order centroid. Empty where the study
    names no working group.
    """
    if settings.weights is None:
        return pd.DataFrame()
    at = settings.place("weights", "from")
    files = group_files(settings)
    if not files:
        problems.add(f'"{settings.weights.source}" holds no CSV of a member.', **at)
    for name, said in settings.criteria.items():
        if said.weight:
            problems.add(
                f'the weight of "{name}" is said twice: here and by the working group.',
                "Take one out; 0 here leaves the criterion out of the group's form.",
                **settings.place("criteria", name, "weight"),
            )
    rows = [
        (row["member"] or file.stem, row)
        for file in files
        for row in csv_rows(file, problems, needs=("criterion",), knows=("member", "swing", "rank"))
    ]
    of_member: dict[str, dict[str, Row]] = {}
    known = [each.name for each in chosen]
    for member, row in rows:
        name, own = row["criterion"].replace(" ", "_"), of_member.setdefault(member, {})
        if name not in known:
            problems.add(
                f'criterion "{name}" is not in use.', nearest_word(name, known), **row.place
            )
        elif name in own:
            problems.add(f'member "{member}" gives "{name}" twice.', **row.place)
        else:
            own[name] = row
    due = [each.name for each in chosen if each.weight > 0]
    sets = {m: _set_of(m, own, due, problems) for m, own in of_member.items()}
    table = pd.DataFrame([s for s in sets.values() if s], index=[m for m, s in sets.items() if s])
    return table.reindex(columns=known).fillna(0.0).loc[:, lambda t: (t > 0).any()]


def _set_of(
    member: str, rows: dict[str, Row], due: Sequence[str], problems: Problems
) -> dict[str, float]:
    """One member's weights, adding up to 1; empty where they are at fault."""
    kind = "swing" if any(row["swing"] for row in rows.values()) else "rank"
    before = len(problems.items)
    given: dict[str, float] = {}
    silent = [name for name in rows if not rows[name][kind]]
    if silent:
        what = f'member "{member}" gives no {kind} for {", ".join(silent)}.'
        remedy = "Give 0 where one should count for nothing." if kind == "swing" else ""
        problems.add(what, remedy, **rows[silent[0]].place)
    for name, row in rows.items():
        if name in silent:
            continue
        number = _number(row[kind])
        if kind == "swing" and not 0 <= number <= _MOST_SWING:
            problems.add(f'"{row[kind]}" is no swing: expected 0 to 100.', **row.place)
        elif kind == "rank" and not (number >= 1 and number.is_integer()):
            problems.add(f'"{row[kind]}" is no rank: expected 1, 2, 3 and so on.', **row.place)
        else:
            given[name] = number if kind == "swing" else 1 / number
    lacking = [name for name in due if name not in rows]
    place = next(iter(rows.values())).place if rows else {}
    if lacking:
        problems.add(
            f'member "{member}" leaves out: {", ".join(lacking)}.',
            'Each member gives all that count; "weight = 0" in the study leaves one out.',
            file=place.get("file", ""),
        )
    elif len(problems.items) == before and sum(given.values()) <= 0:
        problems.add(f'member "{member}" gives everything 0.', **place)
    if len(problems.items) > before:
        return {}
    weights = pd.Series(given) if kind == "swing" else centroid_weights(given)
    return {str(name): float(w) for name, w in (weights / weights.sum()).items()}


def _number(text: str) -> float:
    try:
        return float(text.replace(",", "."))
    except ValueError:
        return math.nan


def with_group_weights(
    chosen: Sequence[Chosen], members: pd.DataFrame, settings: Settings, problems: Problems
) -> tuple[Chosen, ...]:
    """Criteria with the median of the members' weights, made to add up to 1."""
    if members.empty:
        return tuple(chosen)
    median = members.median()
    if median.sum() <= 0:
        what = "the median of the members' weights is 0 for every criterion."
        problems.add(what, "The members agree on nothing; talk again.", **settings.place("weights"))
        return tuple(chosen)
    share = median / median.sum()
    return tuple(replace(each, weight=float(share.get(each.name, 0.0))) for each in chosen)
