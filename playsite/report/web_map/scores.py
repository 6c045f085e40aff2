"""Scores of the ranked sites for the page, from which it adds up under any weights."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from playsite.report.wording import records

if TYPE_CHECKING:
    import pandas as pd

    from playsite.result import Result

__all__ = ["reads", "scores", "spans"]

MOST_CURVES = 400
"""Foremost sites of which intervals and what a curve reads are on the page."""


def scores(result: Result) -> list[list[float | None]]:
    """Give a column a criterion, a row a ranked site in order: 0 to 1, None where unknown.

    Of a very large town only the foremost sites have rows: those whose measurements are told.
    They are written in full: what the page adds up is what the study added up.
    """
    told = set(result.measurements["parcel_id"])
    here = [parcel for parcel in result.ranked["parcel_id"] if parcel in told]
    row = {parcel: place for place, parcel in enumerate(here)}
    columns: dict[str, list[float | None]] = {
        chosen.name: [None] * len(row) for chosen in result.criteria
    }
    for each in records(result.measurements[["parcel_id", "criterion", "score"]]):
        if each["parcel_id"] in row and each["criterion"] in columns and _is_number(each["score"]):
            columns[each["criterion"]][row[each["parcel_id"]]] = float(each["score"])
    return list(columns.values())


def spans(result: Result) -> list[list[list[float] | None]]:
    """Give a column a criterion: least and greatest score that the intervals of values allow."""
    low, high = (_columns(result, table) for table in (result.firm.low, result.firm.high))
    return [
        [
            None if least is None or most is None else [least, most]
            for least, most in zip(*ends, strict=True)
        ]
        for ends in zip(low, high, strict=True)
    ]


def reads(result: Result) -> list[list[float | None]]:
    """Give a column a criterion: what its curve reads at each of the foremost sites."""
    return _columns(result, result.firm.reads)


def _columns(result: Result, table: pd.DataFrame) -> list[list[float | None]]:
    if table.empty:
        return []
    foremost = table.reindex(result.ranked["parcel_id"].iloc[:MOST_CURVES])
    return [
        [float(f"{value:.6g}") if _is_number(value) else None for value in foremost[each.name]]
        for each in result.criteria
    ]


def _is_number(score: float | None) -> bool:
    return score is not None and math.isfinite(score)
