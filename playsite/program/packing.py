"""Rectangles packed in a rectangle, some pairs allowed to overlap: packed, or proven impossible.

Pieces are turned by right angles, and each pair in one area is told apart along one axis (left,
right, below or above); legal arrangements across a corner are given up. Areas follow one another
along one axis, with a straight strip between them. "Impossible" means: impossible in this way.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import numpy as np

from playsite.program._packing_search import UNTURNED, search
from playsite.program._packing_start import (
    ALL_EDGES,
    BOTTOM,
    LEFT,
    RIGHT,
    TOP,
    mirrored,
    nets_of,
    tables_of,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

__all__ = ["BRANCHES", "Block", "Decision", "Packing", "pack"]

Outcome = Literal["packed", "impossible", "undecided"]
BRANCHES = 4_000_000
"""Branches that one question may take: a dozen seconds, which one program in thousands needs."""
_DOZEN = 12
_RESOLUTION_M = 1e-6


@dataclass(frozen=True)
class Block:
    """A rectangle to be packed.

    Parameters
    ----------
    length_m, width_m
        Its sides before it is turned.
    open_faces
        For left, bottom, right and top: whether another's open face may overlap it there.
    turns
        Quarter turns that it may take, counterclockwise.
    area
        Which area it belongs to; areas are kept apart by a strip.
    at_edge
        Whether it must touch an edge of the whole.
    """

    length_m: float
    width_m: float
    open_faces: tuple[bool, bool, bool, bool] = (False, False, False, False)
    turns: tuple[int, ...] = (0, 1)
    area: int = 0
    at_edge: bool = False

    def sides_m(self, turn: int) -> tuple[float, float]:
        """Extent along x and y after so many quarter turns."""
        return (self.width_m, self.length_m) if turn % 2 else (self.length_m, self.width_m)

    def faces(self, turn: int) -> tuple[bool, ...]:
        """Openness of what then faces left, down, right and up."""
        return tuple(self.open_faces[(face - turn) % 4] for face in range(4))

    def distinct_turns(self) -> tuple[int, ...]:
        """Turns that differ in extent or in open faces."""
        first = {(self.sides_m(turn), self.faces(turn)): turn for turn in reversed(self.turns)}
        return tuple(sorted(first.values()))


@dataclass(frozen=True)
class Packing:
    """Where each block lies.

    Parameters
    ----------
    left_m, bottom_m
        Range of the lower left corner of each, as (n, 2): with the same relations, every piece
        may stand at its first place, or every piece at its last, or anywhere in proportion.
    turns
        Quarter turns of each.
    strips_m
        Start and end of each strip between areas, along ``axis``.
    axis
        0 if areas follow one another along x, 1 along y.
    """

    left_m: NDArray[np.float64]
    bottom_m: NDArray[np.float64]
    turns: tuple[int, ...]
    strips_m: tuple[tuple[float, float], ...] = ()
    axis: int = 0


@dataclass(frozen=True)
class Decision:
    """Packed with its packing, proven impossible, or not decided within the branches given."""

    outcome: Outcome
    packing: Packing | None = None
    branches: int = 0


def pack(
    blocks: Sequence[Block],
    overlap_m: NDArray[np.float64],
    *,
    length_m: float,
    width_m: float,
    strip_m: float = 0.0,
    branches: int = BRANCHES,
) -> Decision:
    """Decide whether blocks can be packed in a rectangle.

    Parameters
    ----------
    blocks
        What is to be packed.
    overlap_m
        (n, n): how far two open faces may overlap, metres; 0 for pairs that never do, less than
        0 for pairs that are to stand apart.
    length_m, width_m
        Extent of the rectangle along x and y.
    strip_m
        Width of the strip between areas.
    branches
        Most branches for each question; a program that needs more is "undecided". With more than
        a dozen pieces each takes longer, and fewer are allowed.

    Returns
    -------
    Decision
        With the packing where there is one.

    Examples
    --------
    >>> climber = Block(22.0, 24.0, open_faces=(True,) * 4)  # feet do as well as metres
    >>> three_feet = np.full((2, 2), 3.0)
    >>> pack([climber, climber], three_feet, length_m=41, width_m=24).outcome
    'packed'
    >>> pack([climber, climber], three_feet, length_m=40.9, width_m=24).outcome
    'impossible'
    """
    branches = _allowed(branches, len(blocks))
    areas = sorted({block.area for block in blocks})
    if len(areas) <= 1:
        return _one_area(blocks, overlap_m, (length_m, width_m), ALL_EDGES, branches)
    decisions: list[Decision] = []
    for axis, order in itertools.product((0, 1), _orders(areas)):
        plan = (axis, order, strip_m)
        decision = _in_strips(blocks, overlap_m, (length_m, width_m), plan, branches)
        if decision.outcome == "packed":
            return decision
        decisions.append(decision)
    undecided = any(decision.outcome == "undecided" for decision in decisions)
    total = sum(decision.branches for decision in decisions)
    return Decision("undecided" if undecided else "impossible", None, total)


def _allowed(branches: int, count: int) -> int:
    """Branches for about the same time: each takes as long as the cube of the pieces.

    Always enough for what never has to go back: each piece turned, set and told from each.
    """
    if count <= _DOZEN:
        return branches
    return max(branches * _DOZEN**3 // count**3, count**2)


def _orders(areas: Sequence[int]) -> list[tuple[int, ...]]:
    """Orders along an axis; a mirrored one holds as much."""
    return [order for order in itertools.permutations(areas) if order[0] < order[-1]]


def _in_strips(
    blocks: Sequence[Block],
    overlap_m: NDArray[np.float64],
    whole_m: tuple[float, float],
    plan: tuple[int, tuple[int, ...], float],
    branches: int,
) -> Decision:
    """Areas one after another along an axis: each as short as can be, the largest in the rest."""
    axis, order, strip_m = plan
    members = {a: [i for i, block in enumerate(blocks) if block.area == a] for a in order}
    room_m = whole_m[axis] - strip_m * (len(order) - 1)
    lengths_m: dict[int, float] = {}
    found: dict[int, Packing] = {}
    spent, proven = 0, True
    easy_first = sorted(order, key=lambda area: len(members[area]))
    for area in easy_first:
        own = members[area]
        part, overlaps = [blocks[i] for i in own], overlap_m[np.ix_(own, own)]
        edges = _edges_of_part(axis, first=area == order[0], last=area == order[-1])
        if area == easy_first[-1]:
            used_m, sides = room_m, _sides(axis, room_m, whole_m[1 - axis])
            decision = _one_area(part, overlaps, sides, edges, branches)
        else:
            room = (axis, room_m, whole_m[1 - axis])
            decision, used_m, least = _shortest(part, overlaps, room, edges, branches)
            proven = proven and least
        spent += decision.branches
        if decision.packing is None:
            sure = proven and decision.outcome == "impossible"
            return Decision("impossible" if sure else "undecided", None, spent)
        found[area], lengths_m[area] = decision.packing, used_m
        room_m -= used_m
    return Decision("packed", _joined(members, found, lengths_m, plan), spent)


def _joined(
    members: Mapping[int, Sequence[int]],
    found: Mapping[int, Packing],
    lengths_m: Mapping[int, float],
    plan: tuple[int, tuple[int, ...], float],
) -> Packing:
    """Areas set one after another, with their strips."""
    axis, order, strip_m = plan
    n = sum(len(own) for own in members.values())
    places, turns, start_m = np.zeros((2, n, 2)), np.zeros(n, int), 0.0
    strips: list[tuple[float, float]] = []
    for area in order:
        own = members[area]
        places[0, own], places[1, own] = found[area].left_m, found[area].bottom_m
        places[axis, own] += start_m
        turns[own] = found[area].turns
        start_m += lengths_m[area]
        if area != order[-1]:
            strips.append((start_m, start_m + strip_m))
            start_m += strip_m
    return Packing(places[0], places[1], tuple(turns.tolist()), tuple(strips), axis)


def _sides(axis: int, along_m: float, across_m: float) -> tuple[float, float]:
    return (along_m, across_m) if axis == 0 else (across_m, along_m)


def _edges_of_part(axis: int, *, first: bool, last: bool) -> int:
    """Edges of a part that are edges of the whole: the side along a strip is none."""
    low, high = (LEFT, RIGHT) if axis == 0 else (BOTTOM, TOP)
    return ALL_EDGES & ~(0 if first else low) & ~(0 if last else high)


def _shortest(
    blocks: Sequence[Block],
    overlap_m: NDArray[np.float64],
    room: tuple[int, float, float],
    edges: int,
    branches: int,
) -> tuple[Decision, float, bool]:
    """Least extent along an axis: decision, extent, and whether every shorter one is disproved."""
    axis, used_m, across_m = room

    def ask(along_m: float, most: int = branches) -> Decision:
        return _one_area(blocks, overlap_m, _sides(axis, along_m, across_m), edges, most)

    found = ask(used_m)
    spent = found.branches
    if found.packing is None:
        return found, used_m, found.outcome == "impossible"
    used_m = _extent(blocks, found.packing, (axis, used_m), edges)
    # From just below what is known to hold: most often that is already the least.
    short_m, tried_m, proven = 0.0, used_m - _RESOLUTION_M, True
    while used_m - short_m > _RESOLUTION_M * 1.01:
        tried = ask(tried_m, max(branches - spent, 0))
        spent += tried.branches
        if tried.packing is not None:
            used_m = _extent(blocks, tried.packing, (axis, tried_m), edges)
        else:
            proven = proven and tried.outcome == "impossible"
            short_m = tried_m
        tried_m = (used_m + short_m) / 2
    found = ask(used_m)
    return replace(found, branches=spent + found.branches), used_m, proven and bool(found.packing)


def _extent(
    blocks: Sequence[Block], packing: Packing, room: tuple[int, float], edges: int
) -> float:
    """How much of the room is used when all pieces are pushed to its outer end."""
    axis, along_m = room
    ranges = (packing.left_m, packing.bottom_m)[axis]
    low, high = (LEFT, RIGHT) if axis == 0 else (BOTTOM, TOP)
    if edges & high and not edges & low:
        return float(along_m - np.min(ranges[:, 1]))
    sides = [b.sides_m(turn)[axis] for b, turn in zip(blocks, packing.turns, strict=True)]
    return float(np.max(ranges[:, 0] + np.array(sides)))


def _one_area(
    blocks: Sequence[Block],
    overlap_m: NDArray[np.float64],
    whole_m: tuple[float, float],
    edges: int,
    branches: int,
) -> Decision:
    if not blocks:
        return Decision("packed", Packing(np.zeros((0, 2)), np.zeros((0, 2)), ()))
    order = sorted(range(len(blocks)), key=lambda i: -blocks[i].length_m * blocks[i].width_m)
    ordered = [blocks[i] for i in order]
    turns = [block.distinct_turns() for block in ordered]
    tables = tables_of(ordered, turns, overlap_m[np.ix_(order, order)])
    nets = nets_of(ordered, tables, whole_m)
    if nets is None:
        return Decision("impossible")
    turned = np.full(len(ordered), UNTURNED, np.int64)
    outcome, tried = search(
        nets,
        turned,
        np.array([len(own) for own in turns], np.int64),
        np.array([not block.at_edge for block in ordered], np.int64),
        mirrored(ordered, edges),
        edges,
        tables.size,
        tables.apart,
        tables.core,
        tables.inset,
        np.array(whole_m, np.float64),
        branches,
    )
    if outcome != 1:
        return Decision("impossible" if outcome == 0 else "undecided", None, tried)
    chosen = [own[k] for own, k in zip(turns, turned, strict=True)]
    return Decision("packed", _packing(nets, order, chosen), tried)


def _packing(nets: NDArray[np.float64], order: list[int], turns: list[int]) -> Packing:
    """Ranges of places, back in the order in which the blocks were given."""
    n = len(order)
    back = np.argsort(order)
    ranges = np.stack([nets[:, n, :n], -nets[:, :n, n]], axis=-1)[:, back]
    return Packing(ranges[0], ranges[1], tuple(turns[i] for i in back))
