"""Rows as columns: of a hundred thousand parcels the names of their fields stand in the page once."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["as_columns", "lean"]


def as_columns(rows: list[dict[str, Any]]) -> dict[str, list[Any]]:
    """Give each field's values, one a row; None where a row has none.

    Examples
    --------
    >>> as_columns([{"no": 1, "name": "Mill Lane"}, {"no": 2}])
    {'no': [1, 2], 'name': ['Mill Lane', None]}
    """
    fields = dict.fromkeys(field for row in rows for field in row)
    return {field: [row.get(field) for row in rows] for field in fields}


def lean(rows: list[dict[str, Any]], before: int) -> list[dict[str, Any]]:
    """Write what differs little in small numbers, which pack well; the page undoes it.

    A rank as its distance from the row's place, of which ``before`` rows stand before these; shapes on
    a parcel from the parcel's own first corner.
    """
    return [_lean(row, before + place) for place, row in enumerate(rows, start=1)]


def _lean(row: dict[str, Any], place: int) -> dict[str, Any]:
    own = dict(row)
    if own.get("rank") is not None:
        own["rank"] -= place
    corner = row["parcel"][0][0][:2] if row.get("parcel") else (0, 0)
    for name in ("pad", "ghost", "others"):
        if name in row:
            own[name] = [[_moved(ring, corner) for ring in rings] for rings in row[name]]
    return own


def _moved(ring: list[int], corner: Sequence[int]) -> list[int]:
    return [ring[0] - corner[0], ring[1] - corner[1], *ring[2:]]
