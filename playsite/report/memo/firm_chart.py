"""Chart of rank shares: one bar a site, stacked to 100, first to lower."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.report.ink import INK
from playsite.report.memo.inks import drawing, letter, pictures_of

if TYPE_CHECKING:
    from playsite.report.firm_facts import FirmFacts
    from playsite.report.memo.blocks import Drawn

__all__ = ["shares_pictures"]

_SITES, _ROW_MM, _EDGE_MM = 10, 6.0, 1.5
_INKS = ("score-5", "score-4", "score-3", "score-2", "score-1", "sheet")
_LIGHT_ON = {"score-5", "score-4", "score-3"}
_NAMES = ("1st", "2nd", "3rd", "4th", "5th", "lower")
_LEAST_DRAWN, _LEAST_SAID = 0.005, 0.05


def shares_pictures(facts: FirmFacts, width_mm: float) -> tuple[Drawn, float]:
    """Pictures and their height in millimetres."""
    shares, names = dict(list(facts.shares.items())[:_SITES]), facts.names
    height_mm = 2 * _EDGE_MM + _ROW_MM * len(shares)
    with drawing(width_mm, height_mm) as figure:
        at = (20 / width_mm, _EDGE_MM / height_mm, (width_mm - 24) / width_mm,
              _ROW_MM * len(shares) / height_mm)  # fmt: skip
        axes = figure.add_axes(at)
        axes.set_xlim(0, 1)
        axes.set_ylim(len(shares) - 0.4, -0.6)
        axes.set_axis_off()
        named: set[str] = set()
        for place, (parcel, told) in enumerate(shares.items()):
            letter(axes, -0.01, place, names[parcel], ha="right", weight="bold")
            left = 0.0
            for share, ink, name in zip([*told, max(0, 1 - sum(told))], _INKS, _NAMES, strict=True):
                if share < _LEAST_DRAWN:
                    continue
                axes.barh(
                    place, share, left=left, height=0.66, color=INK[ink],
                    edgecolor=INK["overprint-deep"], linewidth=0.5,
                )  # fmt: skip
                if share >= _LEAST_SAID:
                    first = name if name not in named else ""
                    named.add(name)
                    said = f"{first} {100 * share:.0f}".strip()
                    over = "sheet" if ink in _LIGHT_ON else "ink"
                    letter(axes, left + share / 2, place, said, ink=over, size=7.5, ha="center")
                left += share
        return pictures_of(figure), height_mm
