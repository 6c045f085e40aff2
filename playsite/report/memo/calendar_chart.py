"""The calendar drawn: a bar a step, its possible delay, and the deadlines as lines."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from playsite.report.ink import INK
from playsite.report.memo.blocks import Figure
from playsite.report.memo.inks import drawing, letter, pictures_of
from playsite.report.wording import date_text, joined

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from playsite.cost.calendar import Calendar

__all__ = ["calendar_figure"]

_ROW_MM, _HEAD_MM, _FOOT_MM, _NAMES_MM = 5.6, 3.0, 8.0, 52.0
_MOST_MARKS = 9


def calendar_figure(
    calendar: Calendar, deadlines: tuple[tuple[str, dt.date], ...], site: str, width_mm: float
) -> Figure:
    """Draw each step from its beginning to its end by even odds, and to its end by four in five."""
    steps = calendar.steps
    height_mm = _HEAD_MM + _FOOT_MM + _ROW_MM * len(steps)
    start = min([*(step.begins for step in steps), *(day for _, day in deadlines)])
    end = max([*(step.done_p80 for step in steps), *(day for _, day in deadlines)])
    with drawing(width_mm, height_mm) as figure:
        box = (_NAMES_MM / width_mm, _FOOT_MM / height_mm, (width_mm - _NAMES_MM - 4) / width_mm, _ROW_MM * len(steps) / height_mm)  # fmt: skip
        axes = figure.add_axes(box)
        axes.set_xlim(start.toordinal() - 10, end.toordinal() + 20)
        axes.set_ylim(len(steps) - 0.4, -0.6)
        axes.set_axis_off()
        _marks(axes, start, end, len(steps))
        for row, step in enumerate(steps):
            left, done, late = (day.toordinal() for day in (step.begins, step.done, step.done_p80))
            axes.barh(row, done - left, left=left, height=0.56, color=INK["overprint"], zorder=3)
            axes.barh(
                row, late - done, left=done, height=0.56, color=INK["overprint-wash"],
                edgecolor=INK["overprint"], linewidth=0.6, zorder=3,
            )  # fmt: skip
            letter(axes, axes.get_xlim()[0] - 4, row, step.name, ha="right", size=8)
        apply = {day for name, day in deadlines if name.endswith(": apply")}
        for day in dict.fromkeys(day for _, day in deadlines):
            axes.plot([day.toordinal()] * 2, [-0.6, len(steps) - 0.4], color=INK["ink"], linewidth=1.1, linestyle=(0, (3, 2)), zorder=4)  # fmt: skip
            letter(
                axes,
                day.toordinal() - 4,
                0,
                "apply" if day in apply else "deadline",
                ha="right",
                size=7.5,
                weight="bold",
                halo=True,
                zorder=5,
            )
        drawn = pictures_of(figure)
    opens, late_day = (date_text(day.isoformat()) for day in (calendar.opens, calendar.opens_p80))
    told = "; ".join(f"{step.name} until {date_text(step.done.isoformat())}" for step in steps)
    lines = joined([f"{name}, {date_text(day.isoformat())}" for name, day in deadlines])
    return Figure(
        drawn=drawn,
        width_mm=width_mm,
        height_mm=height_mm,
        alt=f"Calendar of {site}, a bar a step. {told}."
        + (f" Deadlines: {lines}." if lines else ""),
        finding=f"{site} could open by {opens} by even odds; plan for {late_day}.",
        key="Dark: by even odds; light: until done with four chances in five; broken line: a deadline.",
    )


def _marks(axes: Axes, start: dt.date, end: dt.date, rows: int) -> None:
    """Set the first of every so many months below the bars."""
    months = (end.year - start.year) * 12 + end.month - start.month + 1
    every = next(
        step
        for step in (1, 2, 3, 6, 12, 24, 60, 120)
        if months / step <= _MOST_MARKS or step == 120
    )
    for month in range(months + 1):
        year, number = divmod(start.month - 1 + month, 12)
        if number % every if every <= 12 else (number or (start.year + year) % (every // 12)):
            continue
        day = dt.date(start.year + year, number + 1, 1)
        at = day.toordinal()
        if not axes.get_xlim()[0] <= at <= axes.get_xlim()[1]:
            continue
        axes.plot([at, at], [-0.6, rows - 0.4], color=INK["out-hatch"], linewidth=0.4, zorder=1)
        letter(axes, at, rows + 0.25, f"{day:%b} {day.year}", ha="center", size=7.5, ink="ink-3")
