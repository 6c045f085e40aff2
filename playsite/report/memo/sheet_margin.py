"""The margin of a drawn map: neat line, scale bar and north, as on a printed sheet."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from matplotlib.patches import Polygon as Patch
from matplotlib.patches import Rectangle

from playsite.report.ink import INK
from playsite.report.memo.inks import letter
from playsite.report.people_units import in_feet
from playsite.units import LENGTHS_M

if TYPE_CHECKING:
    from playsite.report.memo.drawn_map import Sheet

__all__ = ["draw_margin", "draw_scale_bar"]

_BAR_MM = 52.0


def draw_margin(sheet: Sheet, *, bar_mm: float = _BAR_MM) -> None:
    """Neat line, scale bar of so much paper at the most, and north, as on a printed sheet."""
    left, low, right, high = sheet.window.bounds
    for inset_mm, width in ((0.4, 1.2), (1.3, 0.5)):
        off = sheet.ground_m(inset_mm)
        sheet.axes.add_patch(
            Rectangle(
                (left + off, low + off), right - left - 2 * off, high - low - 2 * off,
                fill=False, edgecolor=INK["ink"], linewidth=width, zorder=40,
            )
        )  # fmt: skip
    draw_scale_bar(sheet, right - sheet.ground_m(5), low + sheet.ground_m(4), bar_mm=bar_mm)
    _draw_north(sheet, right - sheet.ground_m(10), high - sheet.ground_m(20))


def draw_scale_bar(sheet: Sheet, right: float, low: float, *, bar_mm: float = _BAR_MM) -> None:
    """Set a scale bar of four boxes, its right end and its foot given in metres of ground."""
    unit_m, sign = (LENGTHS_M["ft"], "ft") if in_feet(sheet.units) else (1.0, "m")
    most = sheet.ground_m(bar_mm) / unit_m / 4
    power = 10 ** math.floor(math.log10(most))
    box = max(step * power for step in (1, 2, 2.5, 5) if step * power <= most)
    box_m, height = box * unit_m, sheet.ground_m(1.6)
    start = right - 4 * box_m - sheet.ground_m(6)
    background = Rectangle(
        (start - sheet.ground_m(4), low - sheet.ground_m(1)),
        4 * box_m + sheet.ground_m(13), sheet.ground_m(8), facecolor=INK["sheet"], alpha=0.85, zorder=41,
    )  # fmt: skip
    sheet.axes.add_patch(background)
    for number in range(4):
        face = INK["ink"] if number % 2 == 0 else INK["sheet"]
        sheet.axes.add_patch(
            Rectangle(
                (start + number * box_m, low), box_m, height,
                facecolor=face, edgecolor=INK["ink"], linewidth=0.7, zorder=42,
            )
        )  # fmt: skip
    for at, text in ((0, "0"), (2, f"{2 * box:,g}"), (4, f"{4 * box:,g} {sign}")):
        letter(
            sheet.axes, start + at * box_m, low + sheet.ground_m(4), text,
            size=8, weight="bold", ha="center", zorder=43,
        )  # fmt: skip


def _draw_north(sheet: Sheet, x: float, y: float) -> None:
    mm = sheet.ground_m(1)
    tip, tail = (x, y + 9 * mm), (x, y + 1.8 * mm)
    for side, face in ((-1, "ink"), (1, "sheet")):
        needle = Patch(
            [tip, (x + side * 2.2 * mm, y), tail],
            facecolor=INK[face], edgecolor=INK["ink"], linewidth=0.7, zorder=42,
        )  # fmt: skip
        sheet.axes.add_patch(needle)
    letter(
        sheet.axes, x, y + 11.2 * mm, "N", size=9, weight="bold", ha="center", halo=True, zorder=42
    )
