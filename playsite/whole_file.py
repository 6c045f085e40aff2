"""A file that is written whole or not at all: beside its place first, then it takes its name."""

from __future__ import annotations

import secrets
from typing import TYPE_CHECKING

from playsite.errors import InputError
from playsite.problems import Problem

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["write_whole"]


def write_whole(file: Path, text: str, what: str) -> None:
    """Write a text; lines end as they do in it.

    Parameters
    ----------
    what
        What it is, for the sentence that says that it can't be written.

    Raises
    ------
    InputError
        If it can't be written; what stood there is kept.
    """
    fresh = file.with_name(f".{file.name}.new-{secrets.token_hex(4)}")
    try:
        fresh.write_text(text, encoding="utf-8", newline="")
        fresh.replace(file)
    except OSError as error:
        fresh.unlink(missing_ok=True)
        said = f"{what} can't be written: {error.strerror or error}."
        remedy = "Close it where it is open, or name a file in a folder that can be written to."
        raise InputError([Problem(said, remedy, file=str(file))]) from None
