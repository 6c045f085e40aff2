"""Drawings of the foremost sites' earthwork for their cards: shapes once, letters in both units."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from playsite.report.earth_drawings import earth_drawings
from playsite.report.paper import drawing_parts
from playsite.report.people_units import UNITS
from playsite.report.web_map.texts import said

if TYPE_CHECKING:
    from playsite.report.paper import Drawing
    from playsite.result import Result

__all__ = ["drawings"]

MOST_DRAWN = 24
"""Sites with drawings on their cards, in the order of the ranking: a page has to stay small."""


def drawings(result: Result) -> dict[Any, list[list[Any]]]:
    """Give each drawing of a parcel: width and height, shapes, letters, words for each reader.

    The words are what those are told who can't see it, the finding, and the key.
    """
    return {
        parcel: _of_parcel(result, parcel) for parcel in result.sites["parcel_id"].iloc[:MOST_DRAWN]
    }


def _of_parcel(result: Result, parcel: str) -> list[list[Any]]:
    in_units = {
        units: [each for pair in earth_drawings(result, parcel, units) for each in pair]
        for units in UNITS
    }
    return [
        _drawn(dict(zip(UNITS, pair, strict=True))) for pair in zip(*in_units.values(), strict=True)
    ]


def _drawn(of_units: dict[str, Drawing]) -> list[Any]:
    first = next(iter(of_units.values()))
    return [
        f"{first.width_mm:g} {first.height_mm:g}",
        drawing_parts(first)[0],
        said(lambda units: drawing_parts(of_units[units])[1]),
        said(lambda units: of_units[units].alt),
        said(lambda units: of_units[units].finding),
        said(lambda units: of_units[units].key[:1].upper() + of_units[units].key[1:]),
    ]
