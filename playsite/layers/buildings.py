"""Buildings: what can't be built on, and where people live."""

from __future__ import annotations

from typing import Any

from playsite.layers._kind import ColumnKind, LayerKind
from playsite.problems import Finding

__all__ = ["KIND", "settle"]

_DWELLINGS = (
    "house",
    "residential",
    "apartments",
    "detached",
    "semidetached_house",
    "terrace",
    "bungalow",
    "cabin",
    "dormitory",
    "farm",
    "houseboat",
    "static_caravan",
    "annexe",
)


def settle(frame: Any, findings: list[Finding]) -> Any:
    """Give each building a kind: one of unknown kind counts as a dwelling."""
    frame = frame.copy()
    unknown = int(frame["kind"].isna().sum())
    if 0 < unknown < len(frame):
        findings.append(
            Finding(
                f"Buildings of unknown kind: {unknown} of {len(frame)}.",
                "They count as dwellings.",
                layer="buildings",
                count=unknown,
            )
        )
    frame["kind"] = frame["kind"].fillna("dwelling")
    return frame


KIND = LayerKind(
    name="buildings",
    shapes=("polygon",),
    plain="outlines of buildings",
    columns=(
        ColumnKind(
            "kind",
            words=("dwelling", "other"),
            synonyms=dict.fromkeys(_DWELLINGS, "dwelling") | {"yes": ""},
            otherwise="other",
            if_missing="The file doesn't say what is lived in: every building counts as a dwelling.",
        ),
        ColumnKind("height", "number", "m", most=900),
        ColumnKind("name"),
    ),
    if_absent="The study has no layer of buildings: pads may lie on houses.",
    absent_weight="loud",
    settle=settle,
)
