"""The workbook says what the tables say, and text in it is never a formula."""

import csv
import zipfile
from dataclasses import replace

import pandas as pd
import pytest
from openpyxl import load_workbook
from report.made_up_result import made_up_result

from playsite.csv_cells import unguarded
from playsite.report import workbook
from playsite.report.tables import write_tables
from playsite.result import CAUTIONS

FORMULAS = {
    1: "=1+1",
    2: "+SUM(A1)",
    3: "-2+3",
    4: "@now",
    5: '=HYPERLINK("http://a","b")',
    6: "\tx",
}
RESULT = made_up_result(names=FORMULAS)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("tables")
    write_tables(RESULT, folder)
    return folder


@pytest.fixture(scope="module")
def book(folder):
    return load_workbook(folder / "tables.xlsx")


def rows_of_csv(folder, name):
    with (folder / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file))


def test_there_is_a_sheet_a_table_after_the_one_of_units_and_sources(folder, book):
    names = {file.stem for file in folder.glob("*.csv")}
    assert book.sheetnames[0] == "units and sources"
    assert set(book.sheetnames[1:]) == names


def test_cells_are_those_of_the_csv(folder, book):
    for name in book.sheetnames[1:]:
        told = rows_of_csv(folder, name)
        shown = list(book[name].iter_rows(values_only=True))
        assert len(shown) == len(told)
        for csv_row, row in zip(told, shown, strict=True):
            for text, cell in zip(csv_row, row, strict=True):
                if isinstance(cell, (int, float)) and not isinstance(cell, bool):
                    assert float(text) == pytest.approx(cell)
                else:
                    assert unguarded(text).replace("\t", "") == str(cell or "").replace("\t", "")


def test_numbers_are_numbers_and_what_is_not_known_is_empty(book):
    head = [cell.value for cell in book["sites"][1]]
    scores = [
        row[head.index("score")] for row in book["sites"].iter_rows(min_row=2, values_only=True)
    ]
    ranked = RESULT.sites["status"].eq("ranked").tolist()
    assert all(isinstance(score, float) for score, own in zip(scores, ranked, strict=True) if own)
    assert any(
        row[head.index("rank")] is None
        for row in book["sites"].iter_rows(min_row=2, values_only=True)
    )


def test_text_that_begins_like_a_formula_stays_text(book, folder):
    cells = [cell for row in book["sites"].iter_rows() for cell in row]
    told = {cell.value: cell for cell in cells if cell.value in FORMULAS.values()}
    assert set(FORMULAS.values()) - {"\tx"} <= set(told)
    assert all(cell.data_type == "s" and cell.quotePrefix for cell in told.values())
    with zipfile.ZipFile(folder / "tables.xlsx") as parts:
        sheets = [name for name in parts.namelist() if name.startswith("xl/worksheets/")]
        assert sheets
        assert not any(b"<f>" in parts.read(name) or b"<f " in parts.read(name) for name in sheets)


def test_the_head_is_frozen_bold_and_filtered(book):
    for sheet in book:
        assert sheet.freeze_panes in {"A2", "B2"}
        assert all(cell.font.bold for cell in sheet[1])
        assert sheet.auto_filter.ref.startswith("A1:")


def test_units_sources_and_cautions_stand_on_a_sheet_of_their_own(book):
    told = list(book["units and sources"].iter_rows(min_row=2, values_only=True))
    units = {(row[0], row[1]): row[2] for row in told}
    assert units["ledger", "removed_m2"] == "square metres"
    assert units["measurements", "value"] == "as the column unit says"
    assert units["sites", "score"] == "share of 1"
    said = [row[2] for row in told]
    assert all(caution in said for caution in CAUTIONS)
    for layer in RESULT.layers.to_dict("records"):
        assert any(layer["path"] in text and layer["sha256"] in text for text in said)


def test_a_long_table_is_cut_and_that_is_said(tmp_path, monkeypatch):
    monkeypatch.setattr(workbook, "MOST_ROWS", 5)
    write_tables(RESULT, tmp_path)
    book = load_workbook(tmp_path / "tables.xlsx")
    assert book["sites"].max_row == 6
    said = [row[2] for row in book["units and sources"].iter_rows(values_only=True)]
    assert f"the first 5 of {len(RESULT.sites)}; sites.csv has all" in said


def test_equal_results_give_equal_bytes(folder, tmp_path):
    write_tables(RESULT, tmp_path)
    assert (tmp_path / "tables.xlsx").read_bytes() == (folder / "tables.xlsx").read_bytes()


def test_letters_that_the_format_refuses_are_left_out(tmp_path):
    said = pd.Series("a bell \x07 and half a letter \ud800", index=RESULT.sites.index, dtype=object)
    odd = RESULT.sites.assign(reason=said)
    write_tables(replace(RESULT, sites=odd), tmp_path)
    book = load_workbook(tmp_path / "tables.xlsx")
    head = [cell.value for cell in book["sites"][1]]
    assert (
        book["sites"].cell(2, head.index("reason") + 1).value == "a bell  and half a letter \\ud800"
    )
