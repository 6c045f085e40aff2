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
from playsite.csv_cells import guarded, storable
from playsite.ranking.ballots import BALLOT_COLUMNS
from playsite.ranking.robustness import PAIR_COLUMNS, ROBUSTNESS_COLUMNS
from playsite.report.changes import CHANGE_COLUMNS, desk_changes
from playsite.report.layouts import layouts_on_map
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

_PLACES_OF_UNIT = {"m": 3, "m2": 2, "m3": 2, "pct": 4, "ratio": 6, "deg": 3, "min": 3, "count": 0}
_PLACES = {
    **dict.fromkeys(("children", "newly_served", "still_without", "plus_minus"), 1),
    "score": 6,
    "score_low": 6,
    "score_high": 6,
    "known_share": 6,
    "straight_m": 3,
    "rank": 0,
    "site_no": 0,
    "pad_easting": 3,
    "pad_northing": 3,
    "pad_rotation_deg": 3,
    "removed_m2": 2,
    "weight": 6,
    **dict.fromkeys(("ballots", "approvals", "first_choices", "wins", "losses"), 0),
    "points": 1,
    "rank_1_share": 4,
    "top_3_share": 4,
    "regret_max": 6,
    "probability": 4,
    "quantity": 3,
    **dict.fromkeys(("price_low", "price_mid", "price_high"), 4),
    **dict.fromkeys(("p10", "p50", "p80", "p90"), 0),
    "rank_was": 0,
    "rank_is": 0,
    "score_was": 6,
    "score_is": 6,
}
_IN_ROWS_UNIT = {"value", "low", "high", "map_value", "margin", "at"}

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
}


def write_tables(result: Result, folder: Path) -> None:
    """Write sites.csv, measurements.csv, ledger.csv and the other tables, sites.gpkg and run.json.

    Equal results give equal bytes. Metres have 3 decimals, percent 4, scores (0 to 1) 6; what is
    not known is empty, what can't be reached is ``inf``.

    Parameters
    ----------
    folder
        An existing folder; see ``written_whole``.
    """
    _write_csv(result.sites, SITE_COLUMNS, folder / "sites.csv")
    _write_csv(result.measurements, MEASUREMENT_COLUMNS, folder / "measurements.csv")
    _write_csv(result.ledger, LEDGER_COLUMNS, folder / "ledger.csv")
    _write_csv(_knots(result), KNOT_COLUMNS, folder / "criteria.csv")
    _write_csv(result.firm.robustness, ROBUSTNESS_COLUMNS, folder / "robustness.csv")
    _write_csv(result.firm.pairs, PAIR_COLUMNS, folder / "pairs.csv")
    if result.ballots is not None:
        _write_csv(result.ballots.table, BALLOT_COLUMNS, folder / "ballots.csv")
    if len(result.members):
        shares = result.members.rename_axis("member").reset_index()
        shares = shares.melt("member", var_name="criterion", value_name="weight")
        _write_csv(shares, ("member", "criterion", "weight"), folder / "weights.csv")
    if len(result.earthwork):
        columns = tuple(name for name in result.earthwork.columns if name != "geometry")
        _write_csv(result.earthwork, columns, folder / "earthwork.csv")
    if len(result.water):
        columns = tuple(name for name in result.water.columns if name != "geometry")
        _write_csv(result.water, columns, folder / "water.csv")
    if result.costs is not None:
        _write_csv(result.costs.lines, COST_COLUMNS, folder / "costs.csv")
    if len(result.need):
        _write_csv(result.need, NEED_COLUMNS, folder / "need.csv")
    changes = desk_changes(result)
    if changes:
        _write(changes_text(changes), folder / "changes.csv")
    if len(result.shade):
        _write_csv(result.shade, SHADE_COLUMNS, folder / "shade.csv")
    _write_geopackage(result, folder / "sites.gpkg")
    with (folder / "run.json").open("w", encoding="utf-8", newline="\n") as file:
        file.write(run_text(result))


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
    table = pd.DataFrame([change.row for change in changes], columns=list(CHANGE_COLUMNS))
    return _csv_text(table, CHANGE_COLUMNS)


def _write_csv(table: pd.DataFrame, columns: tuple[str, ...], path: Path) -> None:
    _write(_csv_text(table, columns), path)


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
    return [
        _cell(row[name], _PLACES_OF_UNIT.get(unit, 6) if name in _IN_ROWS_UNIT else _places(name))
        for name in columns
    ]


def _places(name: str) -> int | None:
    """Decimals of a column: those that are listed, else by the unit at the end of its name."""
    if name in _PLACES:
        return _PLACES[name]
    return _PLACES_OF_UNIT.get(name.rsplit("_", 1)[-1]) if "_" in name else None


def _cell(value: Any, places: int | None) -> str:
    if _is_missing(value):
        return ""
    if places is None:
        return guarded(str(value))
    number = float(value)
    if math.isinf(number):
        return "inf" if number > 0 else "-inf"
    text = f"{number:.{places}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text


def _is_missing(value: Any) -> bool:
    return value is None or value is pd.NA or value is pd.NaT or (value != value)  # noqa: PLR0124


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
            if name == "layout" and not len(given):
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
            texts = [None if _is_missing(value) else storable(str(value)) for value in column]
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
