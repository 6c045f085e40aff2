"""One site's sheet: where the pad lies, its plan to scale, what to measure and how, and room to write."""

from __future__ import annotations

import base64
import math
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pyproj
import shapely
from jinja2 import Environment

from playsite.report.field_kit.doubts import doubts
from playsite.report.ink import INK
from playsite.report.low_spots import texts_near
from playsite.report.memo import paper
from playsite.report.memo.plan import site_plan
from playsite.report.people_units import in_feet, in_readers_units, side_text
from playsite.report.wording import (
    NOT_A_SURVEY,
    condition_sentence,
    date_text,
    rank_text,
    records,
    site_title,
)
from playsite.units import Unit

if TYPE_CHECKING:
    from jinja2 import Template
    from shapely.geometry.base import BaseGeometry

    from playsite.report.memo.blocks import Figure, Page
    from playsite.report.wording import Row
    from playsite.result import Result

__all__ = ["Sheet", "corners", "sheet_html", "sheet_of", "unit_to_write"]

_PLAN_MM = 96.0
_MOST_LOW_SPOTS = 6  # the least sure: the others are on the plan
_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
_UNITS = {Unit.PERCENT: "%", Unit.MINUTE: "min"}
_AT_EVERY_SITE = (
    "Bring: this sheet, flags, a long tape, a level, a probe rod, water and a ring, a tape for stems, a camera.",
    "Flag the corners of the play area and walk it. Note each thing in the way: what, where, how wide.",
    "Photograph north, east, south and west from its middle, and each problem; write the numbers down.",
    "Sit where a caregiver would: what can be seen, heard and smelled? Who uses the ground now, and how?",
    "Come after rain if you can, at the busiest hour if you can; ask the crew that mows.",
)
"""Common practice, no source."""


@dataclass(frozen=True)
class Sheet:
    """Words and plan of one site's sheet, whatever it is printed as."""

    title: str
    parcel: str
    study_title: str
    day: str
    standing: str
    units: str
    crs: str
    page: Page
    plan: Figure
    conditions: list[str]
    corners: list[dict[str, str]]
    asked: list[dict[str, str]]
    sure: list[dict[str, str]]
    low_spots: list[str]
    always: tuple[str, ...] = _AT_EVERY_SITE
    cautions: tuple[str, ...] = tuple(NOT_A_SURVEY)

    @property
    def made_on(self) -> str:
        """Day of the run as people write it."""
        return date_text(self.day)

    @property
    def paper(self) -> str:
        """Size of the paper by its name."""
        return "us-letter" if in_feet(self.units) else "a4"

    @property
    def length(self) -> str:
        """Unit in which a length is written down."""
        return unit_to_write(Unit.METRE, self.units)


def sheet_of(result: Result, site: Row) -> Sheet:
    """Gather what the sheet of one site says.

    Parameters
    ----------
    site
        A row of ``result.sites`` that has a pad.
    """
    study = result.study
    page = paper(study.units)
    pads = result.pads
    pad = records(pads[pads["parcel_id"] == site["parcel_id"]])[0]
    marks = corners(pad["geometry"], study.crs)
    own = result.conditions[result.conditions["parcel_id"] == site["parcel_id"]]
    every = doubts(result, str(site["parcel_id"]))
    return Sheet(
        title=site_title(site),
        parcel=str(site["parcel_id"]),
        study_title=study.title,
        day=study.made_on,
        standing=rank_text(site, result),
        units=study.units,
        crs=study.crs,
        page=page,
        plan=site_plan(
            result,
            pad,
            replace(page, plan_height_mm=_PLAN_MM),
            marks=[(mark["letter"], mark["easting"], mark["northing"]) for mark in marks],
        ),
        conditions=[condition_sentence(row, study.units) for row in records(own)],
        corners=[_corner(mark, study.units) for mark in marks],
        asked=[_asked(doubt, study.units) for doubt in every if not doubt.is_sure],
        sure=[_asked(doubt, study.units) for doubt in every if doubt.is_sure],
        low_spots=texts_near(result, study.units).get(str(site["parcel_id"]), [])[
            -_MOST_LOW_SPOTS:
        ],
    )


def sheet_html(sheet: Sheet) -> str:
    """Sheet of one site as a page to print, letter or A4; nothing is loaded from outside."""
    picture = base64.b64encode(sheet.plan.drawn.png).decode()
    size = "letter" if in_feet(sheet.units) else "A4"
    return _template().render(sheet=sheet, ink=INK, size=size, picture=picture)


@cache
def _template() -> Template:
    text = Path(__file__).with_name("sheet.html").read_text(encoding="utf-8")
    return Environment(autoescape=True, trim_blocks=True, lstrip_blocks=True).from_string(text)


def corners(pad: BaseGeometry, crs: str) -> list[dict[str, Any]]:
    """Corners of a pad by letter, clockwise from the northernmost, part by part.

    Returns
    -------
    list of dict
        ``letter, easting, northing`` (m), ``latitude, longitude`` (degrees, WGS 84) and
        ``side_m`` to the next corner.

    Examples
    --------
    >>> found = corners(shapely.box(500000, 4500000, 500030, 4500020), "EPSG:26918")
    >>> [(c["letter"], c["easting"], c["side_m"]) for c in found]
    [('A', 500030.0, 20.0), ('B', 500030.0, 30.0), ('C', 500000.0, 20.0), ('D', 500000.0, 30.0)]
    """
    degrees = pyproj.Transformer.from_crs(crs, "EPSG:4326", always_xy=True)
    found: list[dict[str, Any]] = []
    for part in shapely.get_parts(pad):
        ring = shapely.get_coordinates(shapely.orient_polygons(part, exterior_cw=True).exterior)[
            :-1
        ]
        first = max(range(len(ring)), key=lambda k: (round(ring[k][1], 3), ring[k][0]))
        ring = [*ring[first:], *ring[:first]]
        for k, (east, north) in enumerate(ring):
            after = ring[(k + 1) % len(ring)]
            lon, lat = degrees.transform(east, north)
            found.append(
                {
                    "letter": _LETTERS[len(found) % len(_LETTERS)],
                    "easting": float(east),
                    "northing": float(north),
                    "latitude": lat,
                    "longitude": lon,
                    "side_m": math.dist((east, north), after),
                }
            )
    return found


def _corner(mark: dict[str, Any], units: str) -> dict[str, str]:
    return {
        "letter": mark["letter"],
        "place": f"{mark['easting']:.2f} E, {mark['northing']:.2f} N",
        "degrees": f"{mark['latitude']:.6f}, {mark['longitude']:.6f}",
        "side": side_text(mark["side_m"], units),
    }


def _asked(doubt: Any, units: str) -> dict[str, str]:
    criterion = doubt.chosen.criterion
    return {
        "name": criterion.name,
        "plain": in_readers_units(criterion.plain, units),
        "value": doubt.value,
        "why": doubt.why,
        "how": in_readers_units(criterion.field_task or criterion.question, units),
        "unit": unit_to_write(criterion.unit, units),
    }


def unit_to_write(unit: Unit, units: str) -> str:
    """Unit in which a value is best written down, as it is read back.

    Examples
    --------
    >>> [unit_to_write(unit, "feet") for unit in (Unit.METRE, Unit.SQUARE_METRE, Unit.PERCENT)]
    ['ft', 'sq ft', '%']
    """
    if unit is Unit.METRE:
        return "ft" if in_feet(units) else "m"
    if unit is Unit.SQUARE_METRE:
        return "sq ft" if in_feet(units) else "m2"
    return _UNITS.get(unit, unit.value)
