"""Flood zones: the floodway, the 1 percent and the 0.2 percent zone, and land found outside them."""

from __future__ import annotations

from typing import Any

import numpy as np

from playsite.layers._kind import ColumnKind, LayerKind
from playsite.layers._notes import listed
from playsite.problems import Finding

__all__ = ["CLASSES", "KIND", "settle", "zone_class"]

CLASSES = ("floodway", "1 percent", "0.2 percent", "beyond 1 percent", "outside", "not studied")
"""From the worst; "beyond 1 percent": where the 0.2 percent zone ends there is not told."""

_SPECIAL = ("A", "AE", "AH", "AO", "AR", "A99", "V", "VE")
_NUMBERED = tuple(f"{letter}{number}" for letter in "AV" for number in range(1, 31))
_NOT_STUDIED = ("D", "OPEN WATER", "AREA NOT INCLUDED", "NP")
_WORDS: dict[str, str] = {
    **{zone.lower(): "1 percent" for zone in (*_SPECIAL, *_NUMBERED)},
    **{zone.lower(): "not studied" for zone in _NOT_STUDIED},
    "1 pct": "1 percent",
    "100-year": "1 percent",
    "100 year": "1 percent",
    "500-year": "0.2 percent",
    "500 year": "0.2 percent",
    "0.2 pct": "0.2 percent",
    "0.2 pct annual chance flood hazard": "0.2 percent",
    "b": "0.2 percent",
    "x500": "0.2 percent",
    "x shaded": "0.2 percent",
    "shaded x": "0.2 percent",
    "x": "beyond 1 percent",
    "c": "outside",
    "x unshaded": "outside",
    "area of minimal flood hazard": "outside",
}


def zone_class(zone: str, subtype: str = "") -> str | None:
    """Class of a zone of the public flood maps and its subtype; None where it is not known.

    A floodway is a subtype of AE; X alone doesn't say whether it lies in the 0.2 percent zone.

    Examples
    --------
    >>> zone_class("AE", "FLOODWAY"), zone_class("AE"), zone_class("X")
    ('floodway', '1 percent', 'beyond 1 percent')
    >>> zone_class("X", "0.2 PCT ANNUAL CHANCE FLOOD HAZARD")
    '0.2 percent'
    """
    zone, subtype = zone.strip().upper(), subtype.strip().upper()
    known = _WORDS.get(zone.lower())
    if known == "1 percent" and ("FLOODWAY" in subtype or "ENCROACHMENT" in subtype):
        return "floodway"
    if known == "beyond 1 percent":
        if "MINIMAL" in subtype:
            return "outside"
        if subtype.startswith(("0.2 PCT", "1 PCT")) or "LEVEE" in subtype:
            return "0.2 percent"
    return known


def settle(frame: Any, findings: list[Finding]) -> Any:
    """Fill ``class`` from zone and subtype of the public maps; what says nothing is not studied."""
    frame = frame.copy()
    pairs = zip(_text(frame["fld_zone"]), _text(frame["zone_subty"]), strict=True)
    read = np.array([zone_class(*pair) for pair in pairs], dtype=object)
    given = frame["class"].astype(object)
    frame["class"] = given.where(given.notna(), read)
    silent = frame["class"].isna()
    if silent.any():
        zones = sorted({zone for zone in _text(frame["fld_zone"][silent]) if zone})
        findings.append(
            Finding(
                f"Flood zones whose class is not known: {int(silent.sum())} of {len(frame)}.",
                "They count as land that was not studied: unknown.",
                'Say what they are: set.class = "1 percent", or values.class.',
                layer="flood_zones",
                where=listed(zones) if zones else "",
                count=int(silent.sum()),
                weight="caution",
            )
        )
    frame["class"] = frame["class"].where(~silent, "not studied").astype(str)
    return frame


def _text(column: Any) -> list[str]:
    return ["" if value is None or value != value else str(value) for value in column]  # noqa: PLR0124 -- NaN


KIND = LayerKind(
    name="flood_zones",
    shapes=("polygon",),
    plain="flood zones: floodway, 1 percent and 0.2 percent a year",
    columns=(
        ColumnKind("class", words=CLASSES, synonyms=_WORDS),
        ColumnKind("fld_zone"),
        ColumnKind("zone_subty"),
        ColumnKind("name"),
    ),
    if_absent="The study has no layer of flood zones: whether the land floods is not known.",
    absent_weight="caution",
    settle=settle,
)
