"""Paths: ways to walk that are no street."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from playsite.layers._access import ACCESS, WHEELCHAIR, settle_access
from playsite.layers._kind import ColumnKind, LayerKind

if TYPE_CHECKING:
    from playsite.problems import Finding

__all__ = ["KIND", "settle"]

_STEPS = ("steps", "stairs", "stair", "stairway")


def settle(frame: Any, findings: list[Finding]) -> Any:
    """Work out ``is_public``, ``is_step_free``, and ``bridge``: an unknown one is none."""
    frame = settle_access("paths")(frame, findings)
    frame["bridge"] = frame["bridge"].fillna(value=False).astype(bool)
    steps = frame["kind"].str.lower().isin(_STEPS)
    frame["is_step_free"] = ~steps & ~frame["wheelchair"].eq("no").fillna(value=False)
    return frame


KIND = LayerKind(
    name="paths",
    shapes=("line", "polygon"),
    plain="footways and shared paths",
    columns=(
        ColumnKind(
            "bridge",
            "flag",
            words=("bridge", "tunnel", "viaduct", "boardwalk"),
            if_missing="The file doesn't say which paths are bridges: none is taken as one.",
        ),
        ColumnKind("name"),
        ColumnKind("kind"),
        ACCESS,
        WHEELCHAIR,
    ),
    settle=settle,
)
