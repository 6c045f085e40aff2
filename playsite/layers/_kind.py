"""What a kind of layer is: the shapes it may have and the columns that are read from it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from playsite.problems import Finding, Weight

__all__ = ["ColumnKind", "LayerKind", "Settle", "Shape"]

Shape = Literal["point", "line", "polygon"]

Settle = Callable[[Any, list[Finding]], Any]
"""Works out derived columns of a GeoDataFrame; what it had to assume goes on the list."""


@dataclass(frozen=True)
class ColumnKind:
    """One column of a kind of layer.

    Parameters
    ----------
    name
        Our name for it; a length is kept as ``name_m`` (see ``column``).
    type
        ``"text"``, ``"number"`` (above 0: other numbers count as missing) or ``"flag"``.
    unit
        SI unit of a number, ``""`` for one that has none.
    words
        Words a text may hold; empty: any. For a flag: further words that mean yes.
    needed
        Whether a file without it is refused.
    if_missing
        Sentence that is said when a file has no such column.
    synonyms
        Other words that are read as one of ``words``.
    otherwise
        Word that an unknown word is read as; empty: missing.
    most
        A number above it is taken for a slip of units, and for missing.
    """

    name: str
    type: Literal["text", "number", "flag"] = "text"
    unit: str = ""
    words: tuple[str, ...] = ()
    needed: bool = False
    if_missing: str = ""
    synonyms: Mapping[str, str] = field(default_factory=dict)
    otherwise: str = ""
    most: float = float("inf")

    @property
    def column(self) -> str:
        """Name of the column in what is read.

        Examples
        --------
        >>> ColumnKind("height", "number", "m").column
        'height_m'
        """
        return f"{self.name}_{self.unit}" if self.unit else self.name


@dataclass(frozen=True)
class LayerKind:
    """One kind of layer.

    Parameters
    ----------
    name
        Word of the study file: ``[layers.NAME]``.
    shapes
        Shapes its features may have; none: it is a raster.
    plain
        What it is, in words.
    columns
        Columns that are read; others of the file are left alone.
    needed
        Whether a study without it is refused.
    if_absent
        Sentence that is said when a study has no such layer.
    absent_weight
        How loud that is.
    settle
        Works out derived columns.
    """

    name: str
    shapes: tuple[Shape, ...]
    plain: str
    columns: tuple[ColumnKind, ...] = ()
    needed: bool = False
    if_absent: str = ""
    absent_weight: Weight = "note"
    settle: Settle | None = None
