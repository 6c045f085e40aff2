"""Concept drawing of a program: the layout to scale, its legend, and the other shapes in small."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import shapely
from shapely import LineString

from playsite.report.people_units import area_text, distance_text, in_feet, pad_size_text
from playsite.report.program_facts import cautions, standing, worked_of
from playsite.report.program_legend import legend
from playsite.report.program_plan import Frame, frames_of, outline, plan, sketch
from playsite.report.vector_sheet import HATCH, STYLE, fitted, number, path, text, wrapped
from playsite.report.wording import joined
from playsite.units import LENGTHS_M

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from playsite.program import RequiredPad
    from playsite.program.layout import Layout
    from playsite.program.pad_shapes import PadShape
    from playsite.program.required import Worked

__all__ = ["SCALE", "layout_svg"]

SCALE = 200
"""Metres of ground in a metre of paper."""

_LEAST_WIDTH_M = 40.0
_SIDE, _LINE = 5.2, 1.75
_SAID_M = 16.0  # of a pad that a sentence has room in
_LETTER = 1.25  # at its largest, on a narrow screen
_SMALL = (0.5, 0.4, 0.25, 0.2, 0.1, 0.05, 0.02)  # of the first plan's scale: 1:400, 1:500 …


def layout_svg(pad: RequiredPad, units: str) -> str:
    """Draw a program's concept layout, one unit of the drawing a metre, 1:200 on paper.

    Parameters
    ----------
    pad
        Of `playsite.program.required.required_pad`.
    units
        ``"feet"`` or ``"metres"``.

    Returns
    -------
    str
        An SVG document, the same to the byte for the same pad.

    Raises
    ------
    ValueError
        If the pad comes without its program.
    """
    worked = worked_of(pad)
    shown = next((s for s in pad.shapes if len(s.concepts) == 1), pad.shapes[0])
    others = [shape for shape in pad.shapes if shape is not shown]
    west, south, east, north = outline(shown)[0].bounds
    width = max(east - west + 2 * _SIDE, _LEAST_WIDTH_M)
    most_em = (width - 2) / _LETTER
    parts, y = _head(pad, units, most_em)
    frame = Frame(width / 2 - (west + east) / 2, y + 4.6 + north)
    parts += _main_plan(shown, worked, frame, units)
    y = frame.y - south + 5
    parts += _scale_bar(1.0 + (width - 2) / 2, y, units)
    y += 4.2
    lines, y = legend(worked, _layout_of(shown), 1.0, y, width - 2, units)
    parts += lines
    lines, y = _others(others, worked, y, width, units)
    parts += lines
    parts += [text(1, y, "Cautions", "head"), _rule(y + 0.6, width)]
    lines, y = _foot(pad, y + 2.3, most_em)
    parts += lines
    return _document(parts, pad, width, y + 0.6)


def _document(parts: Sequence[str], pad: RequiredPad, width: float, height: float) -> str:
    """Wrap the parts up: size on paper, style, and what is said to whoever can't see them."""
    worked = worked_of(pad)
    millimetres = [number(1000 * side / SCALE) for side in (width, height)]
    name = worked.name or "Concept layout"
    labels = joined([zone.piece.label for zone in worked.zones])
    said = f"{standing(pad)} {f'Drawn to scale: {labels}.' if labels else ''}"
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{millimetres[0]}mm" '
        f'height="{millimetres[1]}mm" viewBox="0 0 {number(width)} {number(height)}" role="img" '
        'aria-labelledby="layout-title layout-said">'
    )
    title = text(0, 0, name).split(">", 1)[1].removesuffix("</text>")
    told = text(0, 0, said).split(">", 1)[1].removesuffix("</text>")
    lines = [
        head,
        f'<title id="layout-title">{title}</title>',
        f'<desc id="layout-said">{told}</desc>',
        f"<style>{STYLE}</style>",
        f"<defs>{HATCH}</defs>",
        path(shapely.box(0, 0, width, height), "page"),
        *parts,
        "</svg>",
    ]
    return "\n".join(line for line in lines if line) + "\n"


def _layout_of(shape: PadShape) -> Layout | None:
    return shape.concepts[0].layout if len(shape.concepts) == 1 else None


def _numbers(worked: Worked) -> dict[int, int]:
    return {id(zone): place for place, zone in enumerate(worked.zones, start=1)}


def _head(pad: RequiredPad, units: str, most_em: float) -> tuple[list[str], float]:
    """Title, who plays, the pad, and that it is a concept; and where they end."""
    worked = worked_of(pad)
    ages = f"For ages {joined(worked.ages)}" if worked.ages else "Ages not given"
    children = worked.areas.children
    heads = "children at once not given" if children is None else f"{children:,} children at once"
    size = pad_size_text(pad.length_m, pad.width_m, units)
    lead = f"The pad: {size}, {area_text(pad.area_m2, units)}."
    y = 2.4
    parts = [text(1, y, fitted(worked.name or "Concept layout", most_em * 0.62), "title")]
    for kind, said in (
        ("lead", f"{ages}, {heads}."),
        ("lead", lead),
        ("", f"{standing(pad)} {_scale_text(units)}"),
    ):
        for line in wrapped(said, most_em * 0.96):
            y += _LINE
            parts.append(text(1, y, line, kind))
    return parts, y


def _scale_text(units: str) -> str:
    """The scale, as people with a ruler read it."""
    if in_feet(units):
        return f"Scale 1:{SCALE}: 1 inch on paper is {SCALE / 12:.1f} ft."
    return f"Scale 1:{SCALE}: 1 cm on paper is {SCALE / 100:g} m."


def _main_plan(shape: PadShape, worked: Worked, frame: Frame, units: str) -> Iterator[str]:
    line, _ = outline(shape)
    yield path(frame.put(line), "pad")
    for concept, inner in frames_of(shape, frame):
        yield from plan(concept.layout, inner, _numbers(worked))
    if not shape.concepts:
        yield from _bare(shape, worked, frame)
    west, south, east, north = line.bounds
    yield from _size(frame, (west, north), (east, north), 2.0, units)
    yield from _size(frame, (east, north), (east, south), 2.0, units)
    layout = _layout_of(shape)
    if layout is not None and layout.ring_m > 0:
        ring_m = layout.ring_m
        inner_box = (west + ring_m, south + ring_m, east - ring_m, north - ring_m)
        yield from _size(
            frame, (inner_box[2], south), (inner_box[0], south), 3.3, units, "surfacing "
        )
        yield from _size(
            frame, (west, inner_box[1]), (west, inner_box[3]), 3.3, units, "surfacing "
        )


def _bare(shape: PadShape, worked: Worked, frame: Frame) -> Iterator[str]:
    """A pad that no layout is known for: its surfacing inside the ring, and a sentence."""
    line, _ = outline(shape)
    inner = line.buffer(-(worked.figure("ring_m") or 0.0), join_style="mitre")
    if not inner.is_empty:
        yield path(frame.put(inner), "surfacing")
    west, _, east, _ = line.bounds
    if east - west < _SAID_M:
        return  # the head of the sheet says it too
    middle = frame.put(line.centroid)
    why = "not all of it has room here." if worked.too_much else "no layout is known."
    for row, said in enumerate(("Areas alone:", why)):
        yield text(middle.x, middle.y + row * _LINE, said, "said", anchor="middle")


def _size(
    frame: Frame,
    start: tuple[float, float],
    end: tuple[float, float],
    off: float,
    units: str,
    what: str = "",
) -> Iterator[str]:
    """Length of a side, beside it on its left hand: a line with ticks, the text upright."""
    (x1, y1), (x2, y2) = shapely.get_coordinates(frame.put(LineString([start, end])))
    length = math.hypot(x2 - x1, y2 - y1)
    out_x, out_y = (y2 - y1) / length * off, -(x2 - x1) / length * off
    ends = [(x1 + out_x, y1 + out_y), (x2 + out_x, y2 + out_y)]
    yield path(LineString(ends), "size")
    for x, y in ends:
        yield path(
            LineString(
                [
                    (x - 0.5 * out_x / off, y - 0.5 * out_y / off),
                    (x + 0.5 * out_x / off, y + 0.5 * out_y / off),
                ]
            ),
            "size",
        )
    sides = pad_size_text(length / frame.scale, length / frame.scale, units)
    middle = ((ends[0][0] + ends[1][0]) / 2, (ends[0][1] + ends[1][1]) / 2)
    upright = abs(x2 - x1) < abs(y2 - y1)
    off_x, off_y = (-0.35, 0.0) if upright else (0.0, -0.35)
    x, y = middle[0] + off_x, middle[1] + off_y
    said = what + sides.split(" by ")[1]
    turn = -90.0 if upright else 0.0
    yield text(x, y, said, "head", anchor="middle", turned_deg=turn)


def _scale_bar(x: float, y: float, units: str) -> Iterator[str]:
    """Four boxes of a round length about a middle, with the scale."""
    unit_m, sign = (LENGTHS_M["ft"], "ft") if in_feet(units) else (1.0, "m")
    step = 10 if in_feet(units) else 2.5
    box_m = step * unit_m
    west = x - 2 * box_m
    for place in range(4):
        box = shapely.box(west + place * box_m, y, west + (place + 1) * box_m, y + 0.5)
        yield path(box, "light" if place % 2 else "dark")
    for place, said in ((0, "0"), (2, f"{2 * step:g}"), (4, f"{4 * step:g} {sign}")):
        yield text(west + place * box_m, y + 1.75, said, "head", anchor="middle")


def _others(
    shapes: Sequence[PadShape], worked: Worked, y: float, width: float, units: str
) -> tuple[list[str], float]:
    """Other shapes in small, two beside each other, all to one scale that is stated."""
    if not shapes:
        return [], y
    cell = (width - 4) / 2
    boxes = [outline(shape)[0].bounds for shape in shapes]
    longest = max(east - west for west, _, east, _ in boxes)
    scale = next((s for s in _SMALL if longest * s <= cell), _SMALL[-1])
    head = f"Other shapes of ground that hold it, 1:{SCALE / scale:g}"
    parts = [text(1, y, head, "head"), _rule(y + 0.6, width)]
    y += 1.8
    for start in range(0, len(shapes), 2):
        row = list(zip(shapes, boxes, strict=True))[start : start + 2]
        deepest = max((north - south) * scale for _, (_, south, _, north) in row)
        for place, (shape, (west, _, east, north)) in enumerate(row):
            left = 1 + place * (cell + 2)
            frame = Frame(left - west * scale, y + north * scale, scale)
            parts += _small_plan(shape, worked, frame)
            said = _captions(shape, units)
            parts += [
                text(left, y + deepest + (k + 0.9) * _LINE, fitted(line, cell / _LETTER), kind)
                for k, (line, kind) in enumerate(said)
            ]
            del east
        y += deepest + 3 * _LINE + 1.2
    return parts, y + 1.2


def _small_plan(shape: PadShape, worked: Worked, frame: Frame) -> Iterator[str]:
    yield path(frame.put(outline(shape)[0]), "pad-small")
    for concept, inner in frames_of(shape, frame):
        yield from sketch(concept.layout, inner, _numbers(worked))


def _captions(shape: PadShape, units: str) -> list[tuple[str, str]]:
    """Name, size and what proves it, a line each."""
    size = f"{pad_size_text(*shape.sides_m, units)}, {area_text(shape.area_m2, units)}"
    if shape.is_loose:
        far = distance_text(shape.most_apart_m, units)
        size = f"{area_text(shape.area_m2, units)}; up to {far} apart"
    proof = "proven the least of its kind" if shape.is_proven_least else "not proven the least"
    return [
        (shape.name, "head"),
        (size, ""),
        (proof if shape.concepts else "by area alone, no layout", "note"),
    ]


def _rule(y: float, width: float) -> str:
    return path(LineString([(1, y), (width - 1, y)]), "rule")


def _foot(pad: RequiredPad, y: float, most_em: float) -> tuple[list[str], float]:
    """What whoever reads the drawing must know."""
    parts = []
    for sentence in cautions(pad)[1:]:  # the first stands in the head
        for line in wrapped(sentence, most_em * 1.05):
            parts.append(text(1, y, line, "note"))
            y += 1.5
        y += 0.5
    return parts, y
