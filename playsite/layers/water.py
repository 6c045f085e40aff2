"""Open water: ponds and lakes as surfaces, streams as lines or surfaces."""

from __future__ import annotations

from typing import Any

from playsite.layers._kind import ColumnKind, LayerKind
from playsite.problems import Finding

__all__ = ["KIND", "settle"]


def settle(frame: Any, findings: list[Finding]) -> Any:
    """Give a stream of known width its surface, and all water the land up to its high-water edge.

    A line of unknown width stays a line. ``high_water`` is how far the high-water edge lies outside
    the mapped one; water that is dry at times counts like any other.
    """
    frame = frame.copy()
    is_line = frame.geom_type.isin(["LineString", "MultiLineString", "LinearRing"])
    wide = is_line & frame["width_m"].notna()
    surface = frame.geometry.buffer(frame["width_m"].astype(float) / 2)
    frame.geometry = frame.geometry.where(~wide, surface)
    rises = frame["high_water_m"].notna()
    risen = frame.geometry.buffer(frame["high_water_m"].astype(float).fillna(0.0))
    frame.geometry = frame.geometry.where(~rises, risen)
    thin = int((is_line & ~wide & ~rises).sum())
    if thin:
        findings.append(
            Finding(
                f"Lines without a width: {thin} of {len(frame)}.",
                "Their water is the line itself: the bank is nearer than it says.",
                'Give the width: columns.width = { column = "...", unit = "m" }.',
                layer="water",
                count=thin,
                weight="caution",
            )
        )
    return frame


KIND = LayerKind(
    name="water",
    shapes=("line", "polygon"),
    plain="open water: ponds, lakes, streams, ditches",
    columns=(
        ColumnKind("name"),
        ColumnKind("kind"),
        ColumnKind("width", "number", "m", most=2000),
        ColumnKind("high_water", "number", "m", most=500),
        ColumnKind("intermittent", "flag", words=("intermittent", "seasonal", "dry", "ephemeral")),
    ),
    if_absent="The study has no layer of open water: the way to water is not known.",
    absent_weight="caution",
    settle=settle,
)
