"""The map: one HTML file that asks nobody for anything, made with folium, drawn with Leaflet."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from playsite.report.web_map.page import page_html

if TYPE_CHECKING:
    from pathlib import Path

    from playsite.result import Result

__all__ = ["map_html", "notebook_html", "write_map"]


def map_html(result: Result) -> str:
    """Give the whole page of the map as text.

    Everything that comes from the study is text in it, whatever it looks like: names are escaped
    in the page, and shown by the page's script as text nodes only.
    """
    return page_html(result)


def write_map(result: Result, path: Path) -> None:
    """Write the map to ``path`` as one file that works without a network."""
    path.write_text(map_html(result), encoding="utf-8", newline="\n")


def notebook_html(result: Result) -> str:
    """Give the map for a notebook: a frame of its own, from which no script reaches the notebook."""
    return (
        '<iframe title="Map of the study" sandbox="allow-scripts allow-modals" '
        'style="width:100%;height:800px;border:0" '
        f'srcdoc="{escape(map_html(result), quote=True)}"></iframe>'
    )
