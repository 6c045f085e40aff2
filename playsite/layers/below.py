"""Evidence of what lies below: old buildings, filled ponds, dumps, and where somebody looked."""

from __future__ import annotations

from typing import Any

import numpy as np

from playsite.layers._kind import ColumnKind, LayerKind
from playsite.problems import Finding

__all__ = ["KIND", "LEVELS", "settle"]

LEVELS = {
    "demolished building": 2,
    "filled pond": 2,
    "filled stream": 2,
    "fill": 2,
    "landfill": 3,
    "listed site": 3,
    "tank": 3,
    "former industry": 3,
    "change": 1,
    "other": 1,
}
"""Level of evidence by its kind, where the layer gives none (common practice, no source)."""

_SYNONYMS = {
    "demolished": "demolished building",
    "old building": "demolished building",
    "foundation": "demolished building",
    "slab": "demolished building",
    "buried stream": "filled stream",
    "filled water": "filled pond",
    "fill soil": "fill",
    "made land": "fill",
    "dump": "landfill",
    "brownfield": "listed site",
    "cleanup": "listed site",
    "contamination": "listed site",
    "superfund": "listed site",
    "underground storage tank": "tank",
    "ust": "tank",
    "elevation change": "change",
    "bench": "change",
}


def settle(frame: Any, findings: list[Finding]) -> Any:
    """Work out ``level``, 1 to 3: the file's own, else its kind's; 0 on land that was searched.

    A site that was cleared is weak evidence. A level that is no whole number of 1 to 3 counts as
    the next above.
    """
    frame = frame.copy()
    for flag in ("searched", "cleared"):
        frame[flag] = frame[flag].fillna(value=False).astype(bool)
    frame["kind"] = frame["kind"].astype(object).where(frame["kind"].notna(), "other").astype(str)
    own = frame["level"].astype(float)
    odd = own.notna() & (own != np.ceil(own))
    if odd.any():
        findings.append(
            Finding(
                f"Levels of evidence that are no whole number: {int(odd.sum())} of {len(frame)}.",
                "Each counts as the next above.",
                layer="below",
                count=int(odd.sum()),
                weight="caution",
            )
        )
    level = np.ceil(own.fillna(frame["kind"].map(LEVELS).astype(float)))
    frame["level"] = level.where(~frame["cleared"], 1.0).where(~frame["searched"], 0.0)
    return frame


KIND = LayerKind(
    name="below",
    shapes=("polygon", "line", "point"),
    plain="evidence of what lies below: demolished buildings, filled ponds, fill, listed sites",
    columns=(
        ColumnKind("kind", words=tuple(LEVELS), synonyms=_SYNONYMS, otherwise="other"),
        ColumnKind("level", "number", most=3),
        ColumnKind("name"),
        ColumnKind("cleared", "flag"),
        ColumnKind("searched", "flag"),
    ),
    if_absent=(
        "The study has no layer of what lies below (demolished buildings, filled ponds, fill, listed "
        "sites): no record is no clean ground; look at old maps and the state's lists."
    ),
    settle=settle,
)
