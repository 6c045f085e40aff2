"""A program worked out, for other programs to read: every figure by its name, in SI units."""

from __future__ import annotations

import dataclasses
import math
from typing import TYPE_CHECKING, Any

from playsite.program.surfacing import SURFACINGS, fill_m3
from playsite.report.program_facts import cautions, edition, first_layout, worked_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from playsite.program import RequiredPad
    from playsite.program.layout import Layout
    from playsite.program.pad_shapes import PadShape
    from playsite.program.required import Worked
    from playsite.program.rules import Figure, Rule
    from playsite.program.surfacing import Depth
    from playsite.program.use_zones import UseZone

__all__ = ["program_json"]


def program_json(pad: RequiredPad) -> dict[str, Any]:
    """All that is known of a program, ready for ``json.dumps``; what isn't known is null.

    Raises
    ------
    ValueError
        If the pad comes without its program.
    """
    worked, layout = worked_of(pad), first_layout(pad)
    found: dict[str, Any] = {figure.name: figure.value for figure in worked.figures}
    found |= {
        "name": worked.name,
        "ages": worked.ages,
        "inclusive": worked.inclusive,
        "rules": worked.rules,
        "edition": edition(worked),
        "length_m": pad.length_m,
        "width_m": pad.width_m,
        "area_m2": pad.area_m2,
        "why": pad.why,
        "shapes": [_shape(shape) for shape in pad.shapes],
        "figures": [_figure(figure) for figure in worked.figures],
        "pieces": [_piece(zone) for zone in worked.zones],
        "access": {**dataclasses.asdict(worked.access), "rules": _rules(worked.access.rules)},
        "surfacing": [_surfacing(depth, worked) for depth in worked.depths],
        "layout": None if layout is None else _layout(layout),
        "too_much": worked.too_much,
        "unknown_falls": worked.unknown_falls,
        "cautions": cautions(pad),
    }
    plain: dict[str, Any] = _plain(found)
    return plain


def _plain(value: Any) -> Any:
    """The same with lists for tuples, and null for what JSON has no number for."""
    if isinstance(value, dict):
        return {str(key): _plain(each) for key, each in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(each) for each in value]
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value


def _rules(rules: Iterable[Rule]) -> list[dict[str, str]]:
    return [{"text": rule.text, "source": rule.source} for rule in rules]


def _figure(figure: Figure) -> dict[str, Any]:
    return {
        "name": figure.name,
        "plain": figure.plain,
        "value": figure.value,
        "unit": figure.unit.value,
        "rule": figure.rule.text,
        "source": figure.rule.source,
    }


def _shape(shape: PadShape) -> dict[str, Any]:
    length_m, width_m = shape.sides_m
    return {
        "name": shape.name,
        "length_m": length_m,
        "width_m": width_m,
        "area_m2": shape.area_m2,
        "parts": [dataclasses.asdict(part) for part in shape.parts],
        "is_loose": shape.is_loose,
        "least_apart_m": shape.least_apart_m if shape.is_loose else None,
        "most_apart_m": shape.most_apart_m if shape.is_loose else None,
        "is_proven_least": shape.is_proven_least,
        "has_layout": bool(shape.concepts),
    }


def _piece(zone: UseZone) -> dict[str, Any]:
    west, south, east, north = zone.square.bounds
    return {
        "label": zone.piece.label,
        "kind": zone.piece.kind,
        "ages": zone.piece.ages,
        "length_m": zone.piece.length_m,
        "width_m": zone.piece.width_m,
        "use_zone_length_m": east - west,
        "use_zone_width_m": north - south,
        "use_zone_m2": zone.square.area,
        "use_zone_rounded_m2": zone.rounded.area,
        "fall_height_m": zone.fall_height_m,
        "overlaps": zone.overlaps,
        "rules": _rules(zone.rules),
        "needs_test": zone.needs_test,
    }


def _surfacing(depth: Depth, worked: Worked) -> dict[str, Any]:
    """Depth of one material, and its volume where a layout says how large the surfacing is."""
    area_m2 = worked.figure("layout_surfacing_m2")
    known = depth.filled_m is not None and area_m2 is not None
    return {
        "material": depth.material,
        "fall_height_m": depth.fall_height_m,
        "settled_m": depth.settled_m,
        "filled_m": depth.filled_m,
        "fill_m3": fill_m3(area_m2 or 0.0, depth.filled_m or 0.0) if known else None,
        "enough": depth.enough,
        "why": depth.why,
        "accessible": SURFACINGS[depth.material].accessible,
        "rule": depth.rule.text,
        "source": depth.rule.source,
    }


def _layout(layout: Layout) -> dict[str, Any]:
    """A layout in its own frame: metres from the lower left corner of the surfacing."""
    route, seat = layout.route, layout.seat
    return {
        "surfacing_length_m": layout.length_m,
        "surfacing_width_m": layout.width_m,
        "ring_m": layout.ring_m,
        "use_zones_union_m2": layout.zones_union_m2,
        "busy_gap_m": layout.busy_gap_m,
        "pieces": [
            {
                "label": piece.label,
                "x_m": piece.body.centroid.x,
                "y_m": piece.body.centroid.y,
                "turned_deg": 90 * piece.quarter_turns,
            }
            for piece in layout.pieces
        ],
        "strips": [list(strip.bounds) for strip in layout.strips],
        "route": route
        and {
            "gate": list(route.gate.coords[0]),
            "width_m": route.width_m,
            "reached": [p.label for p in layout.pieces if p.label not in route.unreached],
            "unreached": route.unreached,
        },
        "seat": seat
        and {
            "place": list(seat.place.coords[0]),
            "seen_pct": seat.seen_pct,
            "unseen": seat.unseen,
        },
    }
