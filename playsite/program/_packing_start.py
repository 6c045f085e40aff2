"""What the search for a packing starts from: extents, least differences, first nets, symmetry."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from playsite.program._packing_search import UNTURNED

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from playsite.program.packing import Block

__all__ = [
    "ALL_EDGES",
    "BOTTOM",
    "LEFT",
    "RIGHT",
    "TOP",
    "Tables",
    "cores_m2",
    "mirrored",
    "nets_of",
    "tables_of",
]

LEFT, BOTTOM, RIGHT, TOP = 1, 2, 4, 8
ALL_EDGES = LEFT | BOTTOM | RIGHT | TOP
_SLACK_M = 1e-9  # rounding of sums of lengths


@dataclass(frozen=True)
class Tables:
    """What the search knows of the pieces; see `_packing_search.search`."""

    size: NDArray[np.float64]
    apart: NDArray[np.float64]
    core: NDArray[np.float64]
    inset: NDArray[np.float64]


def tables_of(
    blocks: Sequence[Block], turns: Sequence[tuple[int, ...]], overlap_m: NDArray[np.float64]
) -> Tables:
    """Extents, least differences and cores of every turn; where there is no such turn, infinite."""
    n = len(blocks)
    size, apart = np.full((2, n, 5), np.inf), np.full((2, n, 5, n, 5), np.inf)
    core, inset = np.zeros((2, n, 4)), np.zeros((2, n, 4))
    faces = np.zeros((n, 4, 4))
    for i, block in enumerate(blocks):
        shrunk = _shrunk_m(overlap_m, i)
        for o, turn in enumerate(turns[i]):
            faces[i, o] = block.faces(turn)
            size[:, i, o] = block.sides_m(turn)
            inset[:, i, o] = shrunk * faces[i, o, :2]
            core[:, i, o] = size[:, i, o] - shrunk * (faces[i, o, :2] + faces[i, o, 2:])
    size[:, :, UNTURNED] = size[:, :, :UNTURNED].min(axis=2)
    for axis, i, j in itertools.product((0, 1), range(n), range(n)):
        both = faces[i, :, 2 + axis][:, None] * faces[j, :, axis][None, :]
        gap = np.minimum(overlap_m[i, j], 0.0) + np.maximum(overlap_m[i, j], 0.0) * both
        apart[axis, i, :4, j, :4] = size[axis, i, :4, None] - gap
        own = apart[axis, i, : len(turns[i]), j, : len(turns[j])]
        apart[axis, i, UNTURNED, j, : len(turns[j])] = own.min(axis=0)
        apart[axis, i, : len(turns[i]), j, UNTURNED] = own.min(axis=1)
        apart[axis, i, UNTURNED, j, UNTURNED] = own.min()
    return Tables(size, apart, core, inset)


def cores_m2(blocks: Sequence[Block], overlap_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Area of each block that no other may overlap: together they can't exceed the whole."""
    areas = np.zeros(len(blocks))
    for i, block in enumerate(blocks):
        left, bottom, right, top = (_shrunk_m(overlap_m, i) * face for face in block.open_faces)
        across_m = max(block.width_m - bottom - top, 0.0)
        areas[i] = max(block.length_m - left - right, 0.0) * across_m
    return areas


def _shrunk_m(overlap_m: NDArray[np.float64], i: int) -> float:
    """Half of a block's largest overlap: taken off each open face, what is left never overlaps."""
    others = np.delete(overlap_m[i], i)
    return max(float(others.max(initial=0.0)), 0.0) / 2


def nets_of(
    blocks: Sequence[Block], tables: Tables, whole_m: tuple[float, float]
) -> NDArray[np.float64] | None:
    """Every piece inside the whole, twins by their left edge; None if one is too large."""
    n, size = len(blocks), tables.size
    nets = np.zeros((2, n + 2, n + 2))
    for axis, extent_m in enumerate(whole_m):
        room = extent_m - size[axis, :, UNTURNED]
        if (room < -_SLACK_M).any():
            return None
        net = nets[axis]
        net[:n, :n] = -room[:, None]
        net[:n, n], net[:n, n + 1] = -room, size[axis, :, UNTURNED]
        net[n, n + 1], net[n + 1, n], net[n + 1, :n] = extent_m, -extent_m, -extent_m
        np.fill_diagonal(net, 0.0)
    for i, j in itertools.pairwise(range(n)):
        if blocks[i] == blocks[j] and _is_twin(tables.apart, i, j):
            nets[0, i, j] = 0.0
    for k, i in itertools.product(range(n + 2), repeat=2):  # closed again
        nets[0, i] = np.maximum(nets[0, i], nets[0, i, k] + nets[0, k])
    return nets


def _is_twin(apart: NDArray[np.float64], i: int, j: int) -> bool:
    """Whether two equal blocks may also overlap all others alike."""
    others = [k for k in range(apart.shape[1]) if k not in (i, j)]
    return bool(
        np.array_equal(apart[:, i, :, others], apart[:, j, :, others])
        and np.array_equal(apart[:, others, :, i], apart[:, others, :, j])
    )


def mirrored(blocks: Sequence[Block], edges: int) -> NDArray[np.int64]:
    """Piece whose middle may be kept left of the whole's, and below; -1 for none.

    A packing mirrored is a packing where every piece mirrored is one of its own turns.
    """
    chosen = np.full(2, -1, np.int64)
    single = [i for i, block in enumerate(blocks) if list(blocks).count(block) == 1]
    for axis, (low, high) in enumerate(((LEFT, RIGHT), (BOTTOM, TOP))):
        even = bool(edges & low) == bool(edges & high)
        if single and even and all(_has_mirror(block, axis) for block in blocks):
            chosen[axis] = single[0]
    return chosen


def _has_mirror(block: Block, axis: int) -> bool:
    known = {(block.sides_m(turn), block.faces(turn)) for turn in block.turns}
    for sides, faces in known:
        swapped = list(faces)
        swapped[axis], swapped[axis + 2] = faces[axis + 2], faces[axis]
        if (sides, tuple(swapped)) not in known:
            return False
    return True
