"""An office's letterhead: a Word document whose head, foot and margins the memo takes."""

from __future__ import annotations

import zipfile
from typing import TYPE_CHECKING, Any

from docx import Document
from docx.opc.exceptions import PackageNotFoundError
from docx.oxml.ns import qn

from playsite.errors import InputError
from playsite.problems import Problem

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["opened_letterhead"]


def opened_letterhead(file: Path) -> Any:
    """Open a letterhead and take out its body; the settings of its page stay.

    Raises
    ------
    InputError
        If it is no Word document.
    """
    try:
        document = Document(str(file))
    except (PackageNotFoundError, zipfile.BadZipFile, OSError, KeyError, ValueError):
        said = "The letterhead can't be opened as a Word document."
        remedy = "Save it as .docx (not .doc or .dotx), or leave [study] letterhead out."
        raise InputError([Problem(said, remedy, file=str(file))]) from None
    body = document.element.body
    for child in list(body):
        if child.tag != qn("w:sectPr"):  # the last one: page, margins, head and foot
            body.remove(child)
    return document
