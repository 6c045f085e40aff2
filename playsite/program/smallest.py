"""The smallest rectangle that holds a program's pieces, for proportions from 1:1 to 2:1."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from playsite.program._packing_start import cores_m2
from playsite.program.packing import pack

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from playsite.program.packing import Block, Decision, Packing

__all__ = ["Held", "least_rectangle", "smallest_by_proportion", "too_much"]

Sides = tuple[float, float]
_LONGEST = 2  # to 1
_BRANCHES = 5_000  # for each of many questions: a few hundredths of a second
_BRANCHES_TOO_MUCH = 50_000
_MOST_CHOICES = 2**12  # all there are of a dozen pieces


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
    """Smallest rectangle of any proportion from 1:1 to 2:1 whose sides are multiples of a step.

    For every width the longest rectangle is asked about that is smaller than the best one known;
    what holds in one holds in a longer, so a width that fails is done with.

    Parameters
    ----------
    blocks, overlap_m, strip_m, step_m
        As `smallest_by_proportion` takes them.
    """
    best = smallest_by_proportion(blocks, overlap_m, _LONGEST, strip_m=strip_m, step_m=step_m)
    proven = best.proven_least  # that nothing narrower holds them either
    for wide in itertools.count(round(best.width_m / step_m)):
        smaller = math.ceil(best.area_m2 / step_m**2 - 1e-6) - 1
        long = min(smaller // wide, _LONGEST * wide)
        if long < wide:
            break

        def ask(steps: int, wide: int = wide) -> tuple[Decision, Sides]:
            return _asked(blocks, overlap_m, (steps * step_m, wide * step_m), strip_m)

        decision, sides_m = ask(long)
        if decision.packing is None:
            proven = proven and decision.outcome == "impossible"
        else:
            held = Held(*sides_m, decision.packing, proven_least=True)
            best = _bisected(ask, wide, (held, long))
            proven = proven and best.proven_least
    return replace(best, proven_least=proven)


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
    cores = cores_m2(blocks, overlap_m)
    everyone, asked = range(len(blocks)), 0
    for count in range(len(blocks) + 1):
        asked += math.comb(len(blocks), count)
        if asked > _MOST_CHOICES:
            return None
        for dropped in sorted(
            itertools.combinations(everyone, count), key=lambda left: sum(size[i] for i in left)
        ):
            kept = [i for i in everyone if i not in dropped]
            if cores[kept].sum() > _free_m2(blocks, kept, (length_m, width_m), strip_m):
                continue
            decision = pack(
                [blocks[i] for i in kept],
                overlap_m[np.ix_(kept, kept)],
                length_m=length_m,
                width_m=width_m,
                strip_m=strip_m,
                branches=_BRANCHES_TOO_MUCH,
            )
            if decision.outcome == "packed":
                return dropped
            if decision.outcome == "undecided":
                return None
    return None


def _free_m2(blocks: Sequence[Block], kept: Sequence[int], sides_m: Sides, strip_m: float) -> float:
    """Area that is left beside the strips, which lie across the rectangle one way or the other."""
    strips = max(len({blocks[i].area for i in kept}) - 1, 0)
    return sides_m[0] * sides_m[1] - strips * strip_m * min(sides_m)
