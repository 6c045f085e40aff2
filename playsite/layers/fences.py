"""Fences and walls: what stops a running child."""

from __future__ import annotations

from typing import Any

from playsite.layers._kind import ColumnKind, LayerKind
from playsite.problems import Finding

__all__ = ["KIND", "settle"]


def settle(frame: Any, findings: list[Finding]) -> Any:
    """Say how many fences have no known height; they stop a child all the same."""
    unknown = int(frame["height_m"].isna().sum())
    if unknown:
        findings.append(
            Finding(
                f"Fences of unknown height: {unknown} of {len(frame)}.",
                "They are taken to stop a child.",
                "Look at them in the field.",
                layer="fences",
                count=unknown,
                weight="caution",
            )
        )
    return frame


KIND = LayerKind(
    name="fences",
    shapes=("line",),
    plain="fences, walls and hedges",
    columns=(ColumnKind("height", "number", "m", most=30), ColumnKind("kind")),
    if_absent="The study has no layer of fences: nothing is taken to stop a running child.",
    settle=settle,
)
