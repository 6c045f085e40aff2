"""Which one rule, relaxed by how much, would let a pad fit that does not."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING, Literal

import shapely

from playsite.pads.outline import polygonal
from playsite.pads.scale import largest_scale
from playsite.pads.search import find_place
from playsite.pads.setback import setback_land

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from shapely import MultiPolygon
    from shapely.geometry.base import BaseGeometry

    from playsite.pads.shape import Place

__all__ = ["Relaxation", "Rule", "relaxations"]

_STEPS_A_METRE = 100
# What takes less is a sliver of rounding, and no rule to relax.
_NOTHING_M2 = 1e-6


@dataclass(frozen=True)
class Rule:
    """One rule that bars land of a parcel.

    Parameters
    ----------
    name
        In the words of the ledger.
    limit_m
        The margin it sets; None where it sets none.
    removal
        The land it bars at a margin in metres, None where there is none: the greater the
        margin, the more. A rule without a margin is asked at 0.
    source
        Where the rule comes from.
    """

    name: str
    limit_m: float | None
    removal: Callable[[float], BaseGeometry | None]
    source: str


@dataclass(frozen=True)
class Relaxation:
    """One change that would let the pad fit.

    Parameters
    ----------
    kind
        'margin': the rule's margin must shrink; 'gone': the pad fits only without the rule;
        'parcel': the pad does not fit on the parcel itself, and no rule is to blame.
    rule, source, limit_m
        As the rule tells them; '', '' and None for the parcel.
    fits_at_m
        Greatest margin at which the pad fits, to a centimetre; None unless the kind is 'margin'.
    change_m
        How much less than the limit that is. For the parcel how much of its width the pad must
        lose, its proportions kept. None where the rule must go.
    given_back_m2
        Land the change gives back; 0 for the parcel.
    place
        Where the pad would then fit; None for the parcel.
    """

    kind: Literal["margin", "gone", "parcel"]
    rule: str
    source: str
    limit_m: float | None
    fits_at_m: float | None
    change_m: float | None
    given_back_m2: float
    place: Place | None


def relaxations(
    parcel: BaseGeometry,
    rules: Sequence[Rule],
    *,
    length_m: float,
    width_m: float,
    line_error_m: float = 0.0,
) -> list[Relaxation]:
    """Tell which single rule, relaxed by how much, would let the pad fit on a parcel.

    Each rule is taken away alone, the others kept. If the pad then fits, the greatest margin of
    that rule at which it fits is found by halving, to a centimetre below. A fit is one that
    `find_place` proves, so a margin told is one that works.

    Parameters
    ----------
    parcel
        In projected metres.
    rules
        All that bar land. One that takes nothing of what the others leave is passed over.
    length_m, width_m
        Sides of the pad.
    line_error_m
        Taken off along the parcel's line first; no rule, so it is never relaxed.

    Returns
    -------
    list of Relaxation
        Least change first, rules that must go last, of these the one that gives back least
        first. One of kind 'parcel' where the pad does not fit without any rule. Empty where no
        rule alone is enough, and where the pad fits as it is.

    Raises
    ------
    ValueError
        When the sides make no pad or the line error is negative.

    Examples
    --------
    >>> from shapely import box
    >>> lot = box(0, 0, 30, 40)
    >>> setback = Rule("setback", 8.0, lambda margin: setback_land(lot, all_m=margin), "the town")
    >>> [(each.rule, each.fits_at_m, each.change_m)
    ...  for each in relaxations(lot, [setback], length_m=24, width_m=16)]
    [('setback', 7.0, 1.0)]
    """
    whole = polygonal(parcel)
    ground = _less(whole, [setback_land(whole, all_m=line_error_m)])
    sides = {"length_m": length_m, "width_m": width_m}
    if find_place(ground, **sides) is None:
        short_m = (1.0 - largest_scale(ground, **sides).scale) * width_m
        return [Relaxation("parcel", "", "", None, None, max(0.0, short_m), 0.0, None)]
    barred = [rule.removal(rule.limit_m or 0.0) for rule in rules]
    land = _less(ground, barred)
    if find_place(land, **sides) is not None:
        return []
    found = []
    for k, rule in enumerate(rules):
        others = _less(ground, barred[:k] + barred[k + 1 :])
        if others.area - land.area > _NOTHING_M2:
            relaxed = _relaxed(rule, others, land.area, sides)
            found += [relaxed] if relaxed is not None else []
    return sorted(found, key=_change)


def _change(relaxed: Relaxation) -> tuple[bool, float, float]:
    return relaxed.kind == "gone", relaxed.change_m or 0.0, relaxed.given_back_m2


def _relaxed(
    rule: Rule, others: MultiPolygon, land_m2: float, sides: dict[str, float]
) -> Relaxation | None:
    """Least change of one rule, on the land that the others leave."""
    without = find_place(others, **sides)
    if without is None:
        return None
    told = (rule.name, rule.source, rule.limit_m)
    found = _greatest_margin(rule, rule.limit_m, others, sides) if rule.limit_m else None
    if found is None or rule.limit_m is None:
        return Relaxation("gone", *told, None, None, others.area - land_m2, without)
    margin_m, place, left_m2 = found
    change_m = round(rule.limit_m - margin_m, 3)
    return Relaxation("margin", *told, margin_m, change_m, left_m2 - land_m2, place)


def _greatest_margin(
    rule: Rule, limit_m: float, others: MultiPolygon, sides: dict[str, float]
) -> tuple[float, Place, float] | None:
    """Greatest margin at which the pad fits, where, and the land left; None: not even at 0."""

    def tried(step: int) -> tuple[float, Place, float] | None:
        left = _less(others, [rule.removal(step / _STEPS_A_METRE)])
        place = find_place(left, **sides)
        return None if place is None else (step / _STEPS_A_METRE, place, left.area)

    best = tried(0)
    # in whole centimetres, so that the margin told is the margin tried; at the limit it's known
    low, high = 0, ceil(limit_m * _STEPS_A_METRE - 1e-9)
    while best is not None and high - low > 1:
        middle = (low + high) // 2
        found = tried(middle)
        if found is None:
            high = middle
        else:
            low, best = middle, found
    return best


def _less(ground: MultiPolygon, barred: Sequence[BaseGeometry | None]) -> MultiPolygon:
    shapes = [shape for shape in barred if shape is not None and not shape.is_empty]
    return polygonal(shapely.difference(ground, shapely.union_all(shapes))) if shapes else ground
