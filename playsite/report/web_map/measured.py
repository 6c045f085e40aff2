"""What was measured at each parcel's pad, in words, and the shapes that show it."""

from __future__ import annotations

import math
import re
from collections import defaultdict
from functools import partial
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import shapely

from playsite.report import wording
from playsite.report.people_units import ends_in_length, interval_text, percent_text
from playsite.report.way_grades import parts_by_grade, steepest
from playsite.report.web_map.shapes import DEGREES, lines, spots
from playsite.report.web_map.texts import said
from playsite.report.wording import in_readers_units, is_missing, plain_cell

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from playsite.criteria._spoken import Spoken
    from playsite.report.web_map.texts import Said, Texts
    from playsite.report.wording import Row
    from playsite.result import Result

__all__ = ["evidence", "measurements", "tasks"]

_SECONDS = re.compile(r"\d s$")  # a way that has seconds is run
WORD_NUMBER = {word: number for number, word in enumerate(wording.WORDS)}


def measurements(result: Result, texts: Texts) -> dict[Any, list[list[int | None]]]:
    """Give each parcel's rows: criterion, value, points, word, note, interval, origin, source, how, straight.

    All but criterion, points and word are places in the table of texts. How is told where a visit
    measured otherwise than the criterion does.
    """
    number = {chosen.name: place for place, chosen in enumerate(result.criteria)}
    found: dict[Any, list[list[int | None]]] = defaultdict(list)
    for row in wording.records(result.measurements):
        if row["criterion"] not in number:
            continue
        score = None if is_missing(row["score"]) else row["score"]
        spoken = result.spoken[row["criterion"]]
        value_text = partial(wording.value_text, spoken=spoken)
        words = (
            said(partial(value_text, row["value"], row["unit"])),
            said(partial(_note, row, spoken)),
            said(partial(interval_text, row["low"], row["high"], row["unit"], spoken=spoken)),
            said(partial(_origin, row, spoken)),
            plain_cell(row["source"]),
            plain_cell(row["method"]) if plain_cell(row["origin"]) == "field" else "",
            said(partial(wording.straight_text, row)),
        )
        value, *rest = map(texts.place, words)
        word = WORD_NUMBER[wording.word_of(score)]
        found[row["parcel_id"]].append(
            [number[row["criterion"]], value, wording.points(score), word, *rest]
        )
    for rows in found.values():
        rows.sort(key=lambda row: row[0] or 0)
    return found


def _note(row: Row, spoken: Spoken, units: str) -> str:
    """What a value needs said at once: its note, and that a visit gave it."""
    note = in_readers_units(wording.note_text(row), units)
    if plain_cell(row["origin"]) != "field":
        return note
    map_value = wording.value_text(row["map_value"], row["unit"], units, spoken)
    return "; ".join(filter(None, ["measured on a site visit", note, f"map: {map_value}"]))


def _origin(row: Row, spoken: Spoken, units: str) -> str:
    """Say where a value is from and of what date: "streets, 2025", or which visit gave it."""
    layer = plain_cell(row["layer"]).replace("_", " ")
    date = plain_cell(row["layer_date"]) or ("date unknown" if layer else "")
    return wording.visit_text(row, units, spoken) or ", ".join(filter(None, (layer, date)))


def tasks(result: Result) -> dict[Any, list[Said]]:
    """Give each parcel's open questions, and under each what to do about it in the field."""
    plain = {chosen.name: chosen.criterion.plain for chosen in result.criteria}
    found: dict[Any, list[Said]] = defaultdict(list)
    for row in wording.records(result.unknowns):
        what = plain.get(row["criterion"], str(row["criterion"]))
        text = f"{what}\n{plain_cell(row['task'])}"
        found[row["parcel_id"]].append(said(partial(in_readers_units, text)))
    return found


def evidence(result: Result, texts: Texts) -> dict[Any, list[list[Any]]]:
    """Give each parcel's shapes: criterion, label in words, lines, its form, and its grades.

    Form is 0 for a line, 1 for an area, 2 for points, 3 for the way a child could run. Grades are
    there where heights are, as `_grades` gives them.
    """
    if not len(result.evidence):
        return {}
    number = {chosen.name: place for place, chosen in enumerate(result.criteria)}
    lengths = result.measurements[result.measurements["unit"] == "m"]
    value_m = {
        (row["parcel_id"], row["criterion"]): row["value"] for row in wording.records(lengths)
    }
    is_line = result.evidence.geom_type.str.endswith("LineString")
    lengths_m = result.evidence.length.where(is_line, 0.0)  # the line's own, where it has one
    frame = result.evidence.assign(length_m=lengths_m).to_crs(DEGREES)
    found: dict[Any, list[list[Any]]] = defaultdict(list)
    for row, shape, flat in zip(
        wording.records(frame.drop(columns=frame.geometry.name)),
        frame.geometry,
        result.evidence.geometry,
        strict=True,
    ):
        if row["criterion"] not in number or shape is None or shape.is_empty:
            continue
        far_m = row["length_m"] or value_m.get((row["parcel_id"], row["criterion"]))
        label = texts.place(said(partial(_label, plain_cell(row["label"]), far_m)))
        parts, form = _drawn(shape)
        if form == 0 and _SECONDS.search(plain_cell(row["label"])):
            form = 3
        drawn = [number[row["criterion"]], label, parts, form]
        if shape.has_z:
            drawn += [_grades(flat, result.evidence.crs, texts)]
        found[row["parcel_id"]].append(drawn)
    return found


def _grades(way: BaseGeometry, crs: Any, texts: Texts) -> list[Any]:
    """Parts of a way by the class of their grade; grade, class and middle of the steepest part."""
    pieces, steep = parts_by_grade(way), steepest(way)
    if steep is None:
        return []
    shapes = gpd.GeoSeries([*(piece for _, piece in pieces), steep.at], crs=crs).to_crs(DEGREES)
    drawn = [[step, lines(shape)[0]] for (step, _), shape in zip(pieces, shapes, strict=False)]
    return [
        drawn,
        texts.place(percent_text(steep.grade_pct)),
        steep.step,
        *spots([shapes.iloc[-1]]),
    ]


def _drawn(shape: BaseGeometry) -> tuple[list[list[int]], int]:
    """Lines of a shape, and what it is: 0 a line, 1 an area, 2 points."""
    if "Point" in shape.geom_type:
        return spots(shapely.get_parts(shape)), 2
    return lines(shape), int("Polygon" in shape.geom_type)


def _label(label: str, far_m: float | None, units: str) -> str:
    """Words beside a line: what it leads to and, under that, how far it is."""
    words = in_readers_units(label, units)
    if far_m is None or not math.isfinite(far_m) or ends_in_length(words):
        return words
    return f"{words}\n{wording.distance_text(far_m, units)}"
