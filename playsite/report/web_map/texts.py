"""Texts for the page: in feet and in metres, each written once."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.report.people_units import UNITS

if TYPE_CHECKING:
    from collections.abc import Callable

    Said = str | list[str]

__all__ = ["Texts", "said"]


def said(text: Callable[[str], str]) -> Said:
    """Give one text, or the pair for feet and metres where they differ.

    Examples
    --------
    >>> said(lambda units: f"3 {units}"), said(lambda units: "none")
    (['3 feet', '3 metres'], 'none')
    """
    feet, metres = (text(units) for units in UNITS)
    return feet if feet == metres else [feet, metres]


class Texts:
    """A table of texts: one that stands a thousand times in a page is written once."""

    def __init__(self) -> None:
        self.all: list[Said] = []
        self._places: dict[str | tuple[str, ...], int] = {}

    def place(self, text: Said) -> int:
        """Give the place of a text in the table."""
        key = text if isinstance(text, str) else tuple(text)
        if key not in self._places:
            self._places[key] = len(self.all)
            self.all.append(text)
        return self._places[key]
