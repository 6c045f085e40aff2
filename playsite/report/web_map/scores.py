"""Scores of the ranked sites for the page, from which it adds up under any weights."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from playsite.ranking.scores import is_enough
from playsite.report.wording import records

if TYPE_CHECKING:
    import pandas as pd

    from playsite.result import Result

__all__ = ["common", "lacking", "reads", "scores", "spans"]

MOST_CURVES = 400
"""Foremost sites of which intervals and what a curve reads are on the page."""


def lacking(result: Result) -> list[int]:
    """Numbers of the sites that are not ranked for one reason: too little of the weight is known.

    Under other weights enough may be. Only those whose measurements are told.
    """
    sites = result.sites
    bare = (sites["status"] == "not assessed") & sites["known_share"].notna()
    bare &= ~is_enough(sites["known_share"], result.study.least_known_pct)
    told = sites["parcel_id"].isin(result.measurements["parcel_id"])
    return [int(no) for no in sites.loc[bare & told, "site_no"]]


def scores(result: Result) -> list[list[float | None]]:
    """Give a column a criterion, a row a site: 0 to 1, None where unknown.

    First those that are ranked, in order, then those of `lacking`. Of a very large town only the
    foremost sites have rows: those whose measurements are told. They are written in full: what the
    page adds up is what the study added up.
    """
    told = set(result.measurements["parcel_id"])
    bare = result.sites["site_no"].isin(lacking(result))
    parcels = [*result.ranked["parcel_id"], *result.sites.loc[bare, "parcel_id"]]
    row = {parcel: n for n, parcel in enumerate(p for p in parcels if p in told)}
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


def common(result: Result) -> list[list[float | None] | float]:
    """Give a column a criterion: what all sites share of the error; one number where it is one."""
    if result.firm.common is None:
        return []
    columns = _columns(result, result.firm.common)
    return [column[0] or 0.0 if len(set(column)) == 1 else column for column in columns]


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
