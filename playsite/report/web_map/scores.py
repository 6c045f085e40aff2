"""Scores of the ranked sites for the page, from which it adds up under any weights."""

from __future__ import annotations

import base64
import math
from typing import TYPE_CHECKING

import numpy as np

from playsite.ranking.scores import is_enough

if TYPE_CHECKING:
    import pandas as pd

    from playsite.result import Result

__all__ = ["common", "in_full", "lacking", "packed", "reads", "score_table", "spans"]

MOST_CURVES = 400
"""Foremost sites of which intervals and what a curve reads are on the page."""


def lacking(result: Result) -> list[int]:
    """Numbers of the sites that are not ranked for one reason: too little of the weight is known.

    Under other weights enough may be. Only those that have scores.
    """
    sites = result.sites
    bare = (sites["status"] == "not assessed") & sites["known_share"].notna()
    bare &= ~is_enough(sites["known_share"], result.study.least_known_pct)
    told = sites["parcel_id"].isin(result.measurements["parcel_id"])
    return [int(no) for no in sites.loc[bare & told, "site_no"]]


def score_table(result: Result, *, most: int | None = None) -> pd.DataFrame:
    """Give a column a criterion, a row a site: 0 to 1, NaN where unknown.

    First those that are ranked, in order, of very many the first ``most``; then those of `lacking`.
    """
    bare = result.sites["site_no"].isin(lacking(result))
    ranked = result.ranked["parcel_id"].iloc[:most]
    table = result.measurements.pivot_table(
        index="parcel_id", columns="criterion", values="score", dropna=False, aggfunc="first"
    )
    rows = [*ranked, *result.sites.loc[bare, "parcel_id"]]
    return table.reindex(index=rows, columns=[each.name for each in result.criteria])


def in_full(table: pd.DataFrame) -> list[list[float | None]]:
    """Write scores so that what the page adds up is what the study added up; None: unknown."""
    columns = table.to_numpy(float).T.tolist()
    return [[value if _is_number(value) else None for value in column] for column in columns]


def packed(table: pd.DataFrame) -> list[str]:
    """Write scores in two bytes each, to 1/65,534; 65,535: unknown. The page unpacks them."""
    steps = np.round(table.to_numpy(float) * 65_534)
    words = np.where(np.isnan(steps), 65_535, steps).astype("<u2")
    return [base64.b64encode(column.tobytes()).decode() for column in words.T]


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
