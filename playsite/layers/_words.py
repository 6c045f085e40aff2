"""Single values: texts, words, flags and numbers of the user's file, in our words and units."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from playsite.units import metres

if TYPE_CHECKING:
    from playsite.layers._kind import ColumnKind

__all__ = ["allowed_words", "flag_of", "number_of", "text_of", "word_of"]

_YES = ("yes", "true", "t", "y", "1")
_NO = ("no", "false", "f", "n", "0")


def allowed_words(column: ColumnKind) -> tuple[str, ...]:
    """Words that a study may map others to; empty: any."""
    return ("yes", "no") if column.type == "flag" else column.words


def text_of(value: Any) -> str | None:
    """Text of any value; None where it is missing or blank.

    Examples
    --------
    >>> text_of(12.0), text_of(" a "), text_of(""), text_of(None), text_of(True)
    ('12', 'a', None, None, 'yes')
    """
    if isinstance(value, (bool, np.bool_)):
        return "yes" if value else "no"
    if value is None or value is pd.NA or value is pd.NaT:
        return None
    if isinstance(value, (float, np.floating)):
        if np.isnan(value):
            return None
        return str(int(value)) if float(value).is_integer() else str(value)
    return str(value).strip() or None


def word_of(text: str | None, column: ColumnKind) -> str | None:
    """Our word for a text, ``""`` where it says that nothing is known, None where it is not ours."""
    if text is None or not column.words:
        return text
    lower = text.lower()
    ours = {word.lower(): word for word in column.words}
    return ours.get(lower, column.synonyms.get(lower))


def flag_of(text: str | None, column: ColumnKind) -> bool | None:
    """Whether a text means yes; None where it means neither yes nor no."""
    if text is None:
        return None
    if text.lower() in (*_YES, *column.words):
        return True
    return False if text.lower() in _NO else None


def number_of(text: str | None, column: ColumnKind, factor: float) -> float:
    """Read a number; a length may carry its own unit, as OpenStreetMap's do; NaN where it is none."""
    if text is None:
        return np.nan
    try:
        return float(text) * factor
    except ValueError:
        pass
    try:
        return metres(text) if column.unit else np.nan
    except ValueError:
        return np.nan
