"""What the memo says, in order: a short body, a sheet for each site of the short list, an appendix.

A part with nothing to say is left out.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.report.memo.alternatives import alternatives
from playsite.report.memo.appendix import appendix
from playsite.report.memo.background import background
from playsite.report.memo.ballots import residents
from playsite.report.memo.blocks import Heading
from playsite.report.memo.evidence import cited
from playsite.report.memo.evidence_of_study import entries_of
from playsite.report.memo.firm import how_firm
from playsite.report.memo.ground_table import ground
from playsite.report.memo.land import land
from playsite.report.memo.limits import limits
from playsite.report.memo.method import method
from playsite.report.memo.money import money
from playsite.report.memo.need import need
from playsite.report.memo.next_steps import next_steps
from playsite.report.memo.opening import opening
from playsite.report.memo.program import program
from playsite.report.memo.readings import Readings
from playsite.report.memo.results import results
from playsite.report.memo.site_sheet import site_sheet
from playsite.report.memo.timetable import timetable
from playsite.report.memo.visits import visits

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playsite.report.memo.blocks import Block, Page
    from playsite.result import Result

__all__ = ["memo_blocks"]

_BODY = (
    opening,
    background,
    program,
    land,
    method,
    results,
    how_firm,
    ground,
    need,
    money,
    residents,
    visits,
    timetable,
    alternatives,
    limits,
    next_steps,
)


def memo_blocks(result: Result, page: Page) -> list[Block]:
    """Give every block of the memo, first to last."""
    readings = Readings(result)
    entries = entries_of(readings)
    blocks: list[Block] = []
    for part in _BODY:
        blocks.extend(part(readings, page))
    blocks.extend(_sheets(readings, page))
    blocks.extend(appendix(readings, page, entries))
    return list(cited(blocks, entries))


def _sheets(readings: Readings, page: Page) -> Iterator[Block]:
    if readings.short_list:
        yield Heading("Site sheets", new_page=True)
    for number, site in enumerate(readings.short_list):
        yield from site_sheet(readings, site, page, is_first=number == 0)
