"""Reading of tables that people fill in: any spreadsheet's CSV, with file and line of each row."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from playsite.problems import nearest_word

if TYPE_CHECKING:
    from collections.abc import Collection
    from pathlib import Path

    from playsite.problems import Problems

__all__ = ["Row", "csv_rows"]


@dataclass(frozen=True)
class Row:
    """One filled-in row: cells by name of column in small letters, trimmed; absent: empty."""

    file: str
    line: int
    cells: dict[str, str]

    def __getitem__(self, column: str) -> str:
        """Text of a cell."""
        return self.cells.get(column, "")

    @property
    def place(self) -> dict[str, Any]:
        """File and line, for a problem."""
        return {"file": self.file, "line": self.line}


def csv_rows(
    path: Path, problems: Problems, *, needs: Collection[str], knows: Collection[str] = ()
) -> list[Row]:
    """Rows of a CSV that hold anything; commas or semicolons, UTF-8 or what Western Windows writes.

    Parameters
    ----------
    needs, knows
        Columns that must be there, and those that may: any other is named as a problem, unless
        ``knows`` holds its beginning with a star, as in ``choice_*``.
    """
    try:
        given = path.read_bytes()
    except OSError as error:
        problems.add(f"can't be read: {error.strerror}.", file=str(path))
        return []
    try:
        text = given.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = given.decode("cp1252", errors="replace")
    head = text.split("\n", 1)[0]
    mark = ";" if head.count(";") > head.count(",") else ","
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=mark)
    columns = [cell.strip().lower() for cell in next(reader, [])]
    for name in sorted(set(needs) - set(columns)):
        problems.add(
            f'the column "{name}" is missing.', f"It has: {', '.join(columns)}.", file=str(path)
        )
    starts = tuple(name[:-1] for name in knows if name.endswith("*"))
    for name in columns:
        if name and name not in {*needs, *knows} and not (starts and name.startswith(starts)):
            known = [*needs, *knows]
            problems.add(
                f'there is no column "{name}" here.', nearest_word(name, known), file=str(path)
            )
    rows = []
    for cells in reader:
        filled = {n: cell.strip() for n, cell in zip(columns, cells, strict=False) if n}
        if any(cell.strip() for cell in cells[len(columns) :]):
            what = f"the row has {len(cells)} cells, the head {len(columns)}."
            remedy = f'Put text that holds "{mark}" between double quotes.'
            problems.add(what, remedy, file=str(path), line=reader.line_num)
        elif any(filled.values()):
            rows.append(Row(str(path), reader.line_num, filled))
    return rows
