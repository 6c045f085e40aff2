"""The smallest rectangle that holds a program's pieces, for proportions from 1:1 to 2:1."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from playsite.program.packing import pack

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from playsite.program.packing import Block, Decision, Packing

__all__ = ["PROPORTIONS", "Held", "least_rectangle", "smallest_by_proportion", "too_much"]

Sides = tuple[float, float]
PROPORTIONS = (1.0, 1.25, 1.5, 1.75, 2.0)
"""Long side to short side of the rectangles that are tried."""
_BRANCHES = 5_000  # for each of the many questions of a bisection: a few hundredths of a second


@dataclass(frozen=True)
class Held:
    """A rectangle and the packing that proves that it holds the pieces.

    Parameters
    ----------
    length_m, width_m
        Extent along x and y.
    packing
        Where the pieces stand in it.
    proven_least
        Whether every smaller one that was asked about is proven impossible.
    """

    length_m: float
    width_m: float
    packing: Packing
    proven_least: bool

    @property
    def area_m2(self) -> float:
        """Area in square metres."""
        return self.length_m * self.width_m


def smallest_by_proportion(
    blocks: Sequence[Block],
    overlap_m: NDArray[np.float64],
    proportion: float,
    *,
    strip_m: float,
    step_m: float,
) -> Held:
    """Smallest rectangle of one proportion, by bisection: what holds in one holds in a larger.

    Parameters
    ----------
    blocks, overlap_m, strip_m
        As `pack` takes them.
    proportion
        Length to width, 1 or more.
    step_m
        Both sides are multiples of it: half a foot, or a decimetre.
    """

    def ask(steps: int) -> tuple[Decision, Sides]:
        length_m = math.ceil(proportion * steps - 1e-9) * step_m
        return _asked(blocks, overlap_m, (length_m, steps * step_m), strip_m)

    least_m = max(min(block.length_m, block.width_m) for block in blocks)
    return _bisected(ask, math.ceil(least_m / step_m - 1e-9))


def least_rectangle(
    blocks: Sequence[Block], overlap_m: NDArray[np.float64], *, strip_m: float, step_m: float
) -> Held:
    """Smallest rectangle of any proportion from 1:1 to 2:1.

    The smallest of each of `PROPORTIONS`, then made as short, and as narrow, as it can be.
    """
    best: Held | None = None
    for proportion in PROPORTIONS:
        held = smallest_by_proportion(blocks, overlap_m, proportion, strip_m=strip_m, step_m=step_m)
        for along in (0, 1):
            held = _trimmed(blocks, overlap_m, held, along, strip_m=strip_m, step_m=step_m)
        if best is None or held.area_m2 < best.area_m2 - 1e-6:
            best = held
    if best is None:
        raise ValueError("there are no proportions")
    return best


def _trimmed(
    blocks: Sequence[Block],
    overlap_m: NDArray[np.float64],
    held: Held,
    along: int,
    *,
    strip_m: float,
    step_m: float,
) -> Held:
    """The same rectangle, as short along one axis as it can be within 1:1 to 2:1."""
    now_m, other_m = (held.length_m, held.width_m) if along == 0 else (held.width_m, held.length_m)
    least = math.ceil((other_m if along == 0 else other_m / 2) / step_m - 1e-9)

    def ask(steps: int) -> tuple[Decision, Sides]:
        sides = (steps * step_m, other_m) if along == 0 else (other_m, steps * step_m)
        return _asked(blocks, overlap_m, sides, strip_m)

    return _bisected(ask, least, (held, round(now_m / step_m)))


def _asked(
    blocks: Sequence[Block], overlap_m: NDArray[np.float64], sides_m: Sides, strip_m: float
) -> tuple[Decision, Sides]:
    decision = pack(
        blocks,
        overlap_m,
        length_m=sides_m[0],
        width_m=sides_m[1],
        strip_m=strip_m,
        branches=_BRANCHES,
    )
    return decision, sides_m


def _bisected(
    ask: Callable[[int], tuple[Decision, Sides]],
    least: int,
    known: tuple[Held, int] | None = None,
) -> Held:
    """Fewest steps that are packed, from a number that may be too few."""
    short, proven = least - 1, True
    held, fits = known or (None, 2 * least)
    while held is None or fits - short > 1:
        steps = fits if held is None else (fits + short) // 2
        decision, sides_m = ask(steps)
        if decision.packing is not None:
            held, fits = Held(*sides_m, decision.packing, proven_least=True), steps
        else:
            proven = proven and decision.outcome == "impossible"
            short, fits = steps, 2 * steps if held is None else fits
    before = known[0].proven_least if known else True
    return replace(held, proven_least=proven and before)


def too_much(
    blocks: Sequence[Block],
    overlap_m: NDArray[np.float64],
    *,
    length_m: float,
    width_m: float,
    strip_m: float,
) -> tuple[int, ...] | None:
    """Which pieces are too much for a rectangle: the fewest, and of those the smallest.

    Returns
    -------
    tuple of int or None
        Their indices, empty if all can be packed; None if that could not be decided.
    """
    size = [block.length_m * block.width_m for block in blocks]
    everyone = range(len(blocks))
    for count in range(len(blocks) + 1):
        for dropped in sorted(
            itertools.combinations(everyone, count), key=lambda left: sum(size[i] for i in left)
        ):
            kept = [i for i in everyone if i not in dropped]
            decision = pack(
                [blocks[i] for i in kept],
                overlap_m[np.ix_(kept, kept)],
                length_m=length_m,
                width_m=width_m,
                strip_m=strip_m,
                branches=_BRANCHES,
            )
            if decision.outcome == "packed":
                return dropped
            if decision.outcome == "undecided":
                return None
    return None
