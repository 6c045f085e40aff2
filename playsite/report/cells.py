"""Cells of tables: how many decimals a column has, and what is missing."""

from __future__ import annotations

import math
from typing import Any

import pandas as pd

from playsite.csv_cells import guarded

__all__ = ["cell_text", "is_missing_cell", "places_of"]

_PLACES_OF_UNIT = {
    **dict.fromkeys(("m", "deg", "min"), 3),
    **dict.fromkeys(("m2", "m3"), 2),
    **dict.fromkeys(("ratio", "rating"), 6),
    **dict.fromkeys(("count", "level"), 0),
    "pct": 4,
}
_PLACES = {
    **dict.fromkeys(("children", "newly_served", "still_without", "plus_minus"), 1),
    "score": 6,
    "score_low": 6,
    "score_high": 6,
    "known_share": 6,
    "straight_m": 3,
    "rank": 0,
    "site_no": 0,
    "pad_easting": 3,
    "pad_northing": 3,
    "pad_rotation_deg": 3,
    "removed_m2": 2,
    "weight": 6,
    **dict.fromkeys(("ballots", "approvals", "first_choices", "wins", "losses"), 0),
    "points": 1,
    "rank_1_share": 4,
    "top_3_share": 4,
    "regret_max": 6,
    "probability": 4,
    "quantity": 3,
    **dict.fromkeys(("price_low", "price_mid", "price_high"), 4),
    **dict.fromkeys(("p10", "p50", "p80", "p90"), 0),
    "rank_was": 0,
    "rank_is": 0,
    "score_was": 6,
    "score_is": 6,
}
_IN_ROWS_UNIT = {"value", "low", "high", "map_value", "margin", "at"}


def places_of(name: str, unit: str = "") -> int | None:
    """Decimals of a column: those that are listed, else by its unit; None for text.

    Parameters
    ----------
    unit
        What the row says of the unit, where it says it.
    """
    if name in _IN_ROWS_UNIT:
        return _PLACES_OF_UNIT.get(unit, 6)
    if name in _PLACES:
        return _PLACES[name]
    return _PLACES_OF_UNIT.get(name.rsplit("_", 1)[-1]) if "_" in name else None


def cell_text(value: Any, places: int | None) -> str:
    """Text of a cell of a CSV file: a number to its decimals, text guarded, nothing for the missing."""
    if is_missing_cell(value):
        return ""
    if places is None:
        return guarded(str(value))
    number = float(value)
    if math.isinf(number):
        return "inf" if number > 0 else "-inf"
    text = f"{number:.{places}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text


def is_missing_cell(value: Any) -> bool:
    """Whether a cell holds nothing."""
    return value is None or value is pd.NA or value is pd.NaT or (value != value)  # noqa: PLR0124
