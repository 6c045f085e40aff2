"""Several programs side by side, in lines for people: ground, children, access, kind of pieces."""

from __future__ import annotations

import itertools
import textwrap
from typing import TYPE_CHECKING

from playsite.report.people_units import area_text, pad_size_text
from playsite.report.plain_text import one_line
from playsite.report.program_facts import first_layout, worked_of
from playsite.report.wording import joined

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from playsite.program import RequiredPad
    from playsite.program.required import Worked
    from playsite.program.use_zones import UseZone

__all__ = ["comparison_lines"]

_SIDE_BY_SIDE = 3
_HEAD, _CELL = 22, 26


def comparison_lines(pads: Mapping[str, RequiredPad], units: str) -> Iterator[str]:
    """Compare programs: columns are programs, three in a row.

    Parameters
    ----------
    pads
        By the name that heads the column.
    units
        ``"feet"`` or ``"metres"``.
    """
    columns = [(one_line(name), _cells(pad, units)) for name, pad in pads.items()]
    for start in range(0, len(columns), _SIDE_BY_SIDE):
        shown = columns[start : start + _SIDE_BY_SIDE]
        yield from _row("", [name for name, _ in shown])
        yield "-" * (_HEAD + len(shown) * (_CELL + 2))
        for head in shown[0][1]:
            yield from _row(head, [cells[head] for _, cells in shown])
        yield ""


def _row(head: str, cells: Sequence[str]) -> Iterator[str]:
    """One row, each cell broken into as many lines as it takes."""
    broken = [textwrap.wrap(text, width) or [""] for text, width in _widths(head, cells)]
    for parts in itertools.zip_longest(*broken, fillvalue=""):
        first, *rest = parts
        yield f"{first:<{_HEAD}}{''.join(f'  {part:<{_CELL}}' for part in rest)}".rstrip()


def _widths(head: str, cells: Sequence[str]) -> list[tuple[str, int]]:
    return [(head, _HEAD), *((cell, _CELL) for cell in cells)]


def _cells(pad: RequiredPad, units: str) -> dict[str, str]:
    worked = worked_of(pad)
    children = worked.areas.children
    each = "not known" if not children else area_text(pad.area_m2 / children, units)
    one = [zone for zone in worked.zones if zone.piece.kind == "composite"]
    free = [zone for zone in worked.zones if zone.piece.kind != "composite"]
    return {
        "the pad": pad_size_text(pad.length_m, pad.width_m, units),
        "its area": area_text(pad.area_m2, units),
        "what proves it": pad.why,
        "children at once": "not given" if children is None else f"{children:,}",
        "pad for each child": each,
        "pieces": str(len(worked.zones)) if worked.zones else "none",
        "composite structures": _kind_text(one, children, units),
        "free-standing pieces": _kind_text(free, children, units),
        "accessible": _access_text(pad, worked),
    }


def _kind_text(zones: Sequence[UseZone], children: int | None, units: str) -> str:
    """How many, and the use zones that they take, for each child where children are known."""
    if not zones:
        return "none"
    area_m2 = sum(zone.square.area for zone in zones)
    each = f", {area_text(area_m2 / children, units)} a child" if children else ""
    return f"{len(zones)}; use zones {area_text(area_m2, units)}{each}"


def _access_text(pad: RequiredPad, worked: Worked) -> str:
    """What is short by count, and which pieces the way doesn't reach."""
    if not worked.pieces:
        return "no pieces to count"
    short = [*worked.access.short]
    layout = first_layout(pad)
    if layout is None:
        short.append("no layout to look for a way in")
    elif layout.route is None:
        short.append("no accessible way was found")
    elif layout.route.unreached:
        names = joined([one_line(label) for label in layout.route.unreached])
        short.append(f"the way does not reach {names}")
    return "; ".join(short) if short else "nothing short by count; the way reaches every piece"
