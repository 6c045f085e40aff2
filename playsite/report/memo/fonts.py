"""Fonts that come with the packages that playsite needs: free, with their licences beside them."""

from __future__ import annotations

from functools import cache
from importlib import resources
from pathlib import Path

import matplotlib as mpl
from matplotlib.font_manager import fontManager

__all__ = ["MARKS", "PDF_SANS", "PDF_SERIF", "font_folders", "known_to_drawings"]

PDF_SANS, PDF_SERIF = "Source Sans Pro", "Source Serif Pro"
"""Families of the PDF and of all drawings; figures of both are tabular as they come."""

MARKS = "DejaVu Sans"
"""Has the marks of the words (disc, half disc, ring); it comes with matplotlib."""

_PACKAGES = ("font_source_sans_pro", "font_source_serif_pro")
_CUTS = ("Regular", "Bold", "It", "BoldIt")


@cache
def font_folders() -> tuple[Path, ...]:
    """Folders of the fonts that a PDF is set in, on every machine the same."""
    own = [Path(str(resources.files(package))) / "files" for package in _PACKAGES]
    return (*own, Path(mpl.get_data_path()) / "fonts" / "ttf")


@cache
def known_to_drawings() -> None:
    """Make the families known to matplotlib, once."""
    for folder in font_folders()[:-1]:
        for cut in _CUTS:
            for file in sorted(folder.glob(f"*-{cut}.ttf")):
                fontManager.addfont(str(file))
