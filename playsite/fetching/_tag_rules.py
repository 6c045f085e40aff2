"""How tags of OpenStreetMap are read: rules of layers and columns, and single values."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from playsite.layers import KINDS
from playsite.units import metres

__all__ = [
    "HOURS",
    "NAME",
    "PUBLIC",
    "WHEELCHAIR",
    "ColumnRule",
    "TagKind",
    "Tags",
    "access_of",
    "length",
    "length_m",
    "number",
    "our_words",
    "text",
    "tonnes",
]

Tags = Mapping[str, str]


@dataclass(frozen=True)
class ColumnRule:
    """One of our columns, and the tags that it is read from."""

    name: str
    keys: tuple[str, ...]
    read: Callable[[Tags], Any]


@dataclass(frozen=True)
class TagKind:
    """How one kind of layer is read out of tags.

    Parameters
    ----------
    tags
        Key to values; an empty tuple: any value.
    shapes
        Geometries that are kept.
    columns
        Our columns, in our words and units.
    keeps
        A further condition, and what it is in words.
    is_line
        Whether a closed way of these tags is the line itself, not the ground inside it.
    """

    tags: Mapping[str, tuple[str, ...]]
    shapes: tuple[str, ...]
    columns: tuple[ColumnRule, ...]
    keeps: Callable[[Tags], bool] = lambda tags: True  # noqa: ARG005
    kept: str = ""
    is_line: Callable[[Tags], bool] = lambda tags: False  # noqa: ARG005

    def holds(self, tags: Tags) -> bool:
        """Whether a feature with these tags is of this kind."""
        named = any(
            tags.get(key, "no") != "no" and (not values or tags[key] in values)
            for key, values in self.tags.items()
        )
        return named and self.keeps(tags)


def our_words(kind: str, name: str) -> tuple[Mapping[str, str], str]:
    """Words of OpenStreetMap to those of a layer's column, and the word for all others."""
    column = next(each for each in KINDS[kind].columns if each.name == name)
    return {**{word: word for word in column.words}, **column.synonyms}, column.otherwise


def access_of(tags: Tags) -> str | None:
    """Who may use it, the first word of several; None: it isn't said, as for most public places."""
    word = (tags.get("access") or "").split(";")[0].strip()
    return "yes" if word in {"designated", "official"} else word or None


def length_m(said: str | None) -> float | None:
    """Metres of a text: OpenStreetMap's bare numbers are metres; None where it is no length.

    Examples
    --------
    >>> length_m("3.5"), length_m("10 ft"), length_m("low")
    (3.5, 3.048, None)
    """
    bare = number(said)
    if bare is not None or said is None:
        return bare
    try:
        return _positive(metres(said))
    except ValueError:
        return None


def number(said: str | None) -> float | None:
    try:
        return _positive(float(said or ""))
    except ValueError:
        return None


def _positive(value: float) -> float | None:
    return value if math.isfinite(value) and value > 0 else None


def text(name: str, key: str = "") -> ColumnRule:
    return ColumnRule(name, (key or name,), lambda tags: tags.get(key or name))


def length(name: str, key: str) -> ColumnRule:
    return ColumnRule(name, (key,), lambda tags: length_m(tags.get(key)))


NAME = text("name")
PUBLIC = ColumnRule("access", ("access",), access_of)
HOURS = text("opening_hours")
WHEELCHAIR = text("wheelchair")


_TONNES = {
    "": 1.0,
    "t": 1.0,
    "kg": 0.001,
    "lb": 0.45359237e-3,
    "lbs": 0.45359237e-3,
    "st": 0.90718474,
}
"""Metric tons in one unit of weight, as they are written behind a posted limit; bare numbers are t."""


def tonnes(said: str | None) -> float | None:
    """Posted weight in metric tons; None where it is no weight.

    Examples
    --------
    >>> tonnes("7.5"), tonnes("3500 kg"), round(tonnes("10 st"), 3), tonnes("none")
    (7.5, 3.5, 9.072, None)
    """
    given = (said or "").strip().lower()
    figure = given.rstrip("abcdefghijklmnopqrstuvwxyz ")
    value, per = number(figure), _TONNES.get(given[len(figure) :].strip())
    return None if value is None or per is None else value * per
