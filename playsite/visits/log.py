"""The log of visits beside a study: every row that was ever read, and which of them count."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from typing import TYPE_CHECKING

from playsite.csv_cells import guarded
from playsite.visits.rules import obstacle_place
from playsite.visits.sheet import COLUMNS, LOGGED_COLUMNS, PAD_COLUMNS, read_sheet
from playsite.whole_file import write_whole

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from playsite.problems import Problems
    from playsite.visits.sheet import Visit

__all__ = ["LOG_FILE", "Standing", "new_rows", "read_log", "standing_of", "write_log"]

LOG_FILE = "visits.csv"

Key = tuple[str, ...]


@dataclass(frozen=True)
class Standing:
    """A row of the log, and why it doesn't count; empty where it does."""

    visit: Visit
    why_not: str = ""


def read_log(folder: Path, problems: Problems) -> tuple[Visit, ...]:
    """All that was read so far, oldest first; nothing where the study has no log."""
    path = folder / LOG_FILE
    return read_sheet(path, problems).rows if path.exists() else ()


def write_log(folder: Path, log: Sequence[Visit]) -> None:
    """Write the whole log beside its place, then give it its name.

    Raises
    ------
    InputError
        If it can't be written; what stood there is kept.
    """
    columns = (*COLUMNS, *PAD_COLUMNS, *LOGGED_COLUMNS)
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows([guarded(getattr(row, name)) for name in columns] for row in log)
    write_whole(folder / LOG_FILE, text.getvalue(), "the log of visits")


def standing_of(log: Sequence[Visit]) -> list[Standing]:
    """Which rows count, row by row.

    A row that withdraws takes back the last one of the same parcel, criterion, date and, of an
    obstacle, place. Of what is left the latest date counts, of one date the row read last; every
    obstacle counts.
    """
    why_not = [""] * len(log)
    kept: dict[Key, list[int]] = {}
    for number, visit in enumerate(log):
        own = kept.setdefault(key_of(visit), [])
        if visit.is_withdrawal:
            why_not[number] = "withdraws"
            if own:
                why_not[own.pop()] = "withdrawn"
        else:
            own.append(number)
    counts: dict[Key, int] = {}
    for number in sorted((n for own in kept.values() for n in own), key=lambda n: (log[n].date, n)):
        visit = log[number]
        what = key_of(visit) if visit.is_obstacle else (visit.parcel_id, visit.criterion)
        if what in counts:
            why_not[counts[what]] = "a later one counts"
        counts[what] = number
    return [Standing(visit, why) for visit, why in zip(log, why_not, strict=True)]


def new_rows(
    rows: Sequence[Visit], log: Sequence[Visit], file: str, problems: Problems
) -> list[Visit]:
    """Rows of a sheet that the log doesn't hold yet; the same sheet read twice adds nothing.

    Parameters
    ----------
    problems
        Takes a row that withdraws what was never read, or was withdrawn before.
    """
    of_sheet, of_log = _by_key(rows), _by_key(log)
    known = {
        key
        for key, own in of_sheet.items()
        if [row.said for row in own] == [row.said for row in of_log.get(key, [])[-len(own) :]]
    }
    fresh = [row for row in rows if key_of(row) not in known]
    left: dict[Key, int] = {}
    for row in (*log, *fresh):
        own = key_of(row)
        left[own] = left.get(own, 0) + (-1 if row.is_withdrawal else 1)
        if left[own] < 0:
            left[own] = 0
            days = sorted(
                {
                    r.date
                    for r in log
                    if r.parcel_id == row.parcel_id and r.criterion == row.criterion
                }
            )
            remedy = f"Dates of its visits: {', '.join(days)}." if days else "It was never visited."
            what = f'no visit of {row.date} to parcel "{row.parcel_id}" for {row.criterion} is there to take back.'
            problems.add(what, remedy, file=file, line=row.line)
    return fresh


def key_of(visit: Visit) -> Key:
    """What a row that withdraws must share with the row that it takes back."""
    place = obstacle_place(visit.note) if visit.is_obstacle else None
    where = "" if place is None else f"{place[0]:.6f}, {place[1]:.6f}"
    return visit.parcel_id, visit.criterion, visit.date, where


def _by_key(rows: Sequence[Visit]) -> dict[Key, list[Visit]]:
    found: dict[Key, list[Visit]] = {}
    for row in rows:
        found.setdefault(key_of(row), []).append(row)
    return found
