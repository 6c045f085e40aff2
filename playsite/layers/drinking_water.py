"""Drinking water: fountains and taps, and whether the public may use them, and when."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from playsite.layers._access import ACCESS, WHEELCHAIR, settle_access
from playsite.layers._kind import ColumnKind, LayerKind
from playsite.layers.opening_hours import HOURS, settle_hours

if TYPE_CHECKING:
    from playsite.problems import Finding

__all__ = ["KIND", "settle"]


def settle(frame: Any, findings: list[Finding]) -> Any:
    """Work out ``is_public``, and say which opening hours can't be read."""
    frame = settle_access("drinking_water")(frame, findings)
    settle_hours(frame, findings, "drinking_water")
    return frame


KIND = LayerKind(
    name="drinking_water",
    shapes=("point", "polygon"),
    plain="drinking fountains and taps",
    columns=(ACCESS, ColumnKind("name"), replace(HOURS, if_missing=""), WHEELCHAIR),
    settle=settle,
)
