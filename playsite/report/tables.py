r"""The tables of a run, for people and programs that read on: CSV, GeoPackage, JSON.

CSV is UTF-8 after RFC 4180 with ``\n`` at the end of a line; text that a spreadsheet would take
for a formula is guarded as `playsite.csv_cells` says.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio

from playsite.cost.record import COST_COLUMNS
from playsite.csv_cells import storable
from playsite.ranking.ballots import BALLOT_COLUMNS
from playsite.ranking.robustness import PAIR_COLUMNS, ROBUSTNESS_COLUMNS
from playsite.report.cells import cell_text, is_missing_cell, places_of
from playsite.report.changes import CHANGE_COLUMNS, desk_changes
from playsite.report.layouts import layouts_on_map
from playsite.report.workbook import save_workbook
from playsite.result import NEED_COLUMNS, SHADE_COLUMNS, SITE_COLUMNS

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from playsite.report.changes import SiteChange
    from playsite.result import Result

__all__ = [
    "KNOT_COLUMNS",
    "LEDGER_COLUMNS",
    "MEASUREMENT_COLUMNS",
    "changes_text",
    "run_text",
    "tables_of",
    "write_tables",
]

MEASUREMENT_COLUMNS = (
    "parcel_id",
    "criterion",
    "value",
    "unit",
    "low",
    "high",
    "score",
    "origin",
    "map_value",
    "straight_m",
    "layer",
    "layer_date",
    "method",
    "source",
    "note",
)
KNOT_COLUMNS = ("criterion", "weight", "knot", "at", "unit", "score", "reads", "source")
LEDGER_COLUMNS = ("parcel_id", "rule", "removed_m2", "margin", "unit", "source")

_LAID_OUT = 200
"""Ranked sites whose layout is written shape by shape; the others' pads are like them."""

_LAYERS: dict[str, tuple[str, dict[str, str]]] = {
    "parcels": ("MultiPolygon", dict.fromkeys(("parcel_id", "name", "owner", "status"), "text")),
    "pads": (
        "MultiPolygon",
        {
            "parcel_id": "text",
            "site_no": "whole",
            "status": "text",
            "rank": "whole",
            "score": "real",
            "easting": "real",
            "northing": "real",
            "rotation_deg": "real",
            "largest_scale": "real",
            "shape": "text",
        },
    ),
    "alternatives": (
        "MultiPolygon",
        {
            "parcel_id": "text",
            "easting": "real",
            "northing": "real",
            "rotation_deg": "real",
            "score": "real",
        },
    ),
    "layout": ("Unknown", dict.fromkeys(("parcel_id", "role", "label"), "text")),
    "low_spots": (
        "MultiPolygon",
        {
            "low_spot": "text",
            "standing": "text",
            "depth_m": "real",
            "area_m2": "real",
            "volume_m3": "real",
            "probability": "real",
            "depth_low_m": "real",
            "depth_high_m": "real",
            "catchment_m2": "real",
            "spill_easting": "real",
            "spill_northing": "real",
            "soaked_away_h": "real",
        },
    ),
    "grade_areas": (
        "MultiPolygon",
        {"parcel_id": "text", "least_pct": "real", "most_pct": "real"},
    ),
}
_PERHAPS = ("layout", "grade_areas")
"""Layers that are left out where they hold nothing."""


def write_tables(result: Result, folder: Path) -> None:
    """Write sites.csv, measurements.csv and the other tables, tables.xlsx, sites.gpkg and run.json.

    Equal results give equal bytes. Metres have 3 decimals, percent 4, scores (0 to 1) 6; what is
    not known is empty, what can't be reached is ``inf``.

    Parameters
    ----------
    folder
        An existing folder; see ``written_whole``.
    """
    tables = tables_of(result)
    for name, (table, columns) in tables.items():
        _write(_csv_text(table, columns), folder / f"{name}.csv")
    save_workbook(tables, result, folder / "tables.xlsx")
    _write_geopackage(result, folder / "sites.gpkg")
    with (folder / "run.json").open("w", encoding="utf-8", newline="\n") as file:
        file.write(run_text(result))


def tables_of(result: Result) -> dict[str, tuple[pd.DataFrame, tuple[str, ...]]]:
    """Every table of a result by the name of its file, with its columns.

    What a study need not have, as ballots or costs, is left out where it has none.
    """
    firm, members = result.firm, result.members
    changes = desk_changes(result)
    shares = members.rename_axis("member").reset_index()
    shares = shares.melt("member", var_name="criterion", value_name="weight")
    ballots = pd.DataFrame() if result.ballots is None else result.ballots.table
    costs = pd.DataFrame() if result.costs is None else result.costs.lines
    always: dict[str, tuple[pd.DataFrame, tuple[str, ...]]] = {
        "sites": (result.sites, SITE_COLUMNS),
        "measurements": (result.measurements, MEASUREMENT_COLUMNS),
        "ledger": (result.ledger, LEDGER_COLUMNS),
        "criteria": (_knots(result), KNOT_COLUMNS),
        "robustness": (firm.robustness, ROBUSTNESS_COLUMNS),
        "pairs": (firm.pairs, PAIR_COLUMNS),
    }
    perhaps: dict[str, tuple[pd.DataFrame, tuple[str, ...]]] = {
        "ballots": (ballots, BALLOT_COLUMNS),
        "weights": (shares, ("member", "criterion", "weight")),
        "earthwork": (result.earthwork, _without_shapes(result.earthwork)),
        "water": (result.water, _without_shapes(result.water)),
        "costs": (costs, COST_COLUMNS),
        "need": (result.need, NEED_COLUMNS),
        "changes": (changes_table(changes), CHANGE_COLUMNS),
        "shade": (result.shade, SHADE_COLUMNS),
    }
    return {**always, **{name: given for name, given in perhaps.items() if len(given[0])}}


def _without_shapes(table: pd.DataFrame) -> tuple[str, ...]:
    return tuple(name for name in table.columns if name != "geometry")


def _knots(result: Result) -> pd.DataFrame:
    """Lines from value to score as used, a row a knot, with who says so."""
    rows = [
        (each.name, each.weight, knot.name, knot.at, each.curve.unit.value, knot.score,
         each.curve.reads or each.criterion.plain, knot.source)
        for each in result.criteria
        for knot in each.curve.knots
    ]  # fmt: skip
    return pd.DataFrame(rows, columns=list(KNOT_COLUMNS))


def run_text(result: Result) -> str:
    """Text of run.json: sorted keys; equal runs give equal text."""
    run = json.dumps(_plain(result.run), sort_keys=True, indent=2, ensure_ascii=False)
    return storable(run) + "\n"


def changes_text(changes: Sequence[SiteChange]) -> str:
    """Text of changes.csv."""
    return _csv_text(changes_table(changes), CHANGE_COLUMNS)


def changes_table(changes: Sequence[SiteChange]) -> pd.DataFrame:
    """Rows of changes.csv."""
    return pd.DataFrame([change.row for change in changes], columns=list(CHANGE_COLUMNS))


def _write(text: str, path: Path) -> None:
    path.write_text(text, encoding="utf-8", newline="")


def _csv_text(table: pd.DataFrame, columns: tuple[str, ...]) -> str:
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(columns)
    for row in table.loc[:, list(columns)].to_dict("records"):
        writer.writerow(_cells(row, columns))
    return text.getvalue()


def _cells(row: Mapping[Any, Any], columns: Iterable[str]) -> list[str]:
    unit = str(row.get("unit", ""))
    return [cell_text(row[name], places_of(name, unit)) for name in columns]


def _write_geopackage(result: Result, path: Path) -> None:
    path.unlink(missing_ok=True)
    layouts = layouts_on_map(result, set(result.ranked["parcel_id"].iloc[:_LAID_OUT]))
    before = pyogrio.get_gdal_config_option("OGR_CURRENT_DATE")
    # GeoPackage keeps the time of the last change: the study's own date makes equal runs equal
    pyogrio.set_gdal_config_options(
        {"OGR_CURRENT_DATE": f"{_day(result.study.made_on)}T00:00:00.000Z"}
    )
    try:
        for name, (shape, columns) in _LAYERS.items():
            given = layouts if name == "layout" else getattr(result, name)
            if name in _PERHAPS and not len(given):
                continue
            layer = _layer(given, columns, result.study.crs)
            pyogrio.write_dataframe(
                layer,
                path,
                layer=name,
                driver="GPKG",
                geometry_type=shape,
                promote_to_multi=shape.startswith("Multi"),
            )
    finally:
        pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": before})


def _layer(given: gpd.GeoDataFrame, columns: Mapping[str, str], crs: str) -> gpd.GeoDataFrame:
    """Pick the named columns in one type each, whether there are rows or not."""
    parts: dict[str, pd.Series[Any]] = {}
    for name, kind in columns.items():
        column = given[name]
        if kind == "text":
            texts = [None if is_missing_cell(value) else storable(str(value)) for value in column]
            parts[name] = pd.Series(texts, index=given.index, dtype=object)
        elif kind == "whole":
            parts[name] = pd.to_numeric(column).astype("Int64")
        else:
            parts[name] = pd.to_numeric(column).astype(float)
    return gpd.GeoDataFrame(parts, geometry=list(given.geometry), crs=crs, index=given.index)


def _day(made_on: str) -> str:
    try:
        return dt.datetime.fromisoformat(made_on).date().isoformat()
    except ValueError:
        return "1970-01-01"


def _plain(value: Any) -> Any:
    """Turn what a record may hold into what JSON knows; NaN becomes null, infinity the word."""
    if isinstance(value, np.generic):
        value = value.item()
    if isinstance(value, Mapping):
        return {str(key): _plain(part) for key, part in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(part) for part in value]
    if isinstance(value, float) and not math.isfinite(value):
        return None if math.isnan(value) else str(value)
    if value is None or isinstance(value, (bool, int, float, str)):
        return value
    return str(value)
