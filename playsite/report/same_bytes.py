"""Office files without the time of writing: equal contents give equal bytes."""

from __future__ import annotations

import re
import zipfile
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import io
    from pathlib import Path

__all__ = ["save_alike"]

_MODIFIED = re.compile(rb"(<dcterms:modified[^>]*>)[^<]*")


def save_alike(made: io.BytesIO, path: Path, *, made_on: bytes | None = None) -> None:
    """Write a container of parts with one time for all of them, which the format keeps of each.

    Parameters
    ----------
    made_on
        Day that stands as the time of the last change, where the maker puts in the present one.
    """
    with zipfile.ZipFile(made) as parts, zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as fixed:
        for name in parts.namelist():
            entry = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
            entry.compress_type = (
                zipfile.ZIP_STORED if name.endswith(".png") else zipfile.ZIP_DEFLATED
            )
            part = parts.read(name)
            if made_on and name == "docProps/core.xml":
                part = _MODIFIED.sub(rb"\g<1>" + made_on + b"T00:00:00Z", part)
            fixed.writestr(entry, part)
