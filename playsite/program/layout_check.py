"""A layout checked exactly, pair by pair, in vector geometry: what is drawn keeps the rules.

Nothing of the packing is used here: distances between pieces and areas of zones are measured.
"""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from playsite.program.layout import Layout, PlacedPiece

__all__ = ["faults_of"]

_SLACK_M, _SLACK_M2 = 1e-6, 1e-5


def faults_of(layout: Layout, *, strip_m: float = 0.0) -> list[str]:
    """What in a layout breaks a rule, in sentences; empty for one that keeps them all.

    Parameters
    ----------
    layout
        The layout.
    strip_m
        Distance that zones of different ages must keep.
    """
    faults = []
    for piece in layout.pieces:
        if not layout.surfacing.buffer(_SLACK_M).covers(piece.square):
            faults.append(f"{piece.label}: its use zone leaves the surfacing")
        edge = layout.surfacing.exterior.distance(piece.square)
        if piece.zone.piece.moving and edge > _SLACK_M:
            faults.append(f"{piece.label}: moves, and stands at no edge")
    for a, b in itertools.combinations(layout.pieces, 2):
        faults += _faults_of_pair(a, b, strip_m)
    return faults


def _faults_of_pair(a: PlacedPiece, b: PlacedPiece, strip_m: float) -> list[str]:
    names = f"{a.label} and {b.label}"
    faults = []
    if a.ages != b.ages and a.square.distance(b.square) < strip_m - _SLACK_M:
        faults.append(f"{names}: ages are nearer than the strip between them")
    for one, other in ((a, b), (b, a)):
        if one.use_zone.intersection(other.body).area > _SLACK_M2:
            faults.append(f"{names}: a piece stands in another's use zone")
        if one.exclusive.intersection(other.use_zone).area > _SLACK_M2:
            faults.append(f"{names}: a zone is overlapped that never may be")
    kinds = {a.zone.overlaps, b.zone.overlaps}
    closed = "never" in kinds or len(kinds) > 1
    if closed and a.use_zone.intersection(b.use_zone).area > _SLACK_M2:
        faults.append(f"{names}: their zones overlap")
    if kinds == {"stationary"}:
        high = a.zone.is_high or b.zone.is_high
        apart_m = max(a.zone.apart_m[high], b.zone.apart_m[high])
        if a.body.distance(b.body) < apart_m - _SLACK_M:
            faults.append(f"{names}: nearer to each other than {apart_m:.2f} m")
    return faults
