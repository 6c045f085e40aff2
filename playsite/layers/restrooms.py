"""Restrooms: public toilets, and whether the public may use them, when, and in a wheelchair."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from playsite.layers._access import ACCESS, WHEELCHAIR, settle_access
from playsite.layers._kind import ColumnKind, LayerKind
from playsite.layers.opening_hours import HOURS, settle_hours

if TYPE_CHECKING:
    from playsite.problems import Finding

__all__ = ["KIND", "settle"]


def settle(frame: Any, findings: list[Finding]) -> Any:
    """Work out ``is_public``, and say which opening hours can't be read."""
    frame = settle_access("restrooms")(frame, findings)
    settle_hours(frame, findings, "restrooms")
    return frame


KIND = LayerKind(
    name="restrooms",
    shapes=("point", "polygon"),
    plain="public toilets",
    columns=(ACCESS, ColumnKind("name"), HOURS, WHEELCHAIR),
    if_absent="The study has no layer of restrooms: the walk to one is not known.",
    settle=settle,
)
