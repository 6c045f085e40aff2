"""Limits: the cautions, what was assumed, and what was noticed in the data."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.report.memo.blocks import Bullets, Heading, Table
from playsite.report.memo.widths import shares
from playsite.report.people_units import area_text, line_error_text, pad_size_text
from playsite.report.plain_text import one_line
from playsite.report.wording import data_dates, in_readers_units, percent_text
from playsite.result import CAUTIONS

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from playsite.problems import Finding
    from playsite.report.memo.blocks import Block, Page
    from playsite.report.memo.readings import Readings
    from playsite.result import Result

__all__ = ["findings_table", "in_units", "limits"]


def limits(readings: Readings, page: Page) -> Iterator[Block]:
    """Say what this is not, what it rests on, and what the data left open."""
    yield Heading("Limits and cautions")
    yield Bullets(CAUTIONS)
    yield from _assumptions(readings)
    yield from _noticed(readings, page)


def _assumptions(readings: Readings) -> Iterator[Block]:
    result = readings.result
    study, pad = result.study, result.pad
    size = pad_size_text(pad.length_m, pad.width_m, study.units)
    why = in_readers_units(pad.why, study.units).rstrip(".")
    items = [
        f"The play area is {size} ({area_text(pad.area_m2, study.units)}): {why}.",
        f"Kept clear: {in_readers_units(study.setbacks, study.units)}." if study.setbacks else "",
        f"Lot lines on the map {line_error_text(study.line_error_m, study.units)}. Only a boundary survey settles them.",
        _whose_weights(result),
        f"A site is ranked only where at least {percent_text(study.least_known_pct)} of the weight could be measured.",
        data_dates(result, tuple(dict.fromkeys(result.layers["kind"]))),
    ]
    yield Heading("What was assumed", 2)
    yield Bullets(tuple(item for item in items if item), evidence=("A", "P", "D"))


def _whose_weights(result: Result) -> str:
    if len(result.members):
        return f"The weights are the medians of those that {len(result.members)} members of a working group gave."
    return (
        f"The weights are those of the {result.study.profile} profile."
        if result.study.profile
        else ""
    )


def _noticed(readings: Readings, page: Page) -> Iterator[Block]:
    said = [f for f in readings.result.findings if f.weight in {"loud", "caution"}]
    said.sort(key=lambda finding: finding.weight != "loud")
    if said:
        yield Heading("What was noticed in the data", 2)
        yield findings_table(said, readings.result, page)


def findings_table(findings: Sequence[Finding], result: Result, page: Page) -> Table:
    """Set findings of the gate: what was noticed, what was done, what is left to do."""
    rows = tuple(
        (
            finding.layer.replace("_", " "),
            in_units(
                f"{finding.what}{f' ({finding.where})' if one_line(finding.where) else ''}", result
            ),
            in_units(finding.done, result),
            in_units(finding.remedy, result),
        )
        for finding in findings
    )
    return Table(
        "What was noticed in the data, what was done, and what is left to do",
        ("Layer", "Noticed", "Done about it", "Left to do"),
        rows,
        shares(page, 0.13, 0.37, 0.25, 0.25),
        evidence=("D",),
    )


def in_units(text: str, result: Result) -> str:
    """Text of a finding in the reader's units."""
    return in_readers_units(text, result.study.units)
