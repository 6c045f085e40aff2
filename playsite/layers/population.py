"""Population: areas of a census with their children, each with its margin, and who is disadvantaged."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from playsite.layers._kind import ColumnKind, LayerKind
from playsite.problems import Finding

__all__ = ["KIND", "SHARES", "settle"]

_BANDS = ("under_5", "from_5_to_9", "from_10_to_14")
_OF_LAST_BAND = 3 / 5  # ages 10 to 12 of 10 to 14: even ages within a band, common practice
_YOUNG_OF_ALL = 5 / 13  # ages 0 to 4 of 0 to 12, likewise

SHARES = ("low_income_pct", "disability_pct", "no_yard_pct")
"""Percent of an area's people, or homes, of which the table of who gains tells."""


def settle(frame: Any, findings: list[Finding]) -> Any:
    """Work out ``young`` (ages 0 to 4) and ``older`` (5 to 12), with ``_margin``; NaN unknown.

    From bands of five years, else from ``children`` (0 to 12). The margins are those of the
    census's own estimates (90 percent); a sum's is the root of the sum of their squares (U.S.
    Census Bureau, Understanding and Using American Community Survey Data, 2020, chapter 8, from
    memory). Without a margin it is unknown.
    """
    frame = frame.copy()
    names = [*_BANDS, "children"]
    count = {name: _number(frame[name]) for name in names}
    margin = {name: _number(frame[f"{name}_margin"]) for name in names}
    by_bands = count["under_5"].notna() & count["from_5_to_9"].notna()
    by_bands &= count["from_10_to_14"].notna()
    last = _OF_LAST_BAND
    older = count["from_5_to_9"] + last * count["from_10_to_14"]
    off = np.hypot(margin["from_5_to_9"], last * margin["from_10_to_14"])
    whole, rest = _YOUNG_OF_ALL, 1 - _YOUNG_OF_ALL
    frame["young"] = count["under_5"].where(by_bands, whole * count["children"])
    frame["older"] = older.where(by_bands, rest * count["children"])
    frame["young_margin"] = margin["under_5"].where(by_bands, whole * margin["children"])
    frame["older_margin"] = off.where(by_bands, rest * margin["children"])
    for name in SHARES:
        frame[name] = _number(frame[name]).where(lambda share: share <= 100)
    unknown = int(frame["young"].isna().sum())
    if unknown:
        findings.append(
            Finding(
                f"Areas whose children are not known: {unknown} of {len(frame)}.",
                "Pads that mostly reach such areas have an unknown need.",
                layer="population",
                count=unknown,
            )
        )
    return frame


def _number(texts: Any) -> Any:
    """Read numbers that may be 0; below 0 they stand for a missing one."""
    numbers = pd.to_numeric(texts.astype(object), errors="coerce").astype(float)
    return numbers.where((numbers >= 0) & np.isfinite(numbers))


KIND = LayerKind(
    name="population",
    shapes=("polygon",),
    plain="areas of a census with their children",
    # As texts: 0 children are a number here, where a number of 0 would count as missing.
    columns=tuple(
        ColumnKind(name) for band in (*_BANDS, "children") for name in (band, f"{band}_margin")
    )
    + tuple(ColumnKind(name) for name in (*SHARES, "name")),
    if_absent="The study has no layer of population: who would gain is not known.",
    settle=settle,
)
