"""The field kit: a sheet to print for each site, as PDF and HTML, its own doubtful values first, and a CSV to fill in."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from playsite.csv_cells import guarded
from playsite.errors import InputError
from playsite.problems import Problem
from playsite.report.field_kit.doubts import doubts
from playsite.report.field_kit.sheet import sheet_html, sheet_of, unit_to_write
from playsite.report.field_kit.sheet_pdf import sheet_pdf
from playsite.report.memo.readings import Readings
from playsite.report.output_folder import written_whole
from playsite.report.wording import records
from playsite.visits import COLUMNS, PAD_COLUMNS

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from playsite.report.wording import Row
    from playsite.result import Result

__all__ = ["CSV_FILE", "kit_text", "write_kit"]

CSV_FILE = "field.csv"


def write_kit(result: Result, folder: Path, parcels: Sequence[str] = ()) -> list[str]:
    """Write a sheet for each site and one CSV for all of them; give the names of the sheets as PDF.

    Parameters
    ----------
    folder
        Takes ``site_4.pdf`` and ``site_4.html`` and their like, and ``field.csv``: whole, or not at
        all. A CSV that was filled in stays beside the new one.
    parcels
        Which parcels; absent: the short list.

    Raises
    ------
    InputError
        If a parcel has no pad to visit, or the folder can't be written.
    """
    sites = _sites(result, parcels)
    names = []
    with written_whole(folder) as fresh:
        for site in sites:
            sheet, name = sheet_of(result, site), f"site_{site['site_no']}"
            (fresh / f"{name}.html").write_text(sheet_html(sheet), encoding="utf-8", newline="\n")
            (fresh / f"{name}.pdf").write_bytes(sheet_pdf(sheet))
            names.append(f"{name}.pdf")
        # with a mark at its start, by which spreadsheets know it for UTF-8
        (fresh / CSV_FILE).write_text(kit_text(result, sites), encoding="utf-8-sig", newline="")
    return names


def _sites(result: Result, parcels: Sequence[str]) -> list[Row]:
    """Sites by the ids of their parcels, or the short list."""
    if not parcels:
        short: list[Row] = list(Readings(result).short_list)
        if not short:
            what = "no site is ranked, so there is no short list."
            raise InputError([Problem(what, "Name the parcels to visit: kit PARCEL ...")])
        return short
    placed = set(result.pads["parcel_id"])
    missing = [name for name in parcels if name not in placed]
    if missing:
        remedy = f"Those that have one: {', '.join(sorted(placed)[:8])} ..."
        raise InputError(
            [Problem(f'parcel "{name}" has no pad to visit.', remedy) for name in missing]
        )
    of = {str(row["parcel_id"]): row for row in records(result.sites)}
    return [of[name] for name in dict.fromkeys(parcels)]


def kit_text(result: Result, sites: Sequence[Row]) -> str:
    """CSV of every question at every site, the most doubtful first, with the pad's place filled in."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow((*COLUMNS, *PAD_COLUMNS))
    pads = result.pads.set_index("parcel_id")
    for site in sites:
        pad = pads.loc[site["parcel_id"]]
        place = [f"{pad[name]:.3f}" for name in ("easting", "northing", "rotation_deg")]
        for doubt in doubts(result, str(site["parcel_id"])):
            row = dict.fromkeys(COLUMNS, "")
            row["parcel_id"], row["criterion"] = str(site["parcel_id"]), doubt.chosen.name
            row["unit"] = unit_to_write(doubt.chosen.criterion.unit, result.study.units)
            writer.writerow([*(guarded(row[name]) for name in COLUMNS), *place])
    return text.getvalue()
