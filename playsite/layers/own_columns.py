"""Files whose columns already have our names and words, as the single steps read them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import geopandas as gpd
import pandas as pd

from playsite.errors import InputError
from playsite.layers._words import allowed_words, flag_of, number_of, text_of, word_of
from playsite.problems import Problem

if TYPE_CHECKING:
    from playsite.layers._kind import ColumnKind, LayerKind

__all__ = ["own_columns"]

_DTYPES: dict[str, Any] = {"text": "str", "number": float, "flag": "boolean"}


def own_columns(rows: gpd.GeoDataFrame, kind: LayerKind) -> gpd.GeoDataFrame:
    """Give rows the columns of a kind of layer; one that the file doesn't have is missing all through.

    Parameters
    ----------
    rows
        As read from a file.
    kind
        What they are.

    Raises
    ------
    InputError
        A word is not one of ours; names the words of each such column.
    """
    wrong: list[Problem] = []
    ours = {column.column: _read(rows, column, kind, wrong) for column in kind.columns}
    if wrong:
        raise InputError(wrong)
    frame = gpd.GeoDataFrame(ours, geometry=rows.geometry.to_numpy(), crs=rows.crs)
    settled: gpd.GeoDataFrame = frame if kind.settle is None else kind.settle(frame, [])
    return settled


def _read(
    rows: gpd.GeoDataFrame, column: ColumnKind, kind: LayerKind, wrong: list[Problem]
) -> pd.Series[Any]:
    name = next((name for name in (column.column, column.name) if name in rows), None)
    if name is None:
        texts: list[str | None] = [None] * len(rows)
        unmapped: pd.Series[Any] = pd.Series(texts, dtype=_DTYPES[column.type])
        return unmapped
    texts = [text_of(value) for value in rows[name]]
    if column.type == "number":
        return pd.Series([number_of(text, column, 1.0) for text in texts], dtype=float)
    to_word = flag_of if column.type == "flag" else word_of
    read = [to_word(text, column) for text in texts]
    unread = {t for t, r in zip(texts, read, strict=True) if t is not None and r is None}
    if unread and not column.otherwise:
        said = ", ".join(f'"{word}"' for word in sorted(unread)[:5])
        remedy = f"Give one of: {', '.join(allowed_words(column))}."
        wrong.append(Problem(f'{kind.name}, column "{name}": not known here: {said}.', remedy))
    told = [column.otherwise if t in unread else r for t, r in zip(texts, read, strict=True)]
    return pd.Series([None if r == "" else r for r in told], dtype=_DTYPES[column.type])
