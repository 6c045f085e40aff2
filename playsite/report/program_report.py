"""A program worked out, in lines for people: who plays, with what, on how much ground, by whom."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.program.rules import ADA, CPSC
from playsite.program.seat import SIGHT_M
from playsite.program.surfacing import SURFACINGS
from playsite.program.use_zones import FALL_HEIGHTS
from playsite.report.people_units import (
    area_text,
    depth_text,
    distance_text,
    pad_size_text,
    percent_text,
    value_text,
)
from playsite.report.plain_text import one_line
from playsite.report.program_facts import (
    cautions,
    first_layout,
    names,
    proof_text,
    standing,
    worked_of,
)
from playsite.report.program_json import program_json
from playsite.report.wording import joined

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from playsite.program import RequiredPad
    from playsite.program.layout import Layout
    from playsite.program.required import Worked
    from playsite.program.rules import Rule
    from playsite.program.surfacing import Depth
    from playsite.program.use_zones import UseZone

__all__ = ["program_json", "program_lines"]

_SHORT = {CPSC: "CPSC Pub. 325", ADA: "2010 ADA Standards"}
"""Editions stand in full among the cautions."""


def program_lines(pad: RequiredPad, units: str) -> Iterator[str]:
    """Say a program: who plays, pieces, areas, shapes, access, surfacing, cautions.

    Parameters
    ----------
    pad
        Of `playsite.program.required.required_pad`.
    units
        ``"feet"`` or ``"metres"``.

    Raises
    ------
    ValueError
        If the pad comes without its program.
    """
    worked = worked_of(pad)
    yield one_line(worked.name) or "The study's program"
    size = pad_size_text(pad.length_m, pad.width_m, units)
    yield f"The pad: {size}, {area_text(pad.area_m2, units)}; {pad.why}."
    yield standing(pad)
    yield from _section("Who plays", _who(worked))
    yield from _section("Equipment, each with its use zone", _pieces(worked, units))
    yield from _section("Areas and widths", _figures(worked, units))
    yield from _section("Shapes of ground that hold it", _shapes(pad, units))
    yield from _section("The concept layout", _layout(first_layout(pad), units))
    yield from _section("Accessibility, by count", _access(worked))
    yield from _section("Surfacing", _surfacing(worked, units))
    yield from _section("Too much for the pad that is given", _too_much(worked))
    yield from _section("Cautions", (f"- {each}" for each in cautions(pad)))


def _section(title: str, lines: Iterable[str]) -> Iterator[str]:
    """A title and its lines, set in; nothing where there are none."""
    own = list(lines)
    if own:
        yield ""
        yield title
        yield from (f"  {line}" for line in own)


def _who(worked: Worked) -> Iterator[str]:
    ages = joined(worked.ages)
    yield f"ages {ages}" if ages else "ages are not given"
    children = worked.areas.children
    yield "children at once: not given" if children is None else f"{children:,} children at once"
    yield "inclusive: yes" if worked.inclusive else "inclusive: not asked for"


def _pieces(worked: Worked, units: str) -> Iterator[str]:
    if not worked.zones:
        yield "none that can be placed; the areas are by heads or as given"
        return
    for number, zone in enumerate(worked.zones, start=1):
        yield f"{number}. {_piece_text(zone, units)}"
        sections = dict.fromkeys(rule.section or rule.source for rule in zone.rules)
        yield f"     rules: {'; '.join(sections)}"
        yield from (f"     {sentence}" for sentence in zone.needs_test)
    yield "Rules:"
    yield from _rule_lines(rule for zone in worked.zones for rule in zone.rules)


def _piece_text(zone: UseZone, units: str) -> str:
    west, south, east, north = zone.square.bounds
    label, kind = one_line(zone.piece.label), zone.piece.kind
    what = f"ages {zone.piece.ages}" if label == kind else f"{kind}, ages {zone.piece.ages}"
    size = pad_size_text(east - west, north - south, units)
    fall = "not known" if zone.fall_height_m is None else distance_text(zone.fall_height_m, units)
    overlaps = {
        "never": "nothing may overlap it",
        "swing": "another swing may overlap its sides",
        "stationary": "a piece that stands still may overlap it",
    }
    return (
        f"{label} ({what}): zone {size}, {area_text(zone.square.area, units)} "
        f"({area_text(zone.rounded.area, units)} with rounded corners); fall height {fall}; "
        f"{overlaps[zone.overlaps]}"
    )


def _rule_lines(rules: Iterable[Rule]) -> Iterator[str]:
    for rule in dict.fromkeys(rules):
        yield f"  - {_rule_text(rule)}"


def _rule_text(rule: Rule) -> str:
    head = "Fall height: " if rule in FALL_HEIGHTS.values() else ""
    source = one_line(rule.source)
    for edition, short in _SHORT.items():
        source = source.replace(edition, short)
    said = one_line(rule.text)
    said = said[:1].lower() + said[1:] if head else said
    return f"{head}{said} [{source}]"


def _figures(worked: Worked, units: str) -> Iterator[str]:
    for figure in worked.figures:
        value = (
            "not known" if figure.value is None else value_text(figure.value, figure.unit, units)
        )
        yield f"{figure.plain}: {value}"
        yield f"    {_rule_text(figure.rule)}"


def _shapes(pad: RequiredPad, units: str) -> Iterator[str]:
    for shape in pad.shapes:
        size = pad_size_text(*shape.sides_m, units)
        parts = [pad_size_text(part.length_m, part.width_m, units) for part in shape.parts]
        if shape.is_loose:
            apart = [distance_text(m, units) for m in (shape.least_apart_m, shape.most_apart_m)]
            size = f"{joined(parts)}, {apart[0]} to {apart[1]} apart"
        elif len(parts) > 1:
            size = f"{size} at its widest, made of {joined(parts)}"
        yield f"{shape.name}: {size}; {area_text(shape.area_m2, units)}; {proof_text(shape)}"


def _layout(layout: Layout | None, units: str) -> Iterator[str]:
    if layout is None:
        return
    yield f"surfacing: {pad_size_text(layout.length_m, layout.width_m, units)}"
    if layout.busy_gap_m is not None:
        yield f"busy pieces of one age area: at least {distance_text(layout.busy_gap_m, units)} apart"
    route, seat = layout.route, layout.seat
    if route is None:
        yield "no accessible way in was found"
    else:
        width = depth_text(route.width_m, units)
        missed = f"every piece but {names(route.unreached)}" if route.unreached else "every piece"
        yield f"the accessible way, {width} clear, reaches {missed}"
    if seat is None:
        yield "there is no room for a seat in the ring or in a strip"
        return
    shares = [
        f"{percent_text(pct)} of the area for ages {age}" for age, pct in seat.seen_pct.items()
    ]
    yield f"from one seat, within {distance_text(SIGHT_M, units)}, one sees {joined(shares)}"
    if seat.unseen:
        yield f"from there nothing is seen of {names(seat.unseen)}"


def _access(worked: Worked) -> Iterator[str]:
    found = worked.access
    if not worked.pieces:
        yield "no equipment is given, so nothing can be counted"
        return
    yield (
        f"elevated components: {found.elevated}, of which {found.elevated_due} must be on a route, "
        f"{found.ramps_due} by ramp; {found.ramped} are reached by ramp"
    )
    yield (
        f"ground-level components: {found.ground} of {found.ground_types} types; {found.ground_due} "
        f"of {found.types_due} types must be on a route"
    )
    if found.waived:
        yield "ramps reach enough of the elevated ones: the table of ground-level ones is waived"
    yield from (f"short: {sentence}" for sentence in found.short)
    if not found.short:
        yield "nothing is short by count; whether the surface is accessible, its maker must show"
    yield from _rule_lines(found.rules)


def _surfacing(worked: Worked, units: str) -> Iterator[str]:
    if worked.depths:
        height_m = worked.depths[0].fall_height_m
        known = "no fall height is known" if height_m is None else distance_text(height_m, units)
        yield f"highest fall that is known: {known}"
    for depth in worked.depths:
        yield f"{depth.material}: {_depth_text(depth, units)}"
    yield from _rule_lines(depth.rule for depth in worked.depths)


def _depth_text(depth: Depth, units: str) -> str:
    if depth.settled_m is None or depth.filled_m is None:
        head = "not enough" if depth.enough is False else "no depth is given"
    else:
        settled, filled = (depth_text(m, units) for m in (depth.settled_m, depth.filled_m))
        head = f"{settled} once settled, {filled} when filled in"
    accessible = {
        "no": "not accessible",
        "if tested": "accessible only where ASTM F1951 test data show it",
        "yes": "accessible",
    }[SURFACINGS[depth.material].accessible]
    return f"{head}; {depth.why}; {accessible}"


def _too_much(worked: Worked) -> Iterator[str]:
    if worked.too_much is None:
        yield "could not be decided: no layout was found, and none is proven impossible"
    elif worked.too_much:
        yield f"no room for: {names(worked.too_much)}"
