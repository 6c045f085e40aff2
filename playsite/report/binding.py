"""What binds a pad, in words: room at its sides, the one change that would let it fit, smaller programs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.report.people_units import distance_text, in_readers_units, pad_size_text
from playsite.report.wording import joined, plain_cell, records

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd

    from playsite.report.wording import Row
    from playsite.result import Result

__all__ = [
    "by_parcel",
    "change_sentences",
    "program_sentence",
    "programs_that_fit",
    "room_texts",
    "shape_text",
]

_WINDS = {
    "N": "north",
    "NE": "north-east",
    "E": "east",
    "SE": "south-east",
    "S": "south",
    "SW": "south-west",
    "W": "west",
    "NW": "north-west",
}
MOST_CHANGES = 2


def room_texts(rooms: Sequence[Row], units: str) -> list[str]:
    """Room at each side of a pad: "7 ft to the easements, north-east"; the tightest first."""
    ordered = sorted(rooms, key=lambda room: room["distance_m"])
    return [
        f"{_room(room['distance_m'], units)} to {_limit(room, units)}, {_WINDS[room['direction']]}"
        for room in ordered
    ]


def _room(distance_m: float, units: str) -> str:
    return "no room" if distance_m < 0.05 else distance_text(distance_m, units)


def _limit(room: Row, units: str) -> str:
    limit = in_readers_units(plain_cell(room["limit"]), units)
    return limit if limit.startswith(("off limits", "roots")) else f"the {limit}"


def change_sentences(changes: Sequence[Row], units: str) -> list[str]:
    """Which one change would let the pad fit, the least first; empty where none is known."""
    return [_change(row, units) for row in changes[:MOST_CHANGES]]


def _change(row: Row, units: str) -> str:
    rule = in_readers_units(plain_cell(row["rule"]), units)
    change = distance_text(row["change_m"], units)
    if row["kind"] == "parcel":
        return f"No rule is to blame: on the bare lot the play area's width is {change} too much."
    if row["kind"] == "gone":
        return f"It would fit if this one rule did not hold: {rule} ({plain_cell(row['source'])})."
    limit, fits = (distance_text(row[name], units) for name in ("limit_m", "fits_at_m"))
    if fits == limit:
        return f"It would fit with {change} less of this one rule: {rule}."
    return f"It would fit with {fits} instead of {limit} of this one rule: {rule}."


def shape_text(shape: str) -> str:
    """Say that a pad is not the rectangle that was looked for first; empty where it is."""
    return f"Fits as {shape}, not as the shape that was looked for first." if shape else ""


def programs_that_fit(result: Result, parcel_id: str) -> list[str]:
    """Names of programs beside the study's own that fit on a parcel."""
    if parcel_id not in result.fits_beside.index:
        return []
    row = result.fits_beside.loc[parcel_id]
    return [str(name) for name in result.beside if bool(row.get(name, False))]


def program_sentence(result: Result, parcel_id: str, units: str) -> str:
    """Say which of the programs beside the study's own would fit; empty where none would."""
    fits = programs_that_fit(result, parcel_id)
    if not fits:
        return ""
    sizes = []
    for name in fits:
        pad = result.beside[name]
        sizes.append(f"“{name}” ({pad_size_text(pad.length_m, pad.width_m, units)})")
    return f"It would hold {joined(sizes)}."


def by_parcel(frame: pd.DataFrame) -> dict[str, list[Row]]:
    """Rows of a table by parcel, without its shapes."""
    plain = frame.drop(columns="geometry", errors="ignore")
    found: dict[str, list[Row]] = {}
    for row in records(plain):
        found.setdefault(str(row["parcel_id"]), []).append(row)
    return found
