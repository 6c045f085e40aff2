"""Fences, walls and gates: what stops a running child, and where it lets one through."""

from __future__ import annotations

from typing import Any

import geopandas as gpd
import numpy as np
import shapely
from shapely.ops import substring

from playsite.layers._kind import ColumnKind, LayerKind
from playsite.problems import Finding

__all__ = ["KIND", "settle"]

_ON_FENCE_M = 1.0  # a gate that is a point may lie so far off its fence
_GATE_M = 1.0  # width of a gate that gives none: common practice, no source
_GATE = r"\bgates?\b"
_WALL = r"retaining"
_BANK = r"\bbank|embankment|slope|ditch"


def settle(frame: Any, findings: list[Finding]) -> Any:
    """Work out ``is_gate``, ``is_gap`` (an open one) and ``soft``: retaining walls, banks, or nothing.

    A gate that is a point becomes the piece of its fence that it takes: its own width, else 1 m.
    A gate counts as open unless the file says that it is shut. What is soft is jumped off or run
    over, unless the file or the study's rule says that it stops a child. Of all else that is no gate
    the height decides; what has none stops a child.
    """
    frame = _drawn_on_its_fence(frame.copy(), findings)
    kind = frame["kind"].astype("str").str.lower()
    gate = kind.str.contains(_GATE, na=False) | frame["open"].notna()
    frame["is_gate"] = gate
    frame["is_gap"] = gate & frame["open"].fillna(value=True).astype(bool)
    wall, bank = (kind.str.contains(words, na=False) for words in (_WALL, _BANK))
    frame["soft"] = np.select([wall, bank], ["retaining walls", "banks"], "")
    assumed = gate & frame["open"].isna()
    _tell(
        f"Gates that may stand open or shut: {assumed.sum()} of {len(frame)}.",
        "They count as open.",
        'Say which are kept shut: columns.open = "...".',
        int(assumed.sum()),
        findings,
    )
    left = frame["soft"].ne("") & frame["stops"].isna()
    _tell(
        f"Retaining walls and banks: {left.sum()} of {len(frame)}.",
        "The study's rule says whether they stop a child: a child can jump off a wall and run down a bank.",
        'Set it: [running_child] stopped_by = ["retaining walls", "banks"]; or one by one: columns.stops = "...".',
        int(left.sum()),
        findings,
    )
    hard = frame["soft"].eq("") & frame["stops"].fillna(value=True).astype(bool)
    unknown = int((frame["height_m"].isna() & ~frame["is_gap"] & hard).sum())
    _tell(
        f"Fences of unknown height: {unknown} of {len(frame)}.",
        "They are taken to stop a child.",
        "Look at them in the field.",
        unknown,
        findings,
    )
    return frame


def _drawn_on_its_fence(frame: Any, findings: list[Finding]) -> Any:
    """Give each gate that is a point the piece of the nearest fence; leave out other points."""
    shapes = frame.geometry.to_numpy()
    dots = np.flatnonzero(shapely.get_dimensions(shapes) == 0)
    if not len(dots):
        return frame
    is_line = shapely.get_dimensions(shapes) == 1
    lines = shapely.get_parts(shapes[is_line])
    gate = frame["kind"].astype("str").str.lower().str.contains(_GATE, na=False).to_numpy()
    dots = dots[gate[dots]]
    dot, line = shapely.STRtree(lines).query_nearest(
        shapes[dots], max_distance=_ON_FENCE_M, all_matches=False
    )
    width_m = frame["width_m"].fillna(_GATE_M).to_numpy(dtype=float)[dots[dot]]
    for row, own, wide_m in zip(dots[dot], lines[line], width_m, strict=True):
        at_m = own.project(shapely.centroid(shapes[row]))
        shapes[row] = substring(own, max(at_m - wide_m / 2, 0.0), at_m + wide_m / 2)
    is_line[dots[dot]] = True
    frame = frame.set_geometry(gpd.GeoSeries(shapes, index=frame.index, crs=frame.crs))
    _tell(
        f"Points that are no gate, or gates without a fence within {_ON_FENCE_M:g} m: {(~is_line).sum()} of {len(frame)}.",
        "They are left out.",
        "",
        int((~is_line).sum()),
        findings,
    )
    return frame[is_line].reset_index(drop=True)


def _tell(what: str, done: str, remedy: str, count: int, findings: list[Finding]) -> None:
    if count:
        told = Finding(what, done, remedy, layer="fences", count=count, weight="caution")
        findings.append(told)


KIND = LayerKind(
    name="fences",
    shapes=("line", "point"),
    plain="fences, walls, hedges, and their gates",
    columns=(
        ColumnKind("height", "number", "m", most=30),
        ColumnKind("width", "number", "m", most=30),
        ColumnKind("kind"),
        ColumnKind("name"),
        ColumnKind("open", "flag", words=("open", "unlocked")),
        ColumnKind("stops", "flag", words=("stops",)),
    ),
    if_absent="The study has no layer of fences: nothing is taken to stop a running child.",
    settle=settle,
)
