"""Letters, sizes and lines of the memo, each named once for all that write it."""

from __future__ import annotations

from typing import Any

from playsite.report.ink import SANS, SERIF

__all__ = ["STYLES", "STYLE_OF"]

STYLE_OF = {
    "body": "Body Text",
    "title": "Title",
    "judgment": "Judgment",
    "score": "Score",
    "note": "Note",
}
"""Style of each kind of paragraph."""

STYLES: dict[str, dict[str, Any]] = {
    "Normal": {"font": SANS, "size": 9.5, "after": 4, "leading": 1.15},
    "Body Text": {"size": 9.5, "after": 5, "leading": 1.15},
    "Title": {"font": SERIF, "size": 19, "bold": True, "after": 4, "keep": True},
    "Judgment": {"font": SERIF, "size": 11.5, "after": 7, "leading": 1.1},
    "Score": {"size": 9.5, "after": 4, "keep": True},
    "Note": {"size": 8.2, "ink": "ink-3", "after": 4},
    "Heading 1": {"font": SERIF, "size": 15, "bold": True, "before": 14, "after": 5, "keep": True},
    "Heading 2": {"font": SERIF, "size": 11.5, "bold": True, "before": 9, "after": 3, "keep": True},
    "Heading 3": {"font": SANS, "size": 9, "bold": True, "before": 7, "after": 3, "keep": True, "rule": "bottom"},
    "Caption": {"size": 8.2, "ink": "ink-2", "before": 3, "after": 9},
    "Header": {"size": 8, "ink": "ink-2", "after": 0, "rule": "bottom"},
    "Footer": {"size": 7.5, "ink": "ink-3", "after": 0, "rule": "top"},
    "Table Text": {"size": 8.2, "after": 1.5, "before": 1.5},
    "Evidence Text": {"size": 7.5, "after": 0.3, "before": 0.3, "leading": 1.0},
    "Table Head": {"size": 8.2, "bold": True, "ink": "ink-2", "after": 1.5, "before": 1.5, "keep": True},
    "Table Caption": {"size": 8.2, "ink": "ink-2", "before": 4, "after": 2, "keep": True},
    "After Table": {"size": 3, "after": 0},
    "Picture": {"size": 9, "after": 0, "before": 4, "keep": True},
    "List Bullet": {"size": 9, "after": 2.5, "leading": 1.1},
    "Callout": {"size": 9.5, "ink": "caution", "after": 5, "before": 3, "wash": "caution"},
}  # fmt: skip
"""Styles by name; sizes and spaces in points."""
