"""Wetlands that are mapped, and the land in which somebody looked for them."""

from __future__ import annotations

from typing import Any

from playsite.layers._kind import ColumnKind, LayerKind
from playsite.problems import Finding

__all__ = ["KIND", "settle"]


def settle(frame: Any, findings: list[Finding]) -> Any:
    """Leave out what an inventory calls upland; give each wetland a name."""
    frame = frame.copy()
    frame["searched"] = frame["searched"].fillna(value=False).astype(bool)
    for theirs in ("kind", "wetland_type"):
        frame["name"] = frame["name"].where(frame["name"].notna(), frame[theirs])
    kind = frame["kind"].where(frame["kind"].notna(), frame["wetland_type"])
    upland = kind.astype(object).fillna("").astype(str).str.strip().str.lower() == "upland"
    if upland.any():
        findings.append(
            Finding(
                f"Features that are called upland: {int(upland.sum())} of {len(frame)}.",
                "They are no wetlands, and left out.",
                layer="wetlands",
                count=int(upland.sum()),
            )
        )
    return frame[~upland]


KIND = LayerKind(
    name="wetlands",
    shapes=("polygon",),
    plain="mapped wetlands",
    columns=(
        ColumnKind("name"),
        ColumnKind("kind"),
        ColumnKind("wetland_type"),
        ColumnKind("searched", "flag"),
    ),
    if_absent="The study has no layer of wetlands: whether one is near is not known.",
    absent_weight="caution",
    settle=settle,
)
