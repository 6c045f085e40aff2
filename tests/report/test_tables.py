"""The tables hold the result, to the byte, and give back what they were given."""

import csv
import json
import re
import sqlite3
from dataclasses import replace
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio
import pytest
from hypothesis import given
from hypothesis import strategies as st
from report.made_up_result import CRS, made_up_result, with_no_evidence

from playsite.ranking.robustness import PAIR_COLUMNS, ROBUSTNESS_COLUMNS
from playsite.report.cells import cell_text
from playsite.report.tables import (
    KNOT_COLUMNS,
    LEDGER_COLUMNS,
    MEASUREMENT_COLUMNS,
    run_text,
    write_tables,
)
from playsite.result import SITE_COLUMNS

FILES = (
    "earthwork.csv",
    *("sites.csv", "criteria.csv", "measurements.csv", "ledger.csv", "robustness.csv", "pairs.csv"),
    *("sites.gpkg", "run.json", "tables.xlsx"),
)


def read(path):
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def with_first_measurement(result, **cells):
    table = result.measurements.copy()
    for name, value in cells.items():
        table.loc[0, name] = value
    return replace(result, measurements=table)


def test_columns_are_those_that_are_documented(tmp_path):
    write_tables(made_up_result(), tmp_path)
    for name, columns in (
        ("sites.csv", SITE_COLUMNS),
        ("measurements.csv", MEASUREMENT_COLUMNS),
        ("ledger.csv", LEDGER_COLUMNS),
        ("criteria.csv", KNOT_COLUMNS),
        ("robustness.csv", ROBUSTNESS_COLUMNS),
        ("pairs.csv", PAIR_COLUMNS),
    ):
        assert (tmp_path / name).read_text("utf-8").split("\n")[0] == ",".join(columns)
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(FILES)


def test_the_knots_as_used_score_what_the_table_says(tmp_path):
    result = made_up_result()
    write_tables(result, tmp_path)
    rows = read(tmp_path / "criteria.csv")
    assert len(rows) == sum(len(each.curve.knots) for each in result.criteria)
    curves = {each.name: each.curve for each in result.criteria}
    for row in rows:
        score = curves[row["criterion"]].score(float(row["at"]))
        assert float(row["score"]) == pytest.approx(float(score))
        assert row["source"] == "made up"


def test_equal_results_give_equal_bytes(tmp_path):
    folders = [tmp_path / "first", tmp_path / "second"]
    for folder in folders:
        folder.mkdir()
        write_tables(made_up_result(30), folder)
    for name in FILES:
        first, second = ((folder / name).read_bytes() for folder in folders)
        assert first == second, name


def test_lines_end_in_one_byte_whatever_the_system(tmp_path):
    write_tables(made_up_result(), tmp_path)
    for name in FILES[:3]:
        text = (tmp_path / name).read_bytes()
        assert b"\r" not in text
        assert text.endswith(b"\n")


def test_ranks_are_whole_or_empty_and_scores_are_shares(tmp_path):
    result = made_up_result()
    write_tables(result, tmp_path)
    for row, site in zip(read(tmp_path / "sites.csv"), result.sites.itertuples(), strict=True):
        assert row["parcel_id"] == site.parcel_id
        if site.status == "ranked":
            assert row["rank"] == str(int(site.rank))
            assert float(row["score"]) == pytest.approx(site.score, abs=5e-7)
            assert 0 <= float(row["score"]) <= 1
        else:
            assert row["rank"] == row["score"] == row["score_low"] == ""


def test_unknown_is_empty_and_out_of_reach_is_inf(tmp_path):
    result = made_up_result()
    result = with_first_measurement(
        result, value=np.inf, low=np.inf, high=np.inf, score=0.0, map_value=np.nan, note=None
    )
    write_tables(result, tmp_path)
    rows = read(tmp_path / "measurements.csv")
    assert [rows[0][name] for name in ("value", "low", "high", "score", "map_value", "note")] == [
        "inf", "inf", "inf", "0", "", "",
    ]  # fmt: skip
    unknown = [
        row for row, v in zip(rows, result.measurements["value"], strict=True) if np.isnan(v)
    ]
    assert unknown
    assert all(row["value"] == row["low"] == row["high"] == "" for row in unknown)


@pytest.mark.parametrize(
    ("unit", "value", "text"),
    [
        ("m", 60.96049, "60.96"),
        ("m", 0.0004, "0"),
        ("m", -0.0004, "0"),
        ("m", 1234567.8916, "1234567.892"),
        ("pct", 3.14159265, "3.1416"),
        ("ratio", 1 / 3, "0.333333"),
        ("count", 100.0, "100"),
        ("m2", 812.0, "812"),
    ],
)
def test_values_are_rounded_by_unit(tmp_path, unit, value, text):
    result = with_first_measurement(made_up_result(), unit=unit, value=value)
    write_tables(result, tmp_path)
    assert read(tmp_path / "measurements.csv")[0]["value"] == text


HOSTILE = ["-5", "+12-3", "007", "1e5", "NA", "O'Neill", 'a,"b"', "two\nlines", " padded ", "日本"]


@pytest.mark.parametrize("parcel_id", HOSTILE)
def test_a_parcel_id_comes_back_as_it_is(tmp_path, parcel_id):
    result = made_up_result(3)
    ids = {"P-00001": parcel_id}
    frames = {
        name: getattr(result, name).replace({"parcel_id": ids})
        for name in ("sites", "measurements", "ledger", "parcels", "pads")
    }
    write_tables(replace(result, **frames), tmp_path)
    assert parcel_id in {row["parcel_id"] for row in read(tmp_path / "sites.csv")}
    by_pandas = pd.read_csv(tmp_path / "ledger.csv", dtype=str, keep_default_na=False)
    assert parcel_id in set(by_pandas["parcel_id"])
    for layer in ("parcels", "pads"):
        assert parcel_id in set(gpd.read_file(tmp_path / "sites.gpkg", layer=layer)["parcel_id"])


@pytest.mark.parametrize("text", ["=1+1", "@SUM(A1)", "+cmd|' /C calc'!A0", "-2+3", "\t=1", "'=1"])
def test_a_formula_stays_text(tmp_path, text):
    write_tables(made_up_result(3, names={1: text}), tmp_path)
    names = {row["name"] for row in read(tmp_path / "sites.csv")}
    assert f"'{text}" in names


@given(st.one_of(st.text(), st.from_regex(r"'{0,2}[=+\-@\t].{0,8}", fullmatch=True)))
def test_no_text_starts_a_formula_and_every_text_can_be_had_back(text):
    """Signs that start a formula, and those that let it call: common practice, from memory."""
    stored = cell_text(text, None)
    assert not stored.startswith(("=", "@", "\t", "\r"))
    if stored.startswith(("+", "-")):
        assert not set(stored[1:]) & set("()|!=@+*&%;:'\"<>^")
    plain = text.encode("utf-8", "backslashreplace").decode()
    assert stored in {plain, f"'{plain}"}
    if re.match(r"'+[=@]", stored):
        assert stored == f"'{plain}"  # so that one apostrophe is always the one to take away


@pytest.mark.parametrize("result", [made_up_result(), with_no_evidence(made_up_result())])
def test_the_geopackage_has_its_layers_in_the_studys_system(tmp_path, result):
    write_tables(result, tmp_path)
    path = tmp_path / "sites.gpkg"
    layers = dict(pyogrio.list_layers(path))
    assert layers == {
        "parcels": "MultiPolygon",
        "pads": "MultiPolygon",
        "alternatives": "MultiPolygon",
        "low_spots": "MultiPolygon",
        **({"grade_areas": "MultiPolygon"} if len(result.grade_areas) else {}),
    }
    for name in layers:
        read_back = gpd.read_file(path, layer=name)
        given_frame = getattr(result, name)
        assert read_back.crs == CRS
        assert len(read_back) == len(given_frame)
        if name != "low_spots":
            assert list(read_back["parcel_id"]) == list(given_frame["parcel_id"])
        areas = given_frame.geometry.area.to_numpy()
        np.testing.assert_allclose(read_back.geometry.area.to_numpy(), areas, rtol=1e-9)


def test_the_geopackage_says_what_it_is(tmp_path):
    """GeoPackage 1.2 and later, requirement 2: the application id is 'GPKG' in ASCII (from memory)."""
    write_tables(made_up_result(3), tmp_path)
    with sqlite3.connect(tmp_path / "sites.gpkg") as file:
        number = file.execute("PRAGMA application_id").fetchone()[0]
        changed = {row[0] for row in file.execute("SELECT last_change FROM gpkg_contents")}
    file.close()
    assert number.to_bytes(4, "big") == b"GPKG"
    assert changed == {"2026-03-03T00:00:00.000Z"}


def test_writing_again_replaces_what_was_there(tmp_path):
    write_tables(made_up_result(12), tmp_path)
    write_tables(made_up_result(3), tmp_path)
    assert len(read(tmp_path / "sites.csv")) == 3
    assert len(gpd.read_file(tmp_path / "sites.gpkg", layer="parcels")) == 3


def test_the_run_is_stable_json_without_words_that_json_lacks(tmp_path):
    run = {
        "z": float("nan"),
        "a": {"path": Path("study/study.toml"), "inf": np.float64("inf"), "n": np.int64(3)},
        "list": (1, "Mühle", None, True),
    }
    result = replace(made_up_result(3), run=run)
    write_tables(result, tmp_path)
    text = (tmp_path / "run.json").read_text("utf-8")
    assert text == run_text(result)
    assert json.loads(text, parse_constant=pytest.fail) == {
        "z": None,
        "a": {"path": "study/study.toml", "inf": "inf", "n": 3},
        "list": [1, "Mühle", None, True],
    }
    assert text.index('"a"') < text.index('"list"') < text.index('"z"')
    backwards = replace(result, run=dict(reversed(run.items())))
    assert run_text(backwards) == text
