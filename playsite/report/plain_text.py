"""Text from somebody's file, made fit for paper."""

from __future__ import annotations

import unicodedata

__all__ = ["one_line"]

_LONGEST = 2000
_UNSEEN = {"Cc", "Cf", "Cs", "Cn"}  # control, format, half characters, not assigned
_JOINERS = "\u200c\u200d"  # of letters in Persian, Hindi and others


def one_line(text: object, longest: int = _LONGEST) -> str:
    r"""Text that paper can hold: one line, no control or direction marks, not endless.

    A name comes from somebody's file: a bell in it would break the document's XML, a mark that
    turns the direction of writing would make it read as another.

    Examples
    --------
    >>> one_line("Mill\x00 Lane\n green\u202e")
    'Mill Lane green'
    """
    kept = "".join(
        " " if character.isspace() else character
        for character in str(text)
        if character.isspace()
        or character in _JOINERS
        or unicodedata.category(character) not in _UNSEEN
    )
    line = " ".join(kept.split())
    return line if len(line) <= longest else line[: longest - 1] + "…"
