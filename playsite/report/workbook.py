"""The tables as one workbook: a sheet each, a frozen head, and a sheet of units and sources."""

from __future__ import annotations

import datetime as dt
import io
import math
from typing import TYPE_CHECKING, Any

from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE
from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from openpyxl.utils import get_column_letter

from playsite.csv_cells import storable
from playsite.report.cells import is_missing_cell, places_of
from playsite.report.ink import INK
from playsite.report.same_bytes import save_alike
from playsite.result import CAUTIONS

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from pathlib import Path

    import pandas as pd

    from playsite.result import Result

    Tables = Mapping[str, tuple[pd.DataFrame, tuple[str, ...]]]

__all__ = ["MOST_ROWS", "save_workbook"]

MOST_ROWS = 10_000
"""Rows of one sheet; the CSV beside it has all."""

ABOUT = "units and sources"
_LONGEST = 32_000  # a cell of the format holds 32,767 characters
_WIDEST, _LOOKED_AT = 48, 200
_HEAD = {
    "font": Font(bold=True, color=INK["ink"][1:]),
    "fill": PatternFill("solid", fgColor=INK["margin"][1:]),
    "border": Border(bottom=Side("thin", color=INK["ink"][1:])),
    "alignment": Alignment(vertical="top", wrap_text=True),
}
_UNITS = {
    "m": "metres",
    "m2": "square metres",
    "m3": "cubic metres",
    "m3_s": "cubic metres a second",
    "m2_s": "square metres a second",
    "pct": "percent",
    "deg": "degrees",
    "h": "hours",
    "min": "minutes",
    "share": "share of 1",
}
_NAMED_UNITS = {
    **dict.fromkeys(("score", "score_low", "score_high", "known_share", "weight", "probability", "regret_max"), "share of 1"),
    **dict.fromkeys(("value", "low", "high", "map_value", "margin", "at"), "as the column unit says"),
    **dict.fromkeys(("price_low", "price_mid", "price_high"), "money of the study, a unit of the line"),
    **dict.fromkeys(("p10", "p50", "p80", "p90"), "money of the study"),
    **dict.fromkeys(("easting", "northing", "pad_easting", "pad_northing"), "metres in the study's coordinates"),
    "quantity": "as the column unit says",
}  # fmt: skip


def save_workbook(tables: Tables, result: Result, path: Path) -> None:
    """Write the workbook; equal results give equal bytes.

    What begins with = + - or @ stays text. What is not known is empty, what can't be reached "inf".
    """
    book = Workbook(write_only=True)
    book.properties.title, book.properties.creator = storable(result.study.title), ""
    day = _day(result.study.made_on)
    book.properties.created = book.properties.modified = dt.datetime.fromisoformat(day)
    _fill(book, ABOUT, ("sheet", "column", "unit or source"), _about(tables, result))
    for name, (table, columns) in tables.items():
        rows = table.loc[:, list(columns)].head(MOST_ROWS).to_dict("records")
        cells = ([_value(row[at], at, row) for at in columns] for row in rows)
        _fill(book, name, columns, cells)
    made = io.BytesIO()
    book.save(made)
    save_alike(made, path, made_on=day.encode())


def _about(tables: Tables, result: Result) -> Iterator[list[Any]]:
    """Say what each column is in, where the data is from, and what the numbers are not."""
    study = result.study
    yield ["", "study", f"{study.title}; {study.made_on}; version {study.version}; {study.crs}"]
    for caution in CAUTIONS:
        yield ["", "caution", caution]
    for name, (table, columns) in tables.items():
        if len(table) > MOST_ROWS:
            yield [name, "rows", f"the first {MOST_ROWS:,} of {len(table):,}; {name}.csv has all"]
        for column in columns:
            unit = _unit(column)
            if unit:
                yield [name, column, unit]
    for row in result.layers.to_dict("records"):
        told = (row["path"], row["date"], row["credit"], f"SHA-256 {row['sha256']}")
        said = "; ".join(str(part) for part in told if not is_missing_cell(part) and part)
        yield ["source", str(row["kind"]), said]
    for source in result.run.get("cited", ()):
        yield ["source", "cited", str(source)]


def _unit(column: str) -> str:
    if column in _NAMED_UNITS:
        return _NAMED_UNITS[column]
    ends = column.rsplit("_", 2)
    return _UNITS.get("_".join(ends[-2:]), _UNITS.get(ends[-1], "")) if len(ends) > 1 else ""


def _fill(book: Workbook, name: str, head: Sequence[str], rows: Any) -> None:
    sheet = book.create_sheet(name)
    kept = [list(row) for row in rows]
    for number, title in enumerate(head):
        longest = max((len(str(row[number])) for row in kept[:_LOOKED_AT]), default=0)
        width = min(max(longest, len(title)) + 2, _WIDEST)
        sheet.column_dimensions[get_column_letter(number + 1)].width = width
    sheet.freeze_panes = "A2" if head[0] != "parcel_id" else "B2"
    sheet.auto_filter.ref = f"A1:{get_column_letter(len(head))}{len(kept) + 1}"
    sheet.append([_head_cell(sheet, title) for title in head])
    for row in kept:
        sheet.append([_text_cell(sheet, cell) if isinstance(cell, str) else cell for cell in row])


def _head_cell(sheet: Any, title: str) -> Any:
    cell = WriteOnlyCell(sheet, title)
    for part, look in _HEAD.items():
        setattr(cell, part, look)
    return cell


def _text_cell(sheet: Any, text: str) -> Any:
    """Text as text, whatever it begins with."""
    if text[:1] not in "=+-@\t\r" or not text:
        return text
    cell = WriteOnlyCell(sheet, text)
    cell.data_type, cell.quotePrefix = "s", True
    return cell


def _value(value: Any, column: str, row: Mapping[Any, Any]) -> Any:
    """Give a cell as a number, rounded as in the CSV, or as text that the format can hold."""
    if is_missing_cell(value):
        return None
    places = places_of(column, str(row.get("unit", "")))
    if places is None:
        return ILLEGAL_CHARACTERS_RE.sub("", storable(str(value)))[:_LONGEST]
    number = float(value)
    if not math.isfinite(number):
        return "inf" if number > 0 else "-inf"
    return round(number, places) if places else round(number)


def _day(made_on: str) -> str:
    try:
        return dt.datetime.fromisoformat(made_on).date().isoformat()
    except ValueError:
        return "1980-01-01"
