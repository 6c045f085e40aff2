"""What was found in the field comes back: a sheet is checked whole, weighed, then written to the log."""

from __future__ import annotations

import datetime as dt
import math
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from playsite.engine import Watch, quietly
from playsite.problems import Problems
from playsite.study import run
from playsite.study.obstacles import check_obstacles
from playsite.study.visiting import SAME_PLACE_M, asked_of
from playsite.visits import (
    Known,
    check_rows,
    new_rows,
    read_log,
    read_sheet,
    write_log,
)

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from playsite.result import Result
    from playsite.visits import Visit

__all__ = ["Returned", "read_visits"]


@dataclass(frozen=True)
class Returned:
    """What a sheet did.

    Parameters
    ----------
    before, after
        The study without and with what the sheet says.
    added
        Rows that went to the log; none where it held them already.
    known
        How many rows it held already.
    left_out
        Lines that say something, but no value.
    """

    before: Result
    after: Result
    added: tuple[Visit, ...]
    known: int
    left_out: tuple[int, ...]


def read_visits(study: str | Path, sheet: Path, *, watch: Watch = quietly) -> Returned:
    """Read a filled-in sheet into the log of a study; no earlier output is needed.

    Everything is checked and ranked anew before the log is written: a fault writes nothing.

    Raises
    ------
    InputError
        With every fault of every row.
    """
    before = run(study, watch=watch)
    problems = Problems()
    given = read_sheet(sheet, problems)
    problems.stop_if_any()
    placed = set(before.pads["parcel_id"])
    parcels = {str(name): name in placed for name in before.sites["parcel_id"]}
    today = max(dt.datetime.now(tz=dt.UTC).date(), dt.datetime.now().astimezone().date())
    known = Known(asked_of(before.criteria), parcels, today)
    rows = [_with_zeros(row, before.pads) for row in given.rows]
    check_rows(rows, known, str(sheet), problems)
    shapes = before.parcels.set_index("parcel_id").geometry
    check_obstacles(rows, shapes, str(sheet), problems)
    log = read_log(before.study.folder, problems)
    fresh = new_rows(rows, log, str(sheet), problems)
    problems.stop_if_any()
    if not fresh:
        return Returned(before, before, (), len(rows), given.left_out)
    pinned = _pinned(fresh, before)
    after = run(study, watch=watch, log=(*log, *pinned))
    told = tuple(_with_now(row, after) for row in pinned)
    write_log(before.study.folder, (*log, *told))
    return Returned(before, after, told, len(rows) - len(fresh), given.left_out)


def _with_zeros(row: Visit, pads: Any) -> Visit:
    """Give a parcel's id its leading zeros back, which a spreadsheet drops, where the pad tells it."""
    bare = row.parcel_id.lstrip("0")
    like = pads[pads["parcel_id"].str.lstrip("0") == bare] if row.pad_easting else pads.iloc[:0]
    for pad in like.itertuples():
        with suppress(ValueError):
            away = float(row.pad_easting) - pad.easting, float(row.pad_northing) - pad.northing
            if math.hypot(*away) <= SAME_PLACE_M:
                return replace(row, parcel_id=str(pad.parcel_id))
    return row


def _pinned(rows: Sequence[Visit], before: Result) -> list[Visit]:
    """Rows with the pad that they were made at, what counted before them, and the day."""
    pads = before.pads.set_index("parcel_id")
    pinned = []
    for row in rows:
        done = replace(row, was=_value_now(row, before), read_on=before.study.made_on)
        if not (row.pad_easting or row.is_obstacle) and row.parcel_id in pads.index:
            pad = pads.loc[row.parcel_id]
            place = [f"{pad[name]:.3f}" for name in ("easting", "northing", "rotation_deg")]
            done = replace(
                done, pad_easting=place[0], pad_northing=place[1], pad_rotation_deg=place[2]
            )
        pinned.append(done)
    return pinned


def _with_now(row: Visit, after: Result) -> Visit:
    return replace(row, now=_value_now(row, after))


def _value_now(row: Visit, result: Result) -> str:
    """Value that counts in a result, in SI; of an obstacle whether it takes land."""
    if row.is_obstacle:
        return ""
    table = result.measurements
    own = table[(table["parcel_id"] == row.parcel_id) & (table["criterion"] == row.criterion)]
    if len(own):
        value = float(own["value"].iloc[0])
        return "unknown" if value != value else f"{value:.6g} {own['unit'].iloc[0]}"  # noqa: PLR0124
    return ""
