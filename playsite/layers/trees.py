"""Trees: stems or crowns, and the spread of their shade."""

from __future__ import annotations

from typing import Any

import numpy as np

from playsite.layers._kind import ColumnKind, LayerKind
from playsite.problems import Finding

__all__ = ["CROWN_BY_DIAMETER", "CROWN_BY_HEIGHT", "KIND", "settle"]

CROWN_BY_HEIGHT = 0.25
"""Radius of a crown over the tree's height; common practice, no source."""

CROWN_BY_DIAMETER = 10.0
"""Radius of a crown over the stem's diameter; common practice, no source."""


_CONDITIONS = {
    "excellent": "good",
    "very good": "good",
    "critical": "poor",
    "very poor": "poor",
    "declining": "poor",
    "dying": "poor",
    "hazard": "poor",
    "snag": "dead",
}


def settle(frame: Any, findings: list[Finding]) -> Any:
    """Work out ``crown_m`` (radius, m; NaN unknown) and ``crown_from``.

    The radius is the file's own, else that of a circle of the area of the crown's outline,
    else 0.25 times the height, else 10 times the stem's diameter.
    """
    frame = frame.copy()
    outlined = frame.geom_type.isin(["Polygon", "MultiPolygon"])
    ways = {
        "given": frame["crown_m"].astype(float),
        "outline": np.sqrt(frame.area / np.pi).where(outlined),
        "height": frame["height_m"].astype(float) * CROWN_BY_HEIGHT,
        "diameter": frame["diameter_m"].astype(float) * CROWN_BY_DIAMETER,
    }
    known = [radius_m.notna() for radius_m in ways.values()]
    frame["crown_m"] = np.select(known, list(ways.values()), np.nan)
    frame["crown_from"] = np.select(known, list(ways), "unknown")
    guessed = frame["crown_from"].isin(["height", "diameter"])
    _tell(
        f"Trees that give no crown: {guessed.sum()} of {len(frame)}.",
        f"Its radius is taken as {CROWN_BY_HEIGHT:g} of the height, else {CROWN_BY_DIAMETER:g} "
        "times the stem's diameter (common practice, no source).",
        int(guessed.sum()),
        findings,
    )
    unknown = int((frame["crown_from"] == "unknown").sum())
    _tell(
        f"Trees that give neither crown, height nor diameter: {unknown} of {len(frame)}.",
        "Their shade is not known.",
        unknown,
        findings,
    )
    return frame


def _tell(what: str, done: str, count: int, findings: list[Finding]) -> None:
    if count:
        findings.append(Finding(what, done, layer="trees", count=count))


KIND = LayerKind(
    name="trees",
    shapes=("point", "polygon"),
    plain="trees, as stems or as outlines of crowns",
    columns=(
        ColumnKind("diameter", "number", "m", most=12),
        ColumnKind("height", "number", "m", most=120),
        ColumnKind("crown", "number", "m", most=40),
        ColumnKind("name"),
        ColumnKind("protected", "flag", words=("protected", "heritage", "landmark")),
        ColumnKind("condition", words=("good", "fair", "poor", "dead"), synonyms=_CONDITIONS),
    ),
    if_absent="The study has no layer of trees: their shade is not known.",
    settle=settle,
)
