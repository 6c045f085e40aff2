"""What the data gate found, in lines for a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.report.people_units import in_readers_units

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    import pandas as pd

    from playsite.problems import Finding

__all__ = ["gate_lines"]

_HEADS = {
    "loud": "Loud: these stand on map and memo",
    "caution": "Cautions: look at these",
    "note": "Notes",
}


def gate_lines(
    title: str, sources: pd.DataFrame, findings: Sequence[Finding], units: str
) -> Iterator[str]:
    """Report of the gate: layers read, then what was noticed, the loudest first.

    Parameters
    ----------
    title
        Of the study.
    sources
        Columns ``kind``, ``path``, ``date``, ``features``.
    findings
        What was noticed.
    units
        What the study's people read.
    """
    yield title
    yield ""
    yield "Layers"
    for row in sources.to_dict("records"):
        date = f", {row['date']}" if row["date"] else ", of unknown date"
        count = row["features"]
        features = "" if count is None or count != count else f", {count} features"  # noqa: PLR0124
        yield f"  {row['kind']}: {row['path']}{features}{date}"
    for weight, head in _HEADS.items():
        own = [finding for finding in findings if finding.weight == weight]
        if own:
            yield ""
            yield head
            yield from (f"  - {in_readers_units(str(finding), units)}" for finding in own)
    yield ""
    yield "Nothing stops this study."
