"""A filled-in sheet of field values: any CSV that a spreadsheet makes, read as text, cell by cell."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from playsite.csv_cells import unguarded
from playsite.problems import nearest_word

if TYPE_CHECKING:
    from pathlib import Path

    from playsite.problems import Problems

__all__ = [
    "COLUMNS",
    "LOGGED_COLUMNS",
    "OBSTACLE",
    "PAD_COLUMNS",
    "WITHDRAWN",
    "Sheet",
    "Visit",
    "read_sheet",
]

COLUMNS = (
    "parcel_id",
    "criterion",
    "value",
    "unit",
    "accuracy",
    "method",
    "role",
    "date",
    "photo",
    "note",
)
"""Columns of a sheet; photo and note may be absent."""

PAD_COLUMNS = ("pad_easting", "pad_northing", "pad_rotation_deg")
"""Where the pad lay that was visited; the kit fills them in. Absent: where it lies now."""

LOGGED_COLUMNS = ("was", "now", "read_on")
"""What the log adds."""

OBSTACLE, WITHDRAWN = "obstacle", "withdrawn"
"""Criterion of a row that takes land, and value of a row that takes another back."""

_MAY_LACK = {"accuracy", "photo", "note", *PAD_COLUMNS, *LOGGED_COLUMNS}
_DELIMITERS = ",;\t"
_DECIMAL_COMMA = re.compile(r"[-+]?\d+,\d+\Z")


@dataclass(frozen=True)
class Visit:
    """One row of a sheet or of the log, as it was written; ``line`` says where."""

    parcel_id: str
    criterion: str
    value: str
    unit: str = ""
    accuracy: str = ""
    method: str = ""
    role: str = ""
    date: str = ""
    photo: str = ""
    note: str = ""
    pad_easting: str = ""
    pad_northing: str = ""
    pad_rotation_deg: str = ""
    was: str = ""
    now: str = ""
    read_on: str = ""
    line: int = 0

    @property
    def is_withdrawal(self) -> bool:
        """Whether it takes another row back."""
        return self.value.lower() == WITHDRAWN

    @property
    def is_obstacle(self) -> bool:
        """Whether it takes land."""
        return self.criterion == OBSTACLE

    @property
    def said(self) -> tuple[str, ...]:
        """What the visitor said: all but the pad and what the log adds."""
        return tuple(getattr(self, name) for name in COLUMNS)


@dataclass(frozen=True)
class Sheet:
    """Rows of a sheet that say something, and the lines of rows that say less than a value."""

    rows: tuple[Visit, ...] = ()
    left_out: tuple[int, ...] = ()


def read_sheet(path: Path, problems: Problems) -> Sheet:
    """Read a filled-in sheet; rows without a value are passed over.

    Commas, semicolons (with decimal commas) or tabs; UTF-8 with or without a mark at its start,
    UTF-16, or what Western Windows writes.

    Parameters
    ----------
    problems
        Takes what is wrong with the file as a whole: its columns, or that it can't be read.
    """
    try:
        text = _decoded(path.read_bytes())
    except OSError as error:
        what = "there is no such file." if isinstance(error, FileNotFoundError) else ""
        problems.add(what or f"can't be read: {error.strerror}.", file=str(path))
        return Sheet()
    rows = _rows(text, str(path), problems)
    if rows is None:
        return Sheet()
    lines, delimiter = rows
    names = [name.lower() for name in lines[0][1]] if lines else []
    while names and not names[-1]:
        names.pop()  # spreadsheets go on with empty columns
    if not _columns_are_right(names, str(path), problems):
        return Sheet()
    kept, left_out = [], []
    for line, cells in lines[1:]:
        if len(cells) > len(names) and any(cells[len(names) :]):
            what = f"the row has {len(cells)} cells, the head {len(names)}."
            remedy = f'Put text that holds "{delimiter}" between double quotes.'
            problems.add(what, remedy, file=str(path), line=line)
            continue
        given = dict(zip(names, map(unguarded, cells), strict=False))
        if not given.get("value"):
            said = [given.get(name) for name in ("accuracy", "photo", "note")]
            left_out += [line] if any(said) else []
            continue
        if delimiter == ";":
            given = {name: _with_point(name, cell) for name, cell in given.items()}
        kept.append(Visit(**given, line=line))
    return Sheet(tuple(kept), tuple(left_out))


def _rows(
    text: str, file: str, problems: Problems
) -> tuple[list[tuple[int, list[str]]], str] | None:
    """Rows with their lines, and what parts their cells; None where it is no CSV."""
    first, _, rest = text.partition("\n")
    told = first.lower().startswith("sep=")  # what some spreadsheets write before the head
    head = rest.partition("\n")[0] if told else first
    delimiter = max(_DELIMITERS, key=head.count)
    reader = csv.reader(io.StringIO(rest if told else text, newline=""), delimiter=delimiter)
    try:
        lines = [(reader.line_num + told, [cell.strip() for cell in row]) for row in reader]
    except csv.Error as error:
        problems.add(f"is not CSV: {error}.", file=file, line=reader.line_num + told)
        return None
    return lines, delimiter


def _decoded(content: bytes) -> str:
    if content[:2] in {b"\xff\xfe", b"\xfe\xff"}:
        return content.decode("utf-16", "replace")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = content.decode("cp1252", "replace")
    return text.replace("\x00", "")


def _with_point(name: str, cell: str) -> str:
    """Decimal comma to point, where commas part nothing."""
    numeric = {"value", "accuracy", *PAD_COLUMNS}
    return cell.replace(",", ".") if name in numeric and _DECIMAL_COMMA.match(cell) else cell


def _columns_are_right(names: list[str], file: str, problems: Problems) -> bool:
    known = {*COLUMNS, *PAD_COLUMNS, *LOGGED_COLUMNS}
    missing = [name for name in COLUMNS if name not in {*names, *_MAY_LACK}]
    strange = [name for name in names if name not in known]
    twice = sorted({name for name in names if names.count(name) > 1})
    if missing:
        expected = f"Expected: {','.join(COLUMNS)}."
        problems.add(f"columns are missing: {', '.join(missing)}.", expected, file=file, line=1)
    for name in strange:
        near = nearest_word(name, known)
        remedy = near if near.startswith("Did") else "Take it away, or put it into the note."
        problems.add(f'the column "{name}" is not known here.', remedy, file=file, line=1)
    if twice:
        problems.add(f"columns stand twice: {', '.join(twice)}.", file=file, line=1)
    return not (missing or strange or twice)
