"""Easements: land that others have a right over."""

from __future__ import annotations

from typing import Any

from playsite.layers._kind import ColumnKind, LayerKind
from playsite.problems import Finding

__all__ = ["KIND", "settle"]


def settle(frame: Any, findings: list[Finding]) -> Any:
    """Leave out lines: an easement that is drawn as a line has no land."""
    is_line = frame.geom_type.isin(["LineString", "MultiLineString", "LinearRing"])
    lines = int(is_line.sum())
    if lines:
        findings.append(
            Finding(
                f"Easements that are lines, which have no land: {lines} of {len(frame)}.",
                "They are left out: a pad may lie on them.",
                "Widen them to the strip that the deed gives.",
                layer="easements",
                count=lines,
                weight="loud",
            )
        )
    return frame[~is_line]


KIND = LayerKind(
    name="easements",
    shapes=("polygon", "line"),
    plain="easements and rights of way over parcels",
    columns=(ColumnKind("kind"), ColumnKind("name")),
    if_absent="The study has no layer of easements: pads may lie on one; ask for the plats.",
    absent_weight="caution",
    settle=settle,
)
