"""Who will play and what they need: pieces and their zones, shapes of ground, programs side by side."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.report.memo.blocks import Bullets, Heading, Table
from playsite.report.memo.footprint import footprint
from playsite.report.people_units import area_text, distance_text, pad_size_text
from playsite.report.plain_text import one_line
from playsite.report.program_facts import cautions, proof_text
from playsite.report.wording import joined

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playsite.program import RequiredPad
    from playsite.program.use_zones import UseZone
    from playsite.report.memo.blocks import Block, Page
    from playsite.report.memo.readings import Readings
    from playsite.result import Result

__all__ = ["piece_cells", "program"]


def program(readings: Readings, page: Page) -> Iterator[Block]:
    """Say the program; nothing where a study gives only the sides of its pad."""
    result = readings.result
    worked, units = result.pad.worked, result.study.units
    if worked is None or not (worked.pieces or worked.areas.children):
        return
    yield Heading("Who will play, and what they need")
    yield from footprint(readings, page)
    if worked.zones:
        yield Table(
            "The equipment, each piece with its use zone",
            ("Equipment", "Ages", "Use zone", "Fall height"),
            tuple(piece_cells(zone, units) for zone in worked.zones),
            tuple(page.text_mm * share for share in (0.37, 0.13, 0.3, 0.2)),
            evidence=("P",),
        )
    yield Table(
        "Shapes of ground that hold it",
        ("Shape", "Size", "Area", "What shows it"),
        tuple(
            (
                shape.name,
                pad_size_text(*shape.sides_m, units),
                area_text(shape.area_m2, units),
                proof_text(shape),
            )
            for shape in result.pad.shapes
        ),
        tuple(page.text_mm * share for share in (0.26, 0.22, 0.17, 0.35)),
        evidence=("P",),
    )
    if result.beside:
        yield _beside(result, page)
    yield Bullets(tuple(cautions(result.pad)), evidence=("P",))


def piece_cells(zone: UseZone, units: str) -> tuple[str, ...]:
    """Name, ages, use zone and fall height of a piece."""
    left, low, right, high = zone.square.bounds
    fall = "not known" if zone.fall_height_m is None else distance_text(zone.fall_height_m, units)
    size = pad_size_text(right - left, high - low, units)
    return one_line(zone.piece.label), zone.piece.ages, size, fall


def _beside(result: Result, page: Page) -> Table:
    """Programs side by side, and on how many parcels each fits."""
    total = len(result.sites)
    own = int((~result.sites["status"].eq("does not fit")).sum())
    rows = [_program("The study's own", result.pad, own, total, result.study.units)]
    rows += [
        _program(
            one_line(name), pad, int(result.fits_beside[name].sum()), total, result.study.units
        )
        for name, pad in result.beside.items()
    ]
    return Table(
        "Programs side by side",
        ("Program", "Pad", "Children at once", "Accessible by count", "Fits on"),
        tuple(rows),
        tuple(page.text_mm * share for share in (0.2, 0.22, 0.15, 0.25, 0.18)),
        evidence=("P",),
    )


def _program(name: str, pad: RequiredPad, fits: int, total: int, units: str) -> tuple[str, ...]:
    worked = pad.worked
    children = worked.areas.children if worked else None
    short = worked.access.short if worked else ()
    return (
        name,
        f"{pad_size_text(pad.length_m, pad.width_m, units)}, {area_text(pad.area_m2, units)}",
        "not given" if children is None else f"{children:,}",
        joined(short) if short else "nothing is short",
        f"{fits:,} of {total:,} parcels",
    )
