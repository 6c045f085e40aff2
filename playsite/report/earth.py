"""Earthwork in words: what levelling a pad would move, as honestly as it is known."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.report.people_units import depth_text, distance_text, percent_text, volume_text
from playsite.report.wording import is_missing, records

if TYPE_CHECKING:
    from playsite.report.wording import Row
    from playsite.result import Result

__all__ = ["EARTH_CAUTION", "earth_sentences"]

EARTH_CAUTION = "A concept from map data, no bid: no borings, no survey."


def earth_sentences(result: Result, parcel_id: str, units: str) -> list[str]:
    """What levelling would move at a parcel's pad; empty where it was not worked out."""
    table = result.earthwork
    own = table[table["parcel_id"] == parcel_id]
    rows = records(own.drop(columns="geometry", errors="ignore"))
    return [text for row in rows for text in _of_part(row, units, several=len(rows) > 1)]


def _of_part(row: Row, units: str, *, several: bool) -> list[str]:
    head = f"Part {row['part']}: " if several else ""
    if is_missing(row["cut_m3"]):
        return [f"{head}too little of the ground is known to tell its earthwork."]
    cut, fill = (volume_text(row[name], units) for name in ("cut_m3", "fill_m3"))
    away, off = (volume_text(row[name], units) for name in ("export_m3", "plus_minus_m3"))
    finish, topsoil = percent_text(row["crossfall_pct"]), volume_text(row["topsoil_m3"], units)
    levelled = f"levelling to {finish} cuts {cut} and fills {fill}, banks included"
    hauled = f"{away} go away with the box-out for surfacing and stone, plus or minus {off}"
    said = [f"{head}{levelled}; {hauled}; {topsoil} of topsoil are stripped and stay."]
    if row["import_m3"] > 1:
        said.append(f"{head}{volume_text(row['import_m3'], units)} must be brought.")
    if row["wall_m"] > 0:
        permit = ", which often needs a permit" if row["wall_needs_permit"] else ""
        said.append(
            f"{head}the bank runs out of room over {distance_text(row['wall_m'], units)}: a "
            f"retaining wall up to {depth_text(row['wall_height_m'], units)} high{permit}."
        )
    if not is_missing(row["two_levels_cut_saved_m3"]):
        said.append(
            f"{head}on two levels {volume_text(row['two_levels_cut_saved_m3'], units)} less are "
            f"cut, with a step of {depth_text(row['two_levels_step_m'], units)} and a ramp of "
            f"{distance_text(row['two_levels_ramp_m'], units)}."
        )
    return said
