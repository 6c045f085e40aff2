"""Widths of columns."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from playsite.report.memo.blocks import Page

__all__ = ["shares"]


def shares(page: Page, *parts: float) -> tuple[float, ...]:
    """Widths in millimetres that fill a line of text, in these proportions."""
    return tuple(page.text_mm * part / sum(parts) for part in parts)
