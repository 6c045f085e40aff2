"""Crossings: places where people on foot are meant to cross a street, and what stops the cars."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from playsite.layers._kind import ColumnKind, LayerKind

if TYPE_CHECKING:
    from playsite.problems import Finding

__all__ = ["KIND", "settle"]

_SYNONYMS = {
    "traffic_signals": "signals",
    "signal": "signals",
    "uncontrolled": "marked",
    "zebra": "marked",
    "crosswalk": "marked",
    "yes": "marked",
    "informal": "unmarked",
    "none": "unmarked",
}


def settle(frame: Any, findings: list[Finding]) -> Any:  # noqa: ARG001 -- as every kind's settle
    """Work out ``is_crossing``: one that is unmarked, or forbidden, is no help."""
    frame = frame.copy()
    frame["is_crossing"] = ~frame["control"].isin(["unmarked", "no"])
    return frame


KIND = LayerKind(
    name="crossings",
    shapes=("point", "line"),
    plain="places to cross a street on foot",
    columns=(
        ColumnKind("control", words=("signals", "marked", "unmarked", "no"), synonyms=_SYNONYMS),
        ColumnKind("name"),
    ),
    settle=settle,
)
