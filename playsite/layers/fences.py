"""Fences, walls and gates: what stops a running child, and where it lets one through."""

from __future__ import annotations

from typing import Any

from playsite.layers._kind import ColumnKind, LayerKind
from playsite.problems import Finding

__all__ = ["KIND", "settle"]

_GATE = r"\bgates?\b"
_RUN_OVER = r"retaining|\bbank|embankment|slope|ditch"


def settle(frame: Any, findings: list[Finding]) -> Any:
    """Work out ``is_gap`` (a gate that stands open) and ``is_run_over`` (stops nobody).

    A gate counts as open unless the file says that it is shut. A retaining wall or a bank is thought
    to be jumped off or run over, unless the study says that it stops a child. Of all else that is no
    gate the height decides; what has none stops a child.
    """
    frame = frame.copy()
    kind = frame["kind"].astype("str").str.lower()
    gate = kind.str.contains(_GATE, na=False) | frame["open"].notna()
    frame["is_gap"] = gate & frame["open"].fillna(value=True).astype(bool)
    soft = kind.str.contains(_RUN_OVER, na=False)
    frame["is_run_over"] = ~frame["stops"].fillna(value=~soft).astype(bool)
    assumed = gate & frame["open"].isna()
    _tell(
        f"Gates that may stand open or shut: {assumed.sum()} of {len(frame)}.",
        "They count as open.",
        'Say which are kept shut: columns.open = "...".',
        int(assumed.sum()),
        findings,
    )
    left = soft & frame["stops"].isna()
    _tell(
        f"Retaining walls and banks: {left.sum()} of {len(frame)}.",
        "They are taken to stop nobody: a child can jump off a wall and run down a bank.",
        'Say which stop a child: columns.stops = "...".',
        int(left.sum()),
        findings,
    )
    unknown = int((frame["height_m"].isna() & ~frame["is_gap"] & ~frame["is_run_over"]).sum())
    _tell(
        f"Fences of unknown height: {unknown} of {len(frame)}.",
        "They are taken to stop a child.",
        "Look at them in the field.",
        unknown,
        findings,
    )
    return frame


def _tell(what: str, done: str, remedy: str, count: int, findings: list[Finding]) -> None:
    if count:
        told = Finding(what, done, remedy, layer="fences", count=count, weight="caution")
        findings.append(told)


KIND = LayerKind(
    name="fences",
    shapes=("line",),
    plain="fences, walls, hedges, and their gates",
    columns=(
        ColumnKind("height", "number", "m", most=30),
        ColumnKind("kind"),
        ColumnKind("name"),
        ColumnKind("open", "flag", words=("open", "unlocked")),
        ColumnKind("stops", "flag", words=("stops",)),
    ),
    if_absent="The study has no layer of fences: nothing is taken to stop a running child.",
    settle=settle,
)
