"""Ballots drawn: one bar a site, by approval or by points for place."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.report.firm_facts import rows_of
from playsite.report.ink import INK
from playsite.report.memo.blocks import Figure
from playsite.report.memo.inks import drawing, letter, pictures_of
from playsite.report.wording import is_missing, joined

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from playsite.ranking.ballots import Count

__all__ = ["ballot_figure"]

_MOST, _ROW_MM, _EDGE_MM, _NAMES_MM = 12, 5.6, 2.0, 20.0
_WAYS = {"approvals": "approve it", "points": "points for place"}


def ballot_figure(count: Count, names: Mapping[str, str], width_mm: float) -> Iterator[Figure]:
    """Draw the first count that there is; nothing where no site has any."""
    table = count.table.reset_index()
    column = next((each for each in _WAYS if table[each].notna().any()), None)
    if column is None or not float(table[column].max()) > 0:
        return
    best = table.sort_values(column, ascending=False, kind="stable").head(_MOST)
    bars = [
        (names[str(row["index"])], float(row[column]))
        for row in rows_of(best)
        if not is_missing(row[column])
    ]
    height_mm = 2 * _EDGE_MM + _ROW_MM * len(bars)
    with drawing(width_mm, height_mm) as figure:
        box = (_NAMES_MM / width_mm, _EDGE_MM / height_mm, (width_mm - _NAMES_MM - 14) / width_mm, _ROW_MM * len(bars) / height_mm)  # fmt: skip
        axes = figure.add_axes(box)
        axes.set_xlim(0, max(value for _, value in bars))
        axes.set_ylim(len(bars) - 0.4, -0.6)
        axes.set_axis_off()
        for row, (name, value) in enumerate(bars):
            axes.barh(row, value, height=0.6, color=INK["overprint"])
            letter(axes, -0.01 * axes.get_xlim()[1], row, name, ha="right", weight="bold")
            letter(axes, value + 0.01 * axes.get_xlim()[1], row, _plain(value))
        drawn = pictures_of(figure)
    told = joined([f"{name} {_plain(value)}" for name, value in bars])
    first = [name for name, value in bars if value == bars[0][1]]
    verb = "has" if len(first) == 1 else "have"
    yield Figure(
        drawn=drawn,
        width_mm=width_mm,
        height_mm=height_mm,
        alt=f"Bars of ballots, {_WAYS[column]}: {told}.",
        finding=f"{joined(first)} {verb} most by {'approval' if column == 'approvals' else 'points for place'}.",
        key=f"All ballots: {_WAYS[column]}. People chose to answer; this is no sample of the town.",
    )


def _plain(value: float) -> str:
    return f"{value:,.1f}".removesuffix(".0")
