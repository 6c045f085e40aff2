"""One value from a visit in the place of the map's: its interval, what the curve and the rules read."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from playsite.units import Unit
from playsite.visits import quantity

if TYPE_CHECKING:
    import pandas as pd

    from playsite.criteria._contract import Condition, Measured, Screen
    from playsite.criteria._registry import Chosen
    from playsite.visits import Visit

__all__ = ["reads_of", "rules_of", "with_visit"]


def rules_of(each: Chosen) -> tuple[Screen | Condition, ...]:
    """Screens and conditions of a criterion, as used."""
    return (*each.screens, *each.criterion.conditions)


def reads_of(got: Measured) -> pd.Series[float]:
    """What the curve reads."""
    return got.value if got.reads is None else got.reads


def with_visit(got: Measured, pad: Any, visit: Visit, each: Chosen, value: float) -> Measured:
    """One value in its place: with its interval, what the curve reads, and what rules read."""
    also_name = visit.criterion.partition(".")[2]
    if also_name:
        series = got.named(also_name).astype(float)
        return replace(got, also={**got.also, also_name: _with(series, pad, value)})
    was, read = float(got.value.loc[pad]), float(reads_of(got).loc[pad])
    reads = _read_after(each, was, read, value)
    off_low, off_high = _off(got, pad, visit, each.criterion.unit)
    least, most = each.criterion.plausible
    also = {
        name: _with(series.astype(float), pad, moved)
        for rule in rules_of(each)
        for name, series in [(rule.reads, got.named(rule.reads))]
        if name
        and (moved := _rule_after(rule, float(series.loc[pad]), each, (was, value), (read, reads)))
        is not None
    }
    return replace(
        got,
        value=_with(got.value, pad, value),
        low=_with(
            got.value if got.low is None else got.low, pad, min(value, max(value - off_low, least))
        ),
        high=_with(
            got.value if got.high is None else got.high,
            pad,
            max(value, min(value + off_high, most)),
        ),
        reads=_with(reads_of(got), pad, reads),
        also={**got.also, **also},
    )


def _with(series: pd.Series[float], pad: Any, value: float) -> pd.Series[float]:
    changed = series.copy()
    changed.loc[pad] = value
    return changed


def _read_after(each: Chosen, was: float, read: float, value: float) -> float:
    """What the curve reads after a visit: the value, or what moves in its proportion.

    Where the map knows nothing the value stands for it, if it is of one unit with what is read.
    """
    if not each.curve.reads and each.curve.unit is each.criterion.unit:
        return value
    if each.curve.unit is each.criterion.unit and (read == was or math.isnan(was)):
        return value
    if math.isfinite(was) and was > 0 and math.isfinite(read):
        return read * (value / was)
    if was == value:
        return read
    return math.nan


def _rule_after(
    rule: Screen | Condition,
    stood: float,
    each: Chosen,
    value: tuple[float, float],
    read: tuple[float, float],
) -> float | None:
    """What a rule reads after a visit; None: as the map has it.

    Where it stood at the value (or at what the curve reads) it was the same thing and moves with
    it; two shares of nothing are no one thing. A worse value counts for rules that say so.
    """
    above = getattr(rule, "out_when", "below") == "above"
    for unit, (was, now) in ((each.criterion.unit, value), (each.curve.unit, read)):
        if rule.unit is not unit or math.isnan(now):
            continue
        worse = math.isnan(stood) or (now > stood if above else now < stood)
        same = math.isfinite(stood) and stood == was and (stood != 0 or unit is Unit.METRE)
        if same or (rule.takes_worse and worse):
            return now
    return None


def _off(got: Measured, pad: Any, visit: Visit, unit: Unit) -> tuple[float, float]:
    """How far the value may be off, down and up: as the visitor says; unsaid, as far as the map's."""
    if visit.accuracy:
        off = quantity(visit.accuracy, visit.unit, unit)
        return off, off
    value = float(got.value.loc[pad])
    ends = [value if end is None else float(end.loc[pad]) for end in (got.low, got.high)]
    known = np.isfinite([value, *ends]).all()
    return (value - ends[0], ends[1] - value) if known else (0.0, 0.0)
