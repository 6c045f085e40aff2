"""Storm inlets and manholes: where water leaves the ground into pipes."""

from __future__ import annotations

from typing import Any

from playsite.layers._kind import ColumnKind, LayerKind
from playsite.problems import Finding

__all__ = ["KIND", "USUAL_DEPTH_M", "settle"]

USUAL_DEPTH_M = 0.9
"""Depth of the lowest pipe of an inlet that nobody has opened: 3 ft (common practice, no source)."""


def settle(frame: Any, findings: list[Finding]) -> Any:
    """Mark the inlets whose pipe has neither height nor depth: theirs is assumed."""
    frame = frame.copy()
    for column in ("invert_m", "depth_m"):
        frame[column] = frame[column].astype(float)
    frame["is_assumed"] = frame["invert_m"].isna() & frame["depth_m"].isna()
    count = int(frame["is_assumed"].sum())
    if count:
        findings.append(
            Finding(
                f"Inlets without the height or the depth of their pipe: {count} of {len(frame)}.",
                f"They are taken as {USUAL_DEPTH_M} m deep.",
                "Open the lids and measure, or ask the drainage department for the inverts.",
                layer="inlets",
                count=count,
                weight="caution",
            )
        )
    frame.loc[frame["is_assumed"], "depth_m"] = USUAL_DEPTH_M
    return frame


KIND = LayerKind(
    name="inlets",
    shapes=("point",),
    plain="storm inlets and manholes that a drain may be led to",
    columns=(
        ColumnKind("name"),
        ColumnKind("invert", "number", "m"),
        ColumnKind("depth", "number", "m", most=15),
    ),
    if_absent=(
        "The study has no layer of storm inlets: a drain is looked for to daylight only, and "
        "water that inlets take is not seen."
    ),
    settle=settle,
)
