"""Lines of an estimate: how much of what, from the program and from what was measured at a pad."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from playsite._program_settings import square_metres
from playsite.cost._price_tables import SI_OF_UNIT
from playsite.program.surface import surface_of
from playsite.units import LENGTHS_M, metres

if TYPE_CHECKING:
    from collections.abc import Mapping

    from playsite._cost_settings import CostTable
    from playsite.cost.prices import Price, PriceBook
    from playsite.program import RequiredPad
    from playsite.program.equipment import Piece
    from playsite.program.surface import Surface

__all__ = [
    "BOX_OUT_M",
    "Ground",
    "Line",
    "Quantity",
    "SiteFacts",
    "amount_in",
    "common_lines",
    "site_lines",
]

BOX_OUT_M = 0.40
"""Depth dug out for surfacing and stone (common practice, no source)."""
FOOT_M = LENGTHS_M["ft"]
_WALK_M, _ROUTE_M = 6 * FOOT_M, 5 * FOOT_M
_PIPES_APART_M = (20 * FOOT_M, 17.5 * FOOT_M, 15 * FOOT_M)
_WETLAND_NEAR_M = 30.0
_RUN_ON_M2 = 400.0  # the ideal of the criterion
_BARRIERS = ("barrier", "fence", "guard")
_FREE_DRAINING = 0.99
_ROOT_6 = math.sqrt(6)  # half width of a symmetric triangular law over its standard deviation
_VOLUME = re.compile(r"^\s*(\d[\d,]*(?:\.\d+)?)\s*(cu yd|m3|m³)\s*$")


@dataclass(frozen=True)
class Quantity:
    """How much: least, likeliest, most."""

    low: float
    likely: float
    high: float

    @classmethod
    def exact(cls, value: float) -> Quantity:
        """Quantity without a range."""
        return cls(value, value, value)


@dataclass(frozen=True)
class Line:
    """One line of an estimate.

    Parameters
    ----------
    name
        What it is.
    price
        None where there is none.
    quantity
        None where it is not known: then the line is told and not counted.
    differs
        Whether it differs between sites.
    basis
        Where the quantity comes from, a sentence.
    kind
        ``equipment`` (carries the installation), ``work``, or ``study`` (no mobilization, no
        design on top).
    """

    name: str
    price: Price | None
    quantity: Quantity | None
    differs: bool
    basis: str
    kind: str = "work"


@dataclass(frozen=True)
class Ground:
    """What levelling a pad moves, all its parts together; metres and cubic metres."""

    cut_m3: float
    import_m3: float
    export_m3: float
    plus_minus_m3: float
    topsoil_m3: float
    boxout_m3: float
    wall_m2: float
    wall_needs_permit: bool = False


@dataclass(frozen=True)
class SiteFacts:
    """What is known of one site, as far as money asks.

    Parameters
    ----------
    pad_sides_m
        Long and short side of the pad.
    ground
        None where too little of the ground is known.
    needs
        What the conditions ask for.
    trees_removed, trees_protected
        None where the study has no layer of trees.
    street_m
        Straight from the pad to the nearest street; None where there is no such layer.
    measured
        Values by criterion, NaN where unknown.
    """

    parcel_id: str
    pad_sides_m: tuple[float, float]
    ground: Ground | None = None
    needs: tuple[str, ...] = ()
    trees_removed: int | None = None
    trees_protected: int | None = None
    street_m: float | None = None
    measured: Mapping[str, float] = field(default_factory=dict)

    def value(self, *names: str) -> float | None:
        """Value of the first of these criteria that was measured; None where none was."""
        for name in names:
            value = self.measured.get(name, math.nan)
            if not math.isnan(value):
                return value
        return None

    def permits(self) -> frozenset[str]:
        """What asks for a permit of its own here: ``wetland``, ``floodplain``, ``wall``."""
        wet_m = self.value("wetland")
        asked = {
            "wetland": wet_m is not None and wet_m < _WETLAND_NEAR_M,
            "floodplain": any("floodplain" in need for need in self.needs),
            "wall": self.ground is not None and self.ground.wall_needs_permit,
        }
        return frozenset(name for name, is_asked in asked.items() if is_asked)


def common_lines(pad: RequiredPad, cost: CostTable, book: PriceBook, surfacing: str) -> list[Line]:
    """Lines that are the same wherever the program is built.

    Parameters
    ----------
    surfacing
        Name of its price.
    """
    prices, surface = book.prices, surface_of(pad)
    worked = pad.worked
    benches = worked.figure("benches") if worked is not None else None
    walk_m2 = sum(surface.sides_m) * _WALK_M
    boxout_m3 = surface.area_m2 * BOX_OUT_M
    given: list[tuple[str, float | None, str]] = [
        (surfacing, surface.area_m2, surface.basis),
        ("stone base and fabric", surface.area_m2, surface.basis),
        ("border curb", surface.edge_m, "edge of the surfacing"),
        ("concrete walk", walk_m2, "6 ft wide along two sides (common practice, no source)"),
        ("bench", benches, "one for 10 children at once (common practice, no source)"),
        ("litter bin", 1, "one (common practice, no source)"),
        ("bicycle rack", 1, "one (common practice, no source)"),
        ("sign", 1, "one (common practice, no source)"),
        ("erosion control and restoration", 1, "one site"),
    ]
    lines = _equipment(pad, cost, book)
    lines += [_line(name, prices, amount, why) for name, amount, why in given]
    dug = "0.40 m under the surfacing (common practice, no source)"
    haul, box = prices["earth taken away"], Quantity.exact(boxout_m3)
    lines.append(Line("box-out taken away", haul, box, differs=False, basis=dug))
    lines += [
        _line(name, prices, amount_in(prices[name], amount), "as the study gives it")
        for name, amount in cost.extras.items()
    ]
    return [
        *lines,
        _line("boundary and ground survey", prices, 1, "one site", kind="study"),
        _line("soil borings and report", prices, 1, "one site", kind="study"),
    ]


def site_lines(facts: SiteFacts, surface: Surface, cost: CostTable, book: PriceBook) -> list[Line]:
    """Lines that differ from site to site; what is not known is a line without quantity.

    Parameters
    ----------
    surface
        Of the program's surfacing, for the pipes beneath it.
    """
    lines = [
        *_earth(facts, surface, book),
        *_water(facts, surface, book),
        *_ways(facts, book),
        *_barriers(facts, book),
        *_trees(facts, book),
        *_short_of(facts, cost, book),
        *_studies(facts, book),
    ]
    given = cost.sites.get(facts.parcel_id, {})
    own = {
        name: _site(
            name, book, amount_in(book.prices[name], amount), "as the study gives it for this site"
        )
        for name, amount in given.items()
    }
    kept = [own.pop(line.name, line) for line in lines]
    return [*kept, *own.values()]


def amount_in(price: Price, given: float | str) -> float:
    """Amount of a line in the unit of its price: "120 ft", "400 sq ft", "30 cu yd", or a number.

    Raises
    ------
    ValueError
        If it is not in a unit of that kind.
    """
    if price.unit == "m":
        return metres(given)
    if price.unit == "m2":
        return square_metres(given)
    if price.unit == "m3":
        found = _VOLUME.match(given) if isinstance(given, str) else None
        if found is None:
            raise ValueError(f'{given!r} is not a volume with its unit, such as "30 cu yd"')
        return float(found[1].replace(",", "")) * SI_OF_UNIT[found[2].replace("m³", "m3")][1]
    if isinstance(given, bool) or not isinstance(given, (int, float)) or not 0 <= given < 1e6:
        raise ValueError(f"{given!r} is not a number of them, such as 2")
    return float(given)


def _line(
    name: str, prices: Mapping[str, Price], amount: float | None, why: str, *, kind: str = "work"
) -> Line:
    quantity = None if amount is None else Quantity.exact(amount)
    return Line(name, prices[name], quantity, differs=False, basis=why, kind=kind)


def _site(
    name: str, book: PriceBook, amount: float | Quantity | None, why: str, *, kind: str = "work"
) -> Line:
    quantity = Quantity.exact(amount) if isinstance(amount, (int, float)) else amount
    return Line(name, book.prices[name], quantity, differs=True, basis=why, kind=kind)


def _equipment(pad: RequiredPad, cost: CostTable, book: PriceBook) -> list[Line]:
    pieces = pad.worked.pieces if pad.worked is not None else ()
    if not pieces and cost.equipment is not None:
        name = f"equipment, {cost.equipment}"
        return [_line(name, book.prices, 1, "as the study says its size", kind="equipment")]
    if not pieces:
        why = "the program lists no pieces and [cost] gives no size"
        return [Line("equipment", None, None, differs=False, basis=why, kind="equipment")]
    counted: dict[str, float] = {}
    for name, number in map(_priced, pieces):
        counted[name] = counted.get(name, 0.0) + number
    return [
        _line(name, book.prices, number, "pieces of the program", kind="equipment")
        for name, number in counted.items()
    ]


def _priced(piece: Piece) -> tuple[str, float]:
    """Price of a piece by name, and how many of it: a composite by its elevated components."""
    if piece.kind == "composite":
        parts = piece.elevated_components
        return ("composite component", float(parts)) if parts else (f"composite {piece.ages}", 1.0)
    return piece.kind, float(piece.bays)


def _earth(facts: SiteFacts, surface: Surface, book: PriceBook) -> list[Line]:
    ground = facts.ground
    names = (
        "levelling on the site",
        "earth taken away beyond the box-out",
        "earth brought in",
        "retaining wall",
    )
    if ground is None:
        unknown = "too little of the ground is known, or it was not levelled"
        return [_named(name, book, None, unknown) for name in names]
    box_m3 = surface.area_m2 * BOX_OUT_M
    stays_m3 = max(ground.cut_m3 + ground.boxout_m3 - ground.export_m3, 0.0)
    off_m3 = _ROOT_6 * (0.0 if math.isnan(ground.plus_minus_m3) else ground.plus_minus_m3)
    beyond = ground.export_m3 - box_m3
    lines = [
        _named(
            names[0], book, Quantity.exact(stays_m3 + ground.topsoil_m3),
            "earth that is dug and stays, and topsoil stripped and put back",
        ),
        _named(
            names[1], book, Quantity(beyond - off_m3, beyond, beyond + off_m3),
            "with the error of the elevation; less than zero where box-out stays as fill",
        ),
    ]  # fmt: skip
    if ground.import_m3 > 1:
        lines.append(_named(names[2], book, Quantity.exact(ground.import_m3), "fill that is short"))
    if ground.wall_m2 > 0:
        lines.append(
            _named(
                names[3], book, Quantity.exact(ground.wall_m2), "where the bank runs out of room"
            )
        )
    return lines


def _named(name: str, book: PriceBook, quantity: Quantity | None, why: str) -> Line:
    priced = "earth taken away" if name.startswith("earth taken away") else name
    return Line(name, book.prices[priced], quantity, differs=True, basis=why)


def _water(facts: SiteFacts, surface: Surface, book: PriceBook) -> list[Line]:
    parallel = [surface.area_m2 / apart_m for apart_m in _PIPES_APART_M]
    long_m = max(surface.sides_m)
    soil = facts.value("soil")
    if soil is not None and soil >= _FREE_DRAINING:
        pipes = Quantity(long_m, long_m, max(parallel[0], long_m))
        why = "one pipe along the low edge: the soil drains (common practice, no source)"
    else:
        pipes = Quantity(*(length + long_m for length in parallel))
        known = "slow soil" if soil is not None else "the soil is not known"
        why = f"pipes 15 to 20 ft apart and one along the low edge: {known} (common practice, no source)"
    outlet_m = facts.value("outlet")
    found = outlet_m is not None and math.isfinite(outlet_m)
    reason = "to where a pipe can drain" if found else "where a pipe can drain is not known"
    if outlet_m is not None and not found:
        reason = (
            "no pipe drains it by gravity: raising the pad, a pump or an easement is not priced"
        )
    return [
        _site("underdrain", book, pipes, why),
        _site("outlet pipe", book, outlet_m if found else None, reason),
        *_swale(facts, book),
    ]


def _swale(facts: SiteFacts, book: PriceBook) -> list[Line]:
    """Along the uphill side, where more than a little land drains through the pad."""
    run_on_m2 = facts.value("run_on")
    if run_on_m2 is not None and run_on_m2 < _RUN_ON_M2:
        return []
    long_m, short_m = facts.pad_sides_m
    if run_on_m2 is None:
        return [_site("interceptor swale", book, None, "what drains through it is not known")]
    why = "uphill, before the pad, one to two of its sides (common practice, no source)"
    return [_site("interceptor swale", book, Quantity(short_m, long_m, long_m + short_m), why)]


def _ways(facts: SiteFacts, book: PriceBook) -> list[Line]:
    truck_m, street_m, machines = facts.value("truck"), facts.street_m, "access for machines"
    if truck_m is not None:
        why = _of_way(truck_m, "the way found off the pavement", "corridor for a truck")
        return [*_step_free(facts, book), _site(machines, book, _built(truck_m), why)]
    least = None
    why = "no truck's way was found, and there is no layer of streets"
    if street_m is not None:
        least = Quantity(street_m, 1.25 * street_m, 1.75 * street_m)
        why = "straight to the nearest street, up to 1.75 times that (common practice, no source)"
    return [*_step_free(facts, book), _site(machines, book, least, why)]


def _step_free(facts: SiteFacts, book: PriceBook) -> list[Line]:
    """The new way from where people arrive: walk, and ramps with rails where it is steep."""
    route_m, ramp_m = facts.value("accessible_route"), facts.value("ramp") or 0.0
    walk_m = None if route_m is None else max(route_m - ramp_m, 0.0)
    why = _of_way(route_m, "5 ft wide along the way found", "step-free way")
    walk = Line(
        "step-free walk to the play area",
        book.prices["concrete walk"],
        _built(walk_m, _ROUTE_M),
        differs=True,
        basis=why,
    )
    if ramp_m <= 0:
        return [walk]
    return [
        walk,
        _site("ramp with rails", book, ramp_m, "where the way found is a ramp, landings in it"),
    ]


def _built(way_m: float | None, width_m: float = 1.0) -> Quantity | None:
    """Quantity of a way that was found; None where it is not known, or there is none."""
    known = way_m is not None and math.isfinite(way_m)
    return Quantity.exact(way_m * width_m) if known and way_m is not None else None


def _of_way(way_m: float | None, found: str, what: str) -> str:
    if way_m is None:
        return f"the {what} is not known"
    return (
        found
        if math.isfinite(way_m)
        else f"no {what} was found: what else it would take is not priced"
    )


def _barriers(facts: SiteFacts, book: PriceBook) -> list[Line]:
    asked = sorted({need for need in facts.needs if any(word in need for word in _BARRIERS)})
    if not asked:
        return []
    long_m, short_m = facts.pad_sides_m
    round_m = 2 * (long_m + short_m)
    why = f"{'; '.join(asked)}: one short side at the least, all round at the most"
    return [
        _site("fence", book, Quantity(short_m, round_m / 2, round_m), why),
        _site("gate", book, 2, "one for people, one for machines (common practice, no source)"),
    ]


def _trees(facts: SiteFacts, book: PriceBook) -> list[Line]:
    known = facts.trees_removed is not None
    why = "stems on the pad and its banks" if known else "there is no layer of trees"
    near = "trees whose roots the digging reaches" if known else why
    counts = (
        ("tree removed", facts.trees_removed, why),
        ("tree protected", facts.trees_protected, near),
    )
    return [_site(name, book, count, why) for name, count, why in counts if count != 0]


def _short_of(facts: SiteFacts, cost: CostTable, book: PriceBook) -> list[Line]:
    """What the study asks to lie near, where it does not: a restroom, spaces to park."""
    asked = (
        ("restroom", facts.value("restroom"), cost.restroom_within_m, 1.0),
        (
            "parking space",
            facts.value("parking"),
            cost.parking_within_m,
            float(cost.parking_spaces),
        ),
    )
    lines = []
    for name, walk_m, within_m, count in asked:
        if within_m is None or (walk_m is not None and walk_m <= within_m):
            continue
        why = (
            f"none within {within_m:.0f} m"
            if walk_m is not None
            else "whether one lies near is not known"
        )
        lines.append(_site(name, book, None if walk_m is None else count, why))
    return lines


def _studies(facts: SiteFacts, book: PriceBook) -> list[Line]:
    lines = []
    touched = (
        None if facts.trees_removed is None else facts.trees_removed + (facts.trees_protected or 0)
    )
    if touched != 0:
        why = "trees are touched" if touched else "there is no layer of trees"
        lines.append(_site("arborist's report", book, 1 if touched else None, why, kind="study"))
    wet_m = facts.value("wetland")
    if wet_m is None or wet_m < _WETLAND_NEAR_M:
        why = "wetlands are not mapped here" if wet_m is None else "a wetland is mapped near"
        count = None if wet_m is None else 1
        lines.append(_site("wetland delineation", book, count, why, kind="study"))
    if "floodplain" in facts.permits():
        lines.append(
            _site("floodplain permit", book, 1, "the pad lies in a flood zone", kind="study")
        )
    return lines
