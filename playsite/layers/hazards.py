"""Hazards that have no layer of their own: rail, pipelines, fuel, industry, balls, dogs."""

from __future__ import annotations

from typing import Any

from playsite.layers._kind import ColumnKind, LayerKind
from playsite.problems import Finding

__all__ = ["KIND", "WORDS", "settle"]

WORDS = (
    "rail",
    "pipeline",
    "fuel",
    "industry",
    "contamination",
    "ball field",
    "dog area",
    "drive",
    "other",
)
"""What a hazard may be."""

_SYNONYMS = {
    "railway": "rail",
    "gas": "pipeline",
    "petroleum": "pipeline",
    "gas station": "fuel",
    "filling station": "fuel",
    "propane": "fuel",
    "substation": "industry",
    "landfill": "contamination",
    "brownfield": "contamination",
    "baseball": "ball field",
    "softball": "ball field",
    "soccer": "ball field",
    "golf": "ball field",
    "pitch": "ball field",
    "dog park": "dog area",
    "dog run": "dog area",
    "aisle": "drive",
    "driveway": "drive",
}


def settle(frame: Any, findings: list[Finding]) -> Any:
    """Give each hazard a kind: one of unknown kind is ``other``."""
    frame = frame.copy()
    unknown = int(frame["kind"].isna().sum())
    frame["kind"] = frame["kind"].fillna("other")
    if unknown:
        findings.append(
            Finding(
                f"Hazards of unknown kind: {unknown} of {len(frame)}.",
                'They count as "other".',
                'Say what a file holds: set.kind = "rail".',
                layer="hazards",
                count=unknown,
                weight="caution",
            )
        )
    return frame


KIND = LayerKind(
    name="hazards",
    shapes=("point", "line", "polygon"),
    plain="rail, pipelines, fuel, industry, listed contamination, ball fields, dog areas, drives",
    columns=(
        ColumnKind("kind", words=WORDS, synonyms=_SYNONYMS, otherwise="other"),
        ColumnKind("keep", "number", "m", most=5000),
        ColumnKind("name"),
    ),
    if_absent=(
        "The study has no layer of other hazards (rail, pipelines, fuel, listed contamination, ball "
        "fields, dog areas): they are not known; ask, and look in the field."
    ),
    settle=settle,
)
