"""Rows as columns: of a hundred thousand parcels the names of their fields stand in the page once."""

from __future__ import annotations

from typing import Any

__all__ = ["as_columns"]


def as_columns(rows: list[dict[str, Any]]) -> dict[str, list[Any]]:
    """Give each field's values, one a row; None where a row has none.

    Examples
    --------
    >>> as_columns([{"no": 1, "name": "Mill Lane"}, {"no": 2}])
    {'no': [1, 2], 'name': ['Mill Lane', None]}
    """
    fields = dict.fromkeys(field for row in rows for field in row)
    return {field: [row.get(field) for row in rows] for field in fields}
