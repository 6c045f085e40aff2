"""Reading of ballots and comments: every fault with file and line, duplicates counted once."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import pandas as pd

from playsite.problems import nearest_word
from playsite.ranking.ballots import CHILD, Ballot, Ballots, counted
from playsite.study.people_csv import csv_rows

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from pathlib import Path

    from playsite.problems import Problems
    from playsite.settings import Settings
    from playsite.study.people_csv import Row

__all__ = ["ballot_files", "read_ballots"]

_AGES = ("", "adult", CHILD)
_BALLOT = ("place", "age_group", "approves", "choice_*")
_COMMENT = ("parcel_id", "criterion", "comment")


def ballot_files(settings: Settings) -> list[Path]:
    """Files of ballots and comments that the study names."""
    said = settings.ballots
    names = [said.file, said.comments] if said else []
    return [file for name in names if name is not None for file in _files(settings.folder / name)]


def _files(path: Path) -> list[Path]:
    """A file; of a folder, into which answers are put as they come back, every CSV."""
    return sorted(path.glob("*.csv")) if path.is_dir() else [path]


def read_ballots(
    settings: Settings, parcels: Sequence[str], criteria: Sequence[str], problems: Problems
) -> Ballots | None:
    """Ballots and comments, counted; None where the study names none.

    Parameters
    ----------
    parcels
        Ids of all candidates in the order of their site numbers: a ballot may say "Site 4" too.
    criteria
        Names that a comment may be about.
    """
    said = settings.ballots
    if said is None:
        return None
    names = {parcel: parcel for parcel in parcels}
    numbers = {f"site {number}": parcel for number, parcel in enumerate(parcels, start=1)}
    names = numbers | names
    rows = [
        row
        for path in _files(settings.folder / said.file)
        for row in csv_rows(path, problems, needs=("ballot_id",), knows=(*_BALLOT, *_COMMENT))
    ]
    # An answer of the ballot's page holds its comments too, in rows of their own.
    said_once = {tuple(row.cells.values()): row for row in reversed(rows) if row["comment"]}
    remarks = list(said_once.values())[::-1]
    ballots, again, otherwise = _ballots([r for r in rows if not r["comment"]], names, problems)
    if not ballots:
        at = settings.place("ballots", "file")
        problems.add(f'"{said.file}" holds no ballot.', **at)
        return None
    if said.invited is not None and said.invited < len(ballots):
        what = f"{len(ballots):,} ballots came back, and only {said.invited:,} people were asked."
        problems.add(
            what, "Say how many were asked, or take it out.", **settings.place("ballots", "invited")
        )
    counts = {"all": counted(ballots)}
    children = [ballot for ballot in ballots if ballot.age_group == CHILD]
    if children:
        counts["children"] = counted(children)
    for path in _files(settings.folder / said.comments) if said.comments is not None else ():
        remarks += csv_rows(path, problems, needs=("parcel_id", "comment"), knows=("criterion",))
    comments = _comments(remarks, names, criteria, problems)
    lived = Counter(ballot.place for ballot in ballots).most_common()
    places = pd.Series([count for _, count in lived], [place for place, _ in lived], dtype="int64")
    return Ballots(counts, again, places, comments, said.invited, otherwise)


def _ballots(
    rows: Sequence[Row], names: Mapping[str, str], problems: Problems
) -> tuple[list[Ballot], int, int]:
    """Ballots, how many came again, and how many of those said something else."""
    seen: dict[str, dict[str, str]] = {}
    ballots, again, otherwise = [], 0, 0
    for row in rows:
        if not row["ballot_id"]:
            problems.add("the ballot has no number (ballot_id).", **row.place)
        if row["ballot_id"] in seen:
            again += 1
            otherwise += row.cells != seen[row["ballot_id"]]
            continue
        seen[row["ballot_id"]] = row.cells
        age = row["age_group"].lower()
        if age not in _AGES:
            what = f'"{row["age_group"]}" is no age group; expected child, adult or nothing.'
            problems.add(what, **row.place)
        approved = [part.strip() for part in row["approves"].split(";") if part.strip()]
        columns = sorted((name for name in row.cells if name.startswith("choice_")), key=_number_of)
        order = [row[name] for name in columns if row[name]]
        ballots.append(
            Ballot(
                approves=tuple(dict.fromkeys(_known(approved, names, row, problems))),
                order=tuple(_known(order, names, row, problems)),
                place=row["place"],
                age_group=age,
            )
        )
        if len(set(ballots[-1].order)) < len(ballots[-1].order):
            problems.add("a site is chosen twice.", "Give each a place once.", **row.place)
    return ballots, again, otherwise


def _number_of(column: str) -> tuple[int, str]:
    number = column.removeprefix("choice_")
    return (int(number) if number.isdecimal() else 0, column)


def _known(
    given: Iterable[str], names: Mapping[str, str], row: Row, problems: Problems
) -> list[str]:
    """Parcels of what a ballot calls its sites: an id, or "Site 4"."""
    found = []
    for text in given:
        parcel = names.get(text) or names.get(text.lower())
        if parcel is None:
            what = f'"{text}" is no parcel of this study.'
            problems.add(what, nearest_word(text, names), **row.place)
        else:
            found.append(parcel)
    return found


def _comments(
    given: Sequence[Row], names: Mapping[str, str], criteria: Sequence[str], problems: Problems
) -> pd.DataFrame:
    rows = []
    for row in given:
        about = row["criterion"].replace(" ", "_").lower()
        if about and about not in criteria:
            what = f'criterion "{row["criterion"]}" is not in use.'
            problems.add(what, nearest_word(about, criteria), **row.place)
        rows += [
            (parcel, about, row["comment"])
            for parcel in _known([row["parcel_id"]], names, row, problems)
        ]
    return pd.DataFrame(rows, columns=list(_COMMENT))
