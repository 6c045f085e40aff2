"""Parking: car parks, their spaces, and whether the public may use them, and when."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pandas as pd

from playsite.layers._access import ACCESS, settle_access
from playsite.layers._kind import ColumnKind, LayerKind
from playsite.layers.opening_hours import HOURS, settle_hours

if TYPE_CHECKING:
    from playsite.problems import Finding

__all__ = ["KIND", "settle"]


def settle(frame: Any, findings: list[Finding]) -> Any:
    """Work out ``is_public`` and ``accessible_spaces``; say which hours can't be read.

    ``capacity_disabled`` is a number or "no"; "yes" and all else is a number that nobody knows.
    """
    frame = settle_access("parking")(frame, findings)
    settle_hours(frame, findings, "parking")
    told = frame["capacity_disabled"].astype("object").replace({"no": "0", "none": "0"})
    spaces = pd.to_numeric(told, errors="coerce").astype(float)
    frame["accessible_spaces"] = spaces.where(spaces >= 0)
    return frame


KIND = LayerKind(
    name="parking",
    shapes=("point", "polygon"),
    plain="car parks",
    columns=(
        ACCESS,
        ColumnKind("name"),
        ColumnKind("capacity", "number", most=20_000),
        ColumnKind("capacity_disabled"),
        ColumnKind("full_when"),
        replace(HOURS, if_missing=""),
    ),
    if_absent="The study has no layer of parking: the walk from one is not known.",
    settle=settle,
)
