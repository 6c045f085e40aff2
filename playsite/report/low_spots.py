"""Low spots by how sure they are: what is drawn, what is said, what is left to look at in the field."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from playsite.proximity.dash_gaps import bearing_word
from playsite.report.people_units import area_text, depth_text, distance_text, hours_text
from playsite.report.wording import is_missing, records

if TYPE_CHECKING:
    from playsite.report.wording import Row
    from playsite.result import Result

__all__ = [
    "NEAR_M",
    "SURE_PCT",
    "UNTOLD",
    "low_spot_text",
    "rings_text",
    "short_text",
    "step_of",
    "texts_near",
]

SURE_PCT = (90, 75, 60)
"""Least sureness of the three steps that are drawn, each with a ring of its own; common practice."""

UNTOLD = len(SURE_PCT)
"""Step of what nobody worked a probability out for: unknown, which is no low spot and not none."""

NEAR_M = 30.0
"""How far off a play area its low spots are listed: the ground that was looked at closer."""

_NEARLY_SURE_PCT = 99


def step_of(spot: Row) -> int | None:
    """Place of a low spot in ``SURE_PCT``, or ``UNTOLD``; None where it is listed, not drawn."""
    if is_missing(spot["probability"]):
        return UNTOLD
    sure = _sure_pct(spot)
    return next((step for step, least in enumerate(SURE_PCT) if sure >= least), None)


def rings_text() -> str:
    """What ring stands for what sureness."""
    solid, broken, dotted = SURE_PCT
    return (
        f"solid {solid}% sure and more, broken {broken} to {solid - 1}%, "
        f"dotted {dotted} to {broken - 1}%, those less sure on the field sheet"
    )


def _sure_pct(spot: Row) -> int:
    """Sureness as it is read: rounded first, then put into its step."""
    return math.floor(100 * float(spot["probability"]) + 0.5)


def low_spot_text(spot: Row, units: str) -> str:
    """A low spot in words: how sure it is, how deep; or that hollows can't be told here."""
    if spot["standing"] == "cannot be told":
        return "hollows cannot be told from the noise here"
    deep = depth_text(spot["depth_m"], units)
    if is_missing(spot["probability"]):
        return f"possible low spot, {deep} deep, not looked at closer: look in the field"
    sure = _sure_pct(spot)
    said = "almost sure" if sure >= _NEARLY_SURE_PCT else f"{sure}% likely"
    told = f"low spot, {said}, {deep} deep{_in_and_out(spot, units)}"
    return told if step_of(spot) is not None else f"possible {told}: look in the field"


def short_text(spot: Row, units: str) -> str:
    """A low spot in the few words that a drawing has room for; its ring says how sure it is."""
    if spot["standing"] == "cannot be told":
        return "hollows cannot be told here"
    deep = depth_text(spot["depth_m"], units)
    return f"perhaps {deep} deep" if is_missing(spot["probability"]) else f"{deep} deep"


def _in_and_out(spot: Row, units: str) -> str:
    """What drains to a low spot and how long water stays, where that is known."""
    catchment_m2, hours = spot.get("catchment_m2"), spot.get("soaked_away_h")
    more = "" if is_missing(catchment_m2) else f", {area_text(catchment_m2, units)} drain to it"
    if hours is None or is_missing(hours):
        return more
    away = "never soaks away" if math.isinf(hours) else f"soaks away in {hours_text(hours)}"
    return f"{more}, {away}"


def texts_near(result: Result, units: str) -> dict[str, list[str]]:
    """Low spots within 30 m of each play area, the surest first: with how far and where they lie.

    Those that are not drawn are among them: they are to be looked at in the field.
    """
    spots = result.low_spots[result.low_spots["standing"] != "cannot be told"]
    pads = result.pads[result.pads.geometry.notna()]
    if spots.empty or pads.empty:
        return {}
    pad, spot = spots.sindex.query(pads.geometry, predicate="dwithin", distance=NEAR_M)
    likely = spots["probability"].to_numpy(float)[spot]
    order = np.lexsort((spot, -np.nan_to_num(likely, nan=-1.0), pad))
    rows = records(spots.drop(columns=spots.geometry.name))
    found: dict[str, list[str]] = {}
    for place, number in zip(pad[order], spot[order], strict=True):
        own, shape = pads.geometry.iloc[place], spots.geometry.iloc[number]
        text = low_spot_text(rows[number], units)
        told = f"{text[:1].upper()}{text[1:]}. {_where(own, shape, units)}."
        found.setdefault(str(pads["parcel_id"].iloc[place]), []).append(told)
    return found


def _where(pad: object, spot: object, units: str) -> str:
    far_m = pad.distance(spot)  # type: ignore[attr-defined]
    if far_m == 0:
        return "It reaches under the play area"
    word = bearing_word(pad, spot)
    return f"It lies {distance_text(far_m, units)} {word} of the play area"
