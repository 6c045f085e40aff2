"""Values of one column of the user's file, in our words and units; what can't be read is told."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from playsite.layers._notes import listed
from playsite.layers._words import allowed_words, flag_of, number_of, text_of, word_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from playsite.layers._columns import Picked
    from playsite.layers._notes import Notes

__all__ = ["to_ours"]

_DTYPES: dict[str, Any] = {"text": "str", "number": float, "flag": "boolean"}


def to_ours(rows: Any, picked: Picked, kind: str, label: str, notes: Notes) -> Any:
    """Read one of our columns out of a file's rows.

    Parameters
    ----------
    rows
        Rows of the file.
    picked
        Which column it is.
    kind, label
        For what is said: kind of layer, file.
    notes
        Takes what could not be read.

    Returns
    -------
    Series
        Text, number in our unit or flag (boolean); missing where the file has none.
    """
    column = picked.column
    if not picked.theirs:
        return pd.Series(picked.constant, index=rows.index, dtype=_DTYPES[column.type])
    texts = [text_of(value) for value in rows[picked.theirs]]
    texts = [None if text is None else picked.words.get(text, text) for text in texts]
    if column.type == "number":
        read: list[Any] = [number_of(text, column, picked.factor) for text in texts]
        unread = [t for t, r in zip(texts, read, strict=True) if t is not None and np.isnan(r)]
        _say_unread(unread, picked, kind, label, notes)
        return _sound(pd.Series(read, index=rows.index, dtype=float), picked, kind, label, notes)
    to_word = flag_of if column.type == "flag" else word_of
    read = [to_word(text, column) for text in texts]
    unknown = [t is not None and r is None for t, r in zip(texts, read, strict=True)]
    _say_unread([t for t, u in zip(texts, unknown, strict=True) if u], picked, kind, label, notes)
    read = [column.otherwise if u else r for r, u in zip(read, unknown, strict=True)]
    blank = {"": None}
    return pd.Series([blank.get(r, r) for r in read], index=rows.index, dtype=_DTYPES[column.type])


def _sound(numbers: Any, picked: Picked, kind: str, label: str, notes: Notes) -> Any:
    """Numbers that can be: above 0, and not so large that a unit must have slipped."""
    column = picked.column
    low, high = numbers <= 0, numbers > column.most
    if high.any():
        most = f"{column.most:g} {column.unit}".rstrip()
        notes.finding(
            kind,
            f'{label}, column "{picked.theirs}": over {most}, which can\'t be: {int(high.sum())}.',
            "They are taken as missing.",
            "Look at the unit of the column.",
            where=f"features {listed(numbers.index[high])}",
            count=int(high.sum()),
            weight="caution",
        )
    if low.any():
        notes.finding(
            kind,
            f'{label}, column "{picked.theirs}": 0 or less: {int(low.sum())}.',
            "They are taken as missing.",
            count=int(low.sum()),
        )
    return numbers.where(~low & ~high & np.isfinite(numbers))


def _say_unread(
    unread: Sequence[str | None], picked: Picked, kind: str, label: str, notes: Notes
) -> None:
    if not unread:
        return
    column = picked.column
    taken = f'"{column.otherwise}"' if column.otherwise else "missing"
    if column.type == "number":
        what, remedy = "not a number", "Look at them in the file."
    else:
        known = ", ".join(allowed_words(column))
        what = "not known here"
        remedy = f'Say what they mean under values.{column.name}: "theirs" = "ours" ({known}).'
    notes.finding(
        kind,
        f'{label}, column "{picked.theirs}": {what}: {len(unread)}.',
        f"They are taken as {taken}.",
        remedy,
        where=listed(f'"{word}" {count}x' for word, count in Counter(unread).most_common()),
        count=len(unread),
        weight="caution",
    )
