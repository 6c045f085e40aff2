"""The land a pad may stand on: the parcel less each removal, and the ledger of what took what."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import shapely

from playsite.pads.outline import polygonal
from playsite.pads.setback import setback_land

if TYPE_CHECKING:
    from collections.abc import Iterable

    from shapely import MultiPolygon
    from shapely.geometry.base import BaseGeometry

__all__ = ["BuildableLand", "LedgerRow", "Removal", "buildable_land", "setback_land"]

LINE_ERROR_RULE = "parcel line may be off"


@dataclass(frozen=True)
class Removal:
    """Land to be taken out of a parcel, and the rule that takes it.

    Parameters
    ----------
    rule
        In the words the ledger prints.
    shape
        The land itself, its margin included: areas, in projected metres.
    source
        Where rule and margin come from.
    unit
        Of the limit.
    limit
        The margin or threshold the rule sets, in `unit`; None where it sets none.
    """

    rule: str
    shape: BaseGeometry
    source: str
    unit: str = "m"
    limit: float | None = None


@dataclass(frozen=True)
class LedgerRow:
    """What one rule took.

    Parameters
    ----------
    rule
        As the removal tells it.
    removed_m2
        Area it took of what the rules above it had left; 0 where the rule was looked at and took
        nothing.
    margin
        The removal's limit, in `unit`; None where it has none.
    unit, source
        As the removal tells them.
    """

    rule: str
    removed_m2: float
    margin: float | None
    unit: str
    source: str


@dataclass(frozen=True)
class BuildableLand:
    """What is left of a parcel, and why.

    Parameters
    ----------
    land
        Every part and hole; empty where nothing is left.
    ledger
        One row a rule, in the order they were taken out. The rows and the land left add up to
        the parcel.
    gross_m2
        Area of the parcel.
    taken
        What each row of the ledger took, in its order.
    """

    land: MultiPolygon
    ledger: list[LedgerRow]
    gross_m2: float
    taken: list[MultiPolygon]


def buildable_land(
    parcel: BaseGeometry, removals: Iterable[Removal], *, line_error_m: float = 0.0
) -> BuildableLand:
    """Take each removal out of a parcel in turn and keep the ledger.

    Nothing is rounded, simplified or dropped for being small: slivers and enclosed parts stay,
    and the search decides what they are good for. A rule that took nothing keeps its row with 0:
    that it was looked at is part of the answer.

    Parameters
    ----------
    parcel
        In projected metres; an invalid outline is mended first.
    removals
        In the order of the ledger. An earlier rule takes what it shares with a later one.
    line_error_m
        How far the parcel line may be off; this much is taken off along it, first, as a row of
        its own. 0 takes nothing and makes no row.

    Returns
    -------
    BuildableLand
        Land, ledger and the parcel's area.

    Raises
    ------
    ValueError
        When the line error is negative, or a removal is a line or a point: without an area it
        would take nothing, and a pipeline must not vanish so.

    Examples
    --------
    >>> from shapely import box
    >>> pond = Removal("open water", box(30, 0, 50, 20), source="worked example")
    >>> left = buildable_land(box(0, 0, 40, 20), [pond])
    >>> left.land.area, left.gross_m2, left.ledger[0].removed_m2
    (600.0, 800.0, 200.0)
    """
    if not line_error_m >= 0:
        raise ValueError(f"The parcel line's error can't be below 0 m; given {line_error_m}.")
    whole = polygonal(parcel)
    steps = list(removals)
    if line_error_m > 0:
        strip = setback_land(whole, all_m=line_error_m)
        steps.insert(0, Removal(LINE_ERROR_RULE, strip, "the study's settings", "m", line_error_m))
    land, ledger, taken = whole, [], []
    for step in steps:
        left = polygonal(shapely.difference(land, _area_of(step)))
        ledger.append(
            LedgerRow(
                rule=step.rule,
                # never below 0: a difference that removes nothing may still round
                removed_m2=max(0.0, float(land.area - left.area)),
                margin=step.limit,
                unit=step.unit,
                source=step.source,
            )
        )
        taken.append(polygonal(shapely.difference(land, left)))
        land = left
    return BuildableLand(land, ledger, float(whole.area), taken)


def _area_of(step: Removal) -> MultiPolygon:
    area = polygonal(step.shape)
    if area.is_empty and not shapely.is_empty(step.shape):
        raise ValueError(
            f"The removal {step.rule!r} ({step.source}) is a {step.shape.geom_type} without an "
            "area and would take nothing. Give it the width that must be kept free (buffer)."
        )
    return area
