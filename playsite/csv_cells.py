"""Text in a cell of a CSV file: what a spreadsheet would take for a formula is kept as text.

A spreadsheet takes text that begins with = + - or @ for a formula. Text that could start one gets
one apostrophe in front, which keeps it text; take it away to have the original back. Text that
begins with + or - and goes on with letters, digits, blanks and ``. , / -`` alone can't call
anything and stays as it is: a parcel id "-5" comes back as "-5".
"""

from __future__ import annotations

import re

__all__ = ["guarded", "storable", "unguarded"]

_FORMULA = re.compile(r"'*(?:[=@\t\r]|[+-](?![\w\s.,/-]*\Z))")


def guarded(text: str) -> str:
    """Text as it is safe in a cell.

    Examples
    --------
    >>> guarded("=1+1"), guarded("-5"), guarded("Mill Lane")
    ("'=1+1", '-5', 'Mill Lane')
    """
    text = storable(text)
    return f"'{text}" if _FORMULA.match(text) else text


def unguarded(text: str) -> str:
    """Text of a cell as it was before it was guarded.

    Examples
    --------
    >>> unguarded("'=1+1"), unguarded("'tis")
    ('=1+1', "'tis")
    """
    return text[1:] if text.startswith("'") and _FORMULA.match(text) else text


def storable(text: str) -> str:
    """Text that UTF-8 can hold: half a character, as broken files bring it, becomes its code."""
    return text.encode("utf-8", "backslashreplace").decode("utf-8")
