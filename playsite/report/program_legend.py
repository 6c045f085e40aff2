"""Legend of a concept drawing: each piece by its number, and what each sign means."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely
from shapely import LineString

from playsite.program.seat import SIGHT_M
from playsite.report.people_units import depth_text, distance_text, pad_size_text, percent_text
from playsite.report.program_facts import names
from playsite.report.vector_sheet import circle, fitted, path, text, text_em, wrapped
from playsite.report.wording import joined

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playsite.program.layout import Layout
    from playsite.program.required import Worked
    from playsite.program.use_zones import UseZone

__all__ = ["legend"]

_LINE, _LETTER = 1.75, 1.22
_SIZE_EM = 9.5  # of "104 by 74.5 ft", set to the right


def legend(
    worked: Worked, layout: Layout | None, x: float, y: float, width: float, units: str
) -> tuple[list[str], float]:
    """List pieces with their zones, then the signs; and where they end.

    Parameters
    ----------
    worked
        The program.
    layout
        What is drawn; None where only areas are.
    x, y, width
        Where the legend begins on the sheet, and how wide it may be.
    units
        ``"feet"`` or ``"metres"``.
    """
    parts: list[str] = []
    if worked.zones:
        parts += _head("Equipment", "use zone", x, y, width)
        y += 0.7
        for place, zone in enumerate(worked.zones, start=1):
            y += _LINE
            parts += _piece(place, zone, (x, y, width), units)
        y += 2.6
    if layout is not None:
        parts += _head("What is drawn", "", x, y, width)
        y += 0.7
        signs = _signs(layout, units)
        half = (width - 1) / 2
        for place, (sign, said) in enumerate(signs):
            row, column = divmod(place, 2)
            left, base = x + column * (half + 1), y + (row + 1) * (_LINE + 0.2)
            parts += _sign(sign, left, base)
            parts.append(text(left + 3.4, base, fitted(said, (half - 3.4) / _LETTER)))
        y += (len(signs) + 1) // 2 * (_LINE + 0.2) + 0.6
    for sentence in _notes(worked, layout, units):
        for line in wrapped(sentence, width / _LETTER):
            y += _LINE
            parts.append(text(x, y, line))
    return parts, y + 2.6


def _head(left: str, right: str, x: float, y: float, width: float) -> list[str]:
    line = path(LineString([(x, y + 0.6), (x + width, y + 0.6)]), "rule")
    heads = [text(x, y, left, "head"), line]
    return [*heads, text(x + width, y, right, "note", anchor="end")] if right else heads


def _piece(place: int, zone: UseZone, at: tuple[float, float, float], units: str) -> Iterator[str]:
    """Number, name, ages, size of the zone; a long name is cut, its ages and size are not."""
    x, y, width = at
    west, south, east, north = zone.square.bounds
    size = pad_size_text(east - west, north - south, units)
    ages = f", ages {zone.piece.ages}"
    room_em = (width - 2.2) / _LETTER - _SIZE_EM - text_em(ages)
    yield circle(x + 0.75, y - 0.36, 0.72, "disc")
    yield text(x + 0.75, y, str(place), "number", anchor="middle")
    yield text(x + 2.2, y, fitted(zone.piece.label, room_em) + ages)
    yield text(x + width, y, size, anchor="end")
    yield path(LineString([(x, y + 0.58), (x + width, y + 0.58)]), "hair")


def _signs(layout: Layout, units: str) -> list[tuple[str, str]]:
    """Signs that the drawing has, each with its words."""
    signs = [("zone", "use zone of a piece")]
    if any(not piece.exclusive.is_empty for piece in layout.pieces):
        signs.append(("alone", "no other zone in here"))
    signs.append(("surfacing", "surfacing"))
    signs.append(("page", "ring: path, seats, fence"))
    if layout.strips:
        signs.append(("strip", "strip between ages"))
    if layout.route is not None:
        signs.append(("way", f"accessible, {depth_text(layout.route.width_m, units)} clear"))
        signs.append(("gate", "gate"))
    if layout.seat is not None:
        signs.append(("seat", f"seat, sight to {distance_text(SIGHT_M, units)}"))
    return signs


def _sign(kind: str, x: float, y: float) -> Iterator[str]:
    """One sign in small, on the line of its words."""
    box = shapely.box(x, y - 0.85, x + 2.6, y + 0.25)
    level = LineString([(x, y - 0.3), (x + 2.6, y - 0.3)])
    if kind == "way":
        yield path(box, "way-band")
        yield path(level, "way")
    elif kind == "gate":
        yield path(level, "post")
        gap = LineString([(x + 0.8, y - 0.3), (x + 1.8, y - 0.3)])
        yield path(gap, "gate")
        for end in (x + 0.8, x + 1.8):
            yield path(LineString([(end, y - 0.75), (end, y + 0.15)]), "post")
    elif kind == "seat":
        yield path(LineString([(x + 1.4, y - 0.3), (x + 2.6, y - 0.3)]), "sight")
        yield path(shapely.box(x, y - 0.55, x + 1.4, y - 0.05), "seat")
    else:
        yield path(box, "surfacing" if kind == "alone" else kind)
        if kind in {"alone", "page"}:
            yield path(box, "alone" if kind == "alone" else "size")


def _notes(worked: Worked, layout: Layout | None, units: str) -> Iterator[str]:
    """What the drawing can't show, or shows badly."""
    if worked.too_much:
        yield f"No room in the pad that is given for: {names(worked.too_much)}."
    if layout is None:
        return
    if layout.route is None:
        yield "No accessible way in was found."
    elif layout.route.unreached:
        yield f"The accessible way does not reach: {names(layout.route.unreached)}."
    if layout.seat is not None:
        shares = [f"{percent_text(pct)} of ages {age}" for age, pct in layout.seat.seen_pct.items()]
        far = distance_text(SIGHT_M, units)
        yield f"Seen from the seat within {far}: {joined(shares)}."
        if layout.seat.unseen:
            yield f"Not seen from the seat: {names(layout.seat.unseen)}."
