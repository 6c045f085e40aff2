"""What the page's script reads: every parcel in words and shapes, ready to be shown.

All rounding, units and sentences are made here, by the same module that the memo uses; a text
that differs between feet and metres is a pair. The script only chooses which of the two to show.
"""

from __future__ import annotations

import math
from collections import defaultdict
from typing import TYPE_CHECKING, Any

import pandas as pd

from playsite.report import wording
from playsite.report.people_units import UNITS, depth_text, in_feet, pad_size_text
from playsite.report.web_map.ground import ground
from playsite.report.web_map.shapes import DEGREES, lines, polygons

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable, Mapping

    import geopandas as gpd

    from playsite.result import Result

    Record = Mapping[Hashable, Any]
    Said = str | list[str]

__all__ = ["STATUSES", "payload", "said"]

STATUSES = ("ranked", "does not fit", "screened out", "not assessed")
MANY_PARCELS = 2000
COVERAGE_TOLERANCE_M = 0.5
WORD_NUMBER = {word: number for number, word in enumerate(wording.WORDS)}


def said(text: Callable[[str], str]) -> Said:
    """One text, or the pair for feet and metres where they differ."""
    feet, metres = (text(units) for units in UNITS)
    return feet if feet == metres else [feet, metres]


class Texts:
    """A table of texts: one that stands a thousand times is written once."""

    def __init__(self) -> None:
        self.all: list[Said] = []
        self._place: dict[Any, int] = {}

    def place(self, text: Said) -> int:
        """Give the place of a text in the table."""
        key = text if isinstance(text, str) else tuple(text)
        if key not in self._place:
            self._place[key] = len(self.all)
            self.all.append(text)
        return self._place[key]


def payload(result: Result) -> dict[str, Any]:
    """Give everything that the page shows, as JSON can hold it."""
    texts = Texts()
    return {
        "units": 0 if in_feet(result.study.units) else 1,
        "shows_order": result.shows_order,
        "criteria": [_criterion(result, number) for number in range(len(result.criteria))],
        "sites": _sites(result, texts),
        "low_spots": _low_spots(result.low_spots),
        "ground": ground(result),
        "texts": texts.all,
    }


def _criterion(result: Result, number: int) -> dict[str, Any]:
    chosen = result.criteria[number]
    criterion = chosen.criterion
    return {
        "name": criterion.name,
        "plain": said(lambda units: wording.in_readers_units(criterion.plain, units)),
        "question": criterion.question,
        "group": criterion.group,
        "share": wording.percent_text(chosen.weight * 100),
        "method": said(lambda units: wording.in_readers_units(criterion.method, units)),
    }


def _sites(result: Result, texts: Texts) -> list[dict[str, Any]]:
    parcels = _shapes_of(_parcel_shapes(result.parcels), polygons)
    pads = _shapes_of(result.pads, polygons)
    ghosts = _shapes_of(result.ghosts, polygons)
    others = _shapes_of(result.alternatives, polygons)
    rows = {name: _rows_of(getattr(result, name)) for name in ("misses", "conditions", "ledger")}
    measured = _measured(result, texts)
    tasks = _tasks(result)
    evidence = _evidence(result, texts)
    areas = result.parcels.geometry.area.groupby(result.parcels["parcel_id"]).sum()
    standing = _standing(result)
    sites = []
    for row in result.sites.to_dict("records"):
        parcel = row["parcel_id"]
        site = _site(row, result, {name: own.get(parcel, []) for name, own in rows.items()}, texts)
        site |= {
            "standing": standing[parcel],
            "area": _lot(areas.get(parcel)),
            "parcel": parcels.get(parcel, []),
            "pad": pads.get(parcel, []),
            "ghost": ghosts.get(parcel, []),
            "others": others.get(parcel, []),
            "measured": measured.get(parcel, []),
            "tasks": tasks.get(parcel, []),
            "evidence": evidence.get(parcel, []),
        }
        sites.append({name: value for name, value in site.items() if value not in ([], "", None)})
    return sites


def _site(row: Record, result: Result, own: dict[str, list[Any]], texts: Texts) -> dict[str, Any]:
    misses = own["misses"]
    known = row["known_share"]
    return {
        "id": str(row["parcel_id"]),
        "no": int(row["site_no"]),
        "name": wording.plain_cell(row["name"]),
        "status": STATUSES.index(row["status"]),
        "rank": None if pd.isna(row["rank"]) else int(row["rank"]),
        "score": wording.points(row["score"]),
        "low": wording.points(row["score_low"]),
        "high": wording.points(row["score_high"]),
        "range": wording.score_range_text(row["score_low"], row["score_high"]),
        "known": "" if _missing(known) or known > 0.995 else wording.percent_text(known * 100),
        "why": said(lambda units: wording.reason_sentence(row, result, units=units, misses=misses)),
        "short": wording.short_reason(row, misses),
        "rule": said(lambda units: wording.first_rule(row, misses, units)),
        "conditions": [
            said(lambda units, c=condition: wording.condition_sentence(c, units))  # type: ignore[misc]
            for condition in own["conditions"]
        ],
        "ledger": [
            [
                texts.place(said(lambda u, r=entry: wording.in_readers_units(str(r["rule"]), u))),  # type: ignore[misc]
                texts.place(said(lambda u, r=entry: wording.area_text(r["removed_m2"], u))),  # type: ignore[misc]
            ]
            for entry in own["ledger"]
        ],
    }


def _standing(result: Result) -> dict[Any, str]:
    sharing = result.ranked.groupby("rank")["site_no"].agg(list).to_dict()
    return {
        row["parcel_id"]: wording.rank_text(row, result, sharing=sharing.get(row["rank"]))
        for row in result.sites.to_dict("records")
    }


def _lot(area_m2: float | None) -> Said:
    return said(lambda units: wording.area_text(area_m2, units)) if area_m2 else ""


def _measured(result: Result, texts: Texts) -> dict[Any, list[list[int | None]]]:
    """Each parcel's measurements: criterion, value, points, word, note, and where it is from."""
    number = {chosen.name: place for place, chosen in enumerate(result.criteria)}
    found: dict[Any, list[list[int | None]]] = defaultdict(list)
    for row in result.measurements.to_dict("records"):
        if row["criterion"] not in number:
            continue
        score = None if _missing(row["score"]) else row["score"]
        found[row["parcel_id"]].append(
            [
                number[row["criterion"]],
                texts.place(
                    said(lambda units, r=row: wording.value_text(r["value"], r["unit"], units))
                ),  # type: ignore[misc]
                wording.points(score),
                WORD_NUMBER[wording.word_of(score)],
                texts.place(said(lambda units, r=row: _note(r, units))),  # type: ignore[misc]
                texts.place(said(lambda units, r=row: _interval(r, units))),  # type: ignore[misc]
                texts.place(_origin(row)),
                texts.place(wording.plain_cell(row["source"])),
            ]
        )
    for rows in found.values():
        rows.sort(key=lambda row: row[0] or 0)
    return found


def _note(row: Record, units: str) -> str:
    return wording.in_readers_units(wording.plain_cell(row["note"]), units)


def _interval(row: Record, units: str) -> str:
    low, high = row["low"], row["high"]
    if _missing(low) or _missing(high) or low == high:
        return ""
    least, most = (wording.value_text(value, row["unit"], units) for value in (low, high))
    return "" if least == most else f"between {least} and {most}"


def _origin(row: Record) -> str:
    """Where a value is from and of what date: "streets, 2025", "site visit", "set by the study"."""
    words = {"map": "", "field": "site visit", "override": "set by hand"}
    origin = wording.plain_cell(row["origin"])
    layer = wording.plain_cell(row["layer"]).replace("_", " ")
    date = wording.plain_cell(row["layer_date"]) or ("date unknown" if layer else "")
    return ", ".join(part for part in (words.get(origin, origin), layer, date) if part)


def _tasks(result: Result) -> dict[Any, list[Said]]:
    plain = {chosen.name: chosen.criterion.plain for chosen in result.criteria}
    found: dict[Any, list[Said]] = defaultdict(list)
    for row in result.unknowns.to_dict("records"):
        what = plain.get(row["criterion"], str(row["criterion"]))
        found[row["parcel_id"]].append(
            said(
                lambda units, w=what, r=row: "\n".join(  # type: ignore[misc]
                    wording.in_readers_units(text, units)
                    for text in (w, wording.plain_cell(r["task"]))
                )
            )
        )
    return found


def _evidence(result: Result, texts: Texts) -> dict[Any, list[list[Any]]]:
    """Shapes of each parcel: criterion, label in words, lines, whether it is an area."""
    if not len(result.evidence):
        return {}
    number = {chosen.name: place for place, chosen in enumerate(result.criteria)}
    units_of = {
        (row["parcel_id"], row["criterion"]): row
        for row in result.measurements[result.measurements["unit"] == "m"].to_dict("records")
    }
    found: dict[Any, list[list[Any]]] = defaultdict(list)
    frame = result.evidence.to_crs(DEGREES)
    for row, shape in zip(
        frame.drop(columns=frame.geometry.name).to_dict("records"), frame.geometry, strict=True
    ):
        if row["criterion"] not in number or shape is None or shape.is_empty:
            continue
        measured = units_of.get((row["parcel_id"], row["criterion"]))
        label = said(lambda units, r=row, m=measured: _label(r, m, units))  # type: ignore[misc]
        found[row["parcel_id"]].append(
            [
                number[row["criterion"]],
                texts.place(label),
                lines(shape),
                int("Polygon" in shape.geom_type),
            ]
        )
    return found


def _label(row: Record, measured: Record | None, units: str) -> str:
    """Words beside a line: what it leads to, and how far that is."""
    label = wording.in_readers_units(wording.plain_cell(row["label"]), units)
    if measured is None or _missing(measured["value"]) or math.isinf(measured["value"]):
        return label
    return f"{label}, {wording.distance_text(measured['value'], units)}"


def _low_spots(frame: gpd.GeoDataFrame) -> list[list[Any]]:
    if not len(frame):
        return []
    rows = frame.drop(columns=frame.geometry.name).to_dict("records")
    return [
        [
            said(lambda units, r=row: f"low spot, {depth_text(r['depth_m'], units)} deep"),  # type: ignore[misc]
            polygons(shape),
        ]
        for row, shape in zip(rows, frame.to_crs(DEGREES).geometry, strict=True)
    ]


def _parcel_shapes(frame: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Parcels as drawn; of very many the outlines are thinned so that neighbours still meet."""
    if len(frame) <= MANY_PARCELS:
        return frame
    return frame.set_geometry(frame.geometry.simplify_coverage(COVERAGE_TOLERANCE_M))


def _shapes_of(frame: gpd.GeoDataFrame, write: Callable[[Any], list[Any]]) -> dict[Any, list[Any]]:
    found: dict[Any, list[Any]] = defaultdict(list)
    if len(frame):
        for parcel, shape in zip(frame["parcel_id"], frame.to_crs(DEGREES).geometry, strict=True):
            found[parcel] += write(shape)
    return found


def _rows_of(frame: pd.DataFrame) -> dict[Any, list[Any]]:
    found: dict[Any, list[Any]] = defaultdict(list)
    for row in frame.to_dict("records"):
        found[row["parcel_id"]].append(row)
    return found


def _missing(value: Any) -> bool:
    return value is None or bool(pd.isna(value))


def pad_words(result: Result) -> list[str]:
    """Size of the play area that is needed, in feet and in metres."""
    pad = result.pad
    return [pad_size_text(pad.length_m, pad.width_m, units) for units in UNITS]
