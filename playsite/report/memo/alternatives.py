"""Alternatives: a smaller program, one rule changed; others stand under who gains."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.report.binding import by_parcel, change_sentences
from playsite.report.memo.blocks import Bullets, Heading, Table
from playsite.report.memo.readings import rows_of
from playsite.report.memo.widths import shares
from playsite.report.people_units import area_text, pad_size_text
from playsite.report.plain_text import one_line

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playsite.report.memo.blocks import Block, Page
    from playsite.report.memo.readings import Readings

__all__ = ["alternatives", "changes_told"]

_MOST = 8


def changes_told(readings: Readings) -> list[tuple[str, str]]:
    """Give parcels that are too tight, and the one change that would let the play area fit."""
    result = readings.result
    changes, told = by_parcel(result.relaxations), []
    for site in rows_of(result.sites[result.sites["status"] == "does not fit"]):
        said = change_sentences(changes.get(str(site["parcel_id"]), []), result.study.units)
        if said:
            told.append((readings.title(site), said[0]))
        if len(told) == _MOST:
            break
    return told


def alternatives(readings: Readings, page: Page) -> Iterator[Block]:
    """Give what else could be done; nothing where the study can't tell."""
    result, units = readings.result, readings.result.study.units
    total = len(result.sites)
    smaller = [
        f"The program “{one_line(name)}” ({pad_size_text(pad.length_m, pad.width_m, units)}, "
        f"{area_text(pad.area_m2, units)}) fits on {int(result.fits_beside[name].sum()):,} of {total:,} parcels."
        for name, pad in result.beside.items()
    ]
    rows = changes_told(readings)
    if not (smaller or rows):
        return
    yield Heading("Alternatives")
    if smaller:
        yield Bullets(tuple(smaller), evidence=("P",))
    if rows:
        yield Table(
            "Parcels that are too tight, and the one change that would let the play area fit",
            ("Parcel", "What would have to change"),
            tuple(rows),
            shares(page, 0.3, 0.7),
            bold=(0,),
            evidence=("L",),
        )
