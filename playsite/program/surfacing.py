"""How deep surfacing must lie under a fall height, when it is new and when it has settled."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from playsite.program.rules import CPSC, Rule
from playsite.units import LENGTHS_M

if TYPE_CHECKING:
    from playsite.program.rules import Seen

__all__ = ["SURFACINGS", "Depth", "Surfacing", "depth", "fill_m3"]

FOOT_M, INCH_M = LENGTHS_M["ft"], LENGTHS_M["in"]


@dataclass(frozen=True)
class Surfacing:
    """A material, as the handbook's Table 2 and the accessibility standards see it.

    Parameters
    ----------
    settled_m
        Least depth once settled; None where only the maker's tests say.
    protects_to_m
        Fall height that this depth protects from; None likewise.
    loses
        Share of its depth that it loses by use and weather.
    accessible
        "no", "if tested" (ASTM F1951), or "yes".
    """

    name: str
    settled_m: float | None
    protects_to_m: float | None
    loses: float
    accessible: str
    rule: Rule


def _table_2(material: str, inches: float, feet: float, loses: float, accessible: str) -> Surfacing:
    seen: Seen = "seen in another's copy"
    text = (
        f"{inches:g} in of {material}, once settled, protects to a fall height of {feet:g} ft, and "
        "less is never enough"
    )
    text += f"; {inches / (1 - loses):g} in are filled in." if loses else "."
    rule = Rule(text, "Table 2; 2.4.2.2", CPSC, seen)
    return Surfacing(material, inches * INCH_M, feet * FOOT_M, loses, accessible, rule)


_TESTED = Rule(
    "Not in Table 2: only the maker's ASTM F1292 test data say from what height it protects.",
    "2.4.2.1",
    CPSC,
    "seen in another's copy",
)
SURFACINGS: dict[str, Surfacing] = {
    "wood chips": _table_2("wood chips", 9, 10, 0.25, "no"),
    "wood mulch": _table_2("wood mulch", 9, 7, 0.25, "no"),
    "sand": _table_2("sand", 9, 4, 0.25, "no"),
    "pea gravel": _table_2("pea gravel", 9, 5, 0.25, "no"),
    "loose rubber": _table_2("loose rubber", 6, 10, 0.0, "if tested"),
    "engineered wood fiber": Surfacing(
        "engineered wood fiber", None, None, 0.25, "if tested", _TESTED
    ),
    "unitary": Surfacing("unitary", None, None, 0.0, "if tested", _TESTED),
}
"""By name. Which loose fill is firm enough for wheels is common practice, to be shown by ASTM
F1951 data."""


@dataclass(frozen=True)
class Depth:
    """Depth of one material under one fall height.

    Parameters
    ----------
    settled_m, filled_m
        Once settled, and when filled in; None where the material can't be used, or where only
        the maker's tests say.
    enough
        Whether Table 2 says that it protects; None where the table doesn't say.
    why
        A sentence.
    """

    material: str
    fall_height_m: float | None
    settled_m: float | None
    filled_m: float | None
    enough: bool | None
    why: str
    rule: Rule


def depth(material: str, fall_height_m: float | None) -> Depth:
    """Least depth of a material under a fall height.

    Parameters
    ----------
    material
        A key of `SURFACINGS`.
    fall_height_m
        Metres; None where it isn't known.

    Returns
    -------
    Depth
        Nothing is assigned to a material that Table 2 doesn't list, nor beyond its height.

    Formula: filled = settled / (1 - what it loses). Source: CPSC Pub. 325, 2.4.2.2 and Table 2.

    Examples
    --------
    >>> chips = depth("wood chips", 2.4)
    >>> round(chips.settled_m / 0.0254), round(chips.filled_m / 0.0254)
    (9, 12)
    >>> depth("sand", 2.4).enough, depth("engineered wood fiber", 2.4).enough
    (False, None)
    """
    known = SURFACINGS[material]
    settled_m, filled_m, enough = None, None, None
    if known.settled_m is None or known.protects_to_m is None:
        why = "the maker's ASTM F1292 test data are needed"
    elif fall_height_m is None:
        why = "the height of a piece is not known"
    elif fall_height_m > known.protects_to_m + 1e-9:
        enough, why = False, "Table 2 gives it no depth for so high a fall"
    else:
        settled_m, filled_m = known.settled_m, known.settled_m / (1 - known.loses)
        enough, why = True, "protects by Table 2, if it is kept at its depth"
    return Depth(material, fall_height_m, settled_m, filled_m, enough, why, known.rule)


def fill_m3(area_m2: float, depth_m: float) -> float:
    """Volume of fill for an area and the depth that is filled in, cubic metres.

    Examples
    --------
    20 by 30 ft, 12 in: 22.2 cubic yards.

    >>> round(fill_m3(600 * 0.09290304, 0.3048) / 0.9144**3, 1)
    22.2
    """
    return area_m2 * depth_m
