"""What to measure first at one site: what is not known, what lies near a rule, what moves the score most."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from playsite.report.people_units import in_readers_units, interval_text, value_text
from playsite.report.wording import (
    is_missing,
    knot_text,
    plain_cell,
    records,
)

if TYPE_CHECKING:
    from playsite.criteria._contract import Screen
    from playsite.criteria._registry import Chosen
    from playsite.report.wording import Row
    from playsite.result import Result

__all__ = ["Doubt", "doubts"]

_MAY_BE_OFF = 0.1
"""A value without an interval may be off by this share, to order the questions (common practice)."""

_NEAR_RULE = 0.25
_LEAST = 0.005


@dataclass(frozen=True)
class Doubt:
    """One question at one site.

    Parameters
    ----------
    value
        What the map says, in the reader's units.
    why
        Why it is doubtful; empty where it hardly is.
    at_rule
        Whether a rule may put the site out by it, or asks for a remedy.
    moves
        By how much of the whole score the answer may move the site, 0 to 1.
    settles
        Whether it is the one measurement that would do most to tell two near sites apart.
    """

    chosen: Chosen
    value: str
    why: str
    at_rule: bool
    moves: float
    settles: bool = False

    @property
    def is_sure(self) -> bool:
        """Whether there is little to find out."""
        return not (self.at_rule or self.settles) and self.moves < _LEAST


def doubts(result: Result, parcel_id: str) -> list[Doubt]:
    """Every question at a site, the most doubtful first.

    First those near a rule, then what settles a near-tie, then by how much they may move the score.
    """
    table = result.measurements
    rows = {row["criterion"]: row for row in records(table[table["parcel_id"] == parcel_id])}
    remedies = result.conditions
    needed = set(remedies.loc[remedies["parcel_id"] == parcel_id, "criterion"])
    found = [
        _doubt(chosen, rows[chosen.name], result.study.units, remedy=chosen.name in needed)
        for chosen in result.criteria
        if chosen.name in rows
    ]
    told = _settled(result, parcel_id)
    found = [_with_tie(each, told.get(each.chosen.name, "")) for each in found]
    return sorted(
        found,
        key=lambda each: (not each.at_rule, not each.settles, -each.moves, -each.chosen.weight),
    )


def _settled(result: Result, parcel_id: str) -> dict[str, str]:
    """Criterion whose measurement here would do most to settle a near-tie: with which site."""
    table = result.firm.next_measurements
    numbers = dict(zip(result.sites["parcel_id"], result.sites["site_no"], strict=True))
    told: dict[str, str] = {}
    for row in records(table[table["parcel_id"] == parcel_id]):
        other = row["behind"] if row["ahead"] == parcel_id else row["ahead"]
        told.setdefault(str(row["criterion"]), f"Site {numbers[other]}")
    return told


def _with_tie(doubt: Doubt, other: str) -> Doubt:
    if not other:
        return doubt
    why = f"does most to settle the near-tie with {other}"
    return replace(doubt, settles=True, why="; ".join(filter(None, [why, doubt.why])))


def _doubt(chosen: Chosen, row: Row, units: str, *, remedy: bool) -> Doubt:
    unit = chosen.criterion.unit
    value = math.nan if is_missing(row["value"]) else float(row["value"])
    spoken = chosen.criterion.spoken
    said = value_text(value, unit, units, spoken)
    rules = _near_rules(chosen, row, value)
    why = []
    if math.isnan(value):
        why.append("not known")
        moves = chosen.weight
    else:
        low, high = _reach(row, value)
        scores, knots = _scores(chosen, row, value, (low, high))
        moves = chosen.weight * float(np.ptp(scores))
        least, most = (None if is_missing(row[end]) else float(row[end]) for end in ("low", "high"))
        why += filter(None, [interval_text(least, most, unit, units, spoken)])
        why += [f"near {name} ({knot_text(chosen, at, units)})" for name, at in knots]
    near = "out if" if math.isnan(value) else "near a rule:"
    why += [f"{near} {in_readers_units(screen.rule, units)}" for screen in rules]
    if remedy:
        why.append("ranked only with a remedy")
    if plain_cell(row["origin"]) == "field":
        why.append(f"visited {plain_cell(row['layer_date'])}")
    at_rule = bool(rules) or remedy
    if not at_rule and moves < _LEAST:
        why = [word for word in why if word.startswith(("not known", "visited"))]
    return Doubt(chosen, said, "; ".join(why), at_rule, moves)


def _near_rules(chosen: Chosen, row: Row, value: float) -> list[Screen]:
    """Rules that may put the site out: all of them where nothing is known."""
    if math.isnan(value):
        return list(chosen.screens)
    low, high = _reach(row, value, share=0.0)
    return [
        screen
        for screen in chosen.screens
        if screen.unit is chosen.criterion.unit
        and (
            (low < high and low <= screen.limit <= high)
            or abs(value - screen.limit) < _NEAR_RULE * abs(screen.limit)
        )
    ]


def _reach(row: Row, value: float, share: float = _MAY_BE_OFF) -> tuple[float, float]:
    ends = [value if is_missing(row[name]) else float(row[name]) for name in ("low", "high")]
    if math.isinf(value):
        return ends[0], ends[1]
    off = share * abs(value)
    return min(ends[0], value - off), max(ends[1], value + off)


def _scores(
    chosen: Chosen, row: Row, value: float, ends: tuple[float, float]
) -> tuple[Any, list[tuple[str, float]]]:
    """Scores that the answer may have, and the knots between: by what the curve reads."""
    curve = chosen.curve
    read, (low, high) = value, ends
    if curve.reads or curve.unit is not chosen.criterion.unit:
        if is_missing(row["score"]) or not math.isfinite(value):
            return curve.score([read]), []
        scores = [knot.score for knot in curve.knots]
        at = [knot.at for knot in curve.knots]
        if scores[0] > scores[-1]:
            scores, at = scores[::-1], at[::-1]
        read = float(np.interp(float(row["score"]), scores, at))
        part = read / value if value else 0.0
        low, high = (end * part if value else read for end in (low, high))
    between = [(knot.name, knot.at) for knot in curve.knots if low < knot.at < high]
    return curve.score([low, read, high, *(at for _, at in between)]), between
