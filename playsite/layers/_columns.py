"""Which column of the user's file is which of ours: names, units, words, constants."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from playsite.layers._notes import listed
from playsite.layers._words import allowed_words, flag_of, text_of
from playsite.layers.files import label_of
from playsite.problems import nearest_word
from playsite.units import LENGTHS_M, metres

if TYPE_CHECKING:
    from playsite.layers._kind import ColumnKind, LayerKind
    from playsite.layers._notes import Notes
    from playsite.settings import Column, LayerSource

__all__ = ["Picked", "pick_columns"]


@dataclass(frozen=True)
class Picked:
    """Where one of our columns comes from in one file.

    Parameters
    ----------
    column
        Ours.
    theirs
        The file's; empty: it has none.
    factor
        Ours in one of theirs.
    words
        Their words to ours.
    constant
        Value for the whole file, in our unit.
    """

    column: ColumnKind
    theirs: str = ""
    factor: float = 1.0
    words: dict[str, str] = field(default_factory=dict)
    constant: str | float | bool | None = None


def pick_columns(
    kind: LayerKind, source: LayerSource, fields: tuple[str, ...], notes: Notes
) -> list[Picked]:
    """Find each of our columns in a file; what can't be right is told as a problem.

    Parameters
    ----------
    kind, source
        What is read, and what the study file says about it.
    fields
        Columns that the file has.
    notes
        Takes problems.
    """
    _check_names(kind, source, notes)
    return [_pick(kind, column, source, fields, notes) for column in kind.columns]


def _check_names(kind: LayerKind, source: LayerSource, notes: Notes) -> None:
    ours = {c.name for c in kind.columns} | {c.column for c in kind.columns}
    tables = (("columns", source.columns), ("values", _words_of(source)), ("set", source.set))
    for table, given in tables:
        for name in given:
            if name not in ours:
                what = f'{kind.name} have no column "{name}" here.'
                remedy = nearest_word(name, ours) if ours else "It has no columns."
                notes.problem(kind.name, what, remedy, table, name)
    for column in kind.columns:
        allowed = allowed_words(column)
        for name in dict.fromkeys((column.name, column.column)):
            for theirs, word in _words_of(source).get(name, {}).items():
                if allowed and word not in allowed:
                    what = f'"{word}" is not a word for {name}.'
                    remedy = nearest_word(word, allowed)
                    notes.problem(kind.name, what, remedy, "values", name, theirs)


def _words_of(source: LayerSource) -> dict[str, dict[str, str]]:
    return source.values


def _pick(
    kind: LayerKind,
    column: ColumnKind,
    source: LayerSource,
    fields: tuple[str, ...],
    notes: Notes,
) -> Picked:
    names = dict.fromkeys((column.name, column.column))
    values = {k: v for name in names for k, v in _words_of(source).get(name, {}).items()}
    for name in names:
        if name in source.set:
            return Picked(column, constant=_constant(kind, column, name, source, notes))
    for name in names:
        if name in source.columns:
            given = source.columns[name]
            theirs = _their_name(given.column, fields)
            if not theirs:
                what = f'"{source.path}" has no column "{given.column}".'
                remedy = _nearest(given.column, fields)
                notes.problem(kind.name, what, remedy, "columns", name)
                return Picked(column)
            factor = _factor(kind, column, given, theirs, name, notes)
            return Picked(column, theirs, factor, values)
    return _unmapped(kind, column, source, fields, values, notes)


def _unmapped(
    kind: LayerKind,
    column: ColumnKind,
    source: LayerSource,
    fields: tuple[str, ...],
    values: dict[str, str],
    notes: Notes,
) -> Picked:
    """A column that has our name, with any unit, needs no entry."""
    units = [f"{column.name}_{unit.replace('-', '_')}" for unit in LENGTHS_M] if column.unit else []
    for name in [column.column, *units, column.name]:
        if theirs := _their_name(name, fields):
            factor = _factor(kind, column, None, theirs, column.name, notes)
            return Picked(column, theirs, factor, values)
    if column.needed:
        what = f'"{source.path}" has no column "{column.name}"; it has {listed(fields, 12)}.'
        remedy = f'Say which it is: columns.{column.name} = "...". {_near(column.name, fields)}'
        notes.problem(kind.name, what, remedy.strip(), "columns")
    elif column.if_missing:
        notes.finding(kind.name, f"{label_of(source)}: {column.if_missing}", weight="caution")
    return Picked(column, words=values)


def _their_name(name: str, fields: tuple[str, ...]) -> str:
    """Their column of this name; its case may differ where that leaves one."""
    if name in fields:
        return name
    alike = [field for field in fields if field.lower() == name.lower()]
    return alike[0] if len(alike) == 1 else ""


def _nearest(name: str, fields: tuple[str, ...]) -> str:
    by_lower = {field.lower(): field for field in fields}
    said = nearest_word(name.lower(), by_lower)
    for lower, theirs in by_lower.items():
        said = said.replace(f'"{lower}"', f'"{theirs}"')
    return said if said.startswith("Did") else f"It has {listed(fields, 12)}."


def _near(name: str, fields: tuple[str, ...]) -> str:
    said = _nearest(name, fields)
    return said if said.startswith("Did") else ""


def _factor(
    kind: LayerKind,
    column: ColumnKind,
    given: Column | None,
    theirs: str,
    name: str,
    notes: Notes,
) -> float:
    """Metres in one unit of their column, from the study file, else from its name."""
    if column.type != "number" or not column.unit:
        return 1.0
    if given is not None and given.unit:
        try:
            return metres(f"1 {given.unit}")
        except ValueError as error:
            notes.problem(kind.name, f"{error}.", "", "columns", name)
            return 1.0
    for unit, length_m in LENGTHS_M.items():
        if theirs.lower().endswith("_" + unit.replace("-", "_")):
            return length_m
    what = f'the column "{theirs}" holds lengths, and its name doesn\'t end in their unit.'
    remedy = f'Give it: columns.{column.name} = {{ column = "{theirs}", unit = "ft" }}, or "m".'
    notes.problem(kind.name, what, remedy, "columns", name)
    return 1.0


def _constant(
    kind: LayerKind, column: ColumnKind, name: str, source: LayerSource, notes: Notes
) -> str | float | bool | None:
    """Value of ``set``: checked like the words and units of a column."""
    given = source.set[name]
    if name in source.columns or column.name in source.columns:
        notes.problem(kind.name, f'"{name}" is given twice.', "Leave one out.", "set", name)
    if column.type == "flag":
        flag = flag_of(text_of(given), column)
        if flag is not None:
            return flag
        notes.problem(kind.name, f"{given!r} is neither true nor false.", "", "set", name)
    elif column.type == "text":
        word = text_of(given) or ""
        if not column.words or word in column.words:
            return word
        what = f'"{word}" is not a word for {name}.'
        notes.problem(kind.name, what, nearest_word(word, column.words), "set", name)
    elif not column.unit or name == column.column:
        if not isinstance(given, str):
            return float(given)
        notes.problem(kind.name, f'"{given}" is not a number.', "", "set", name)
    else:
        try:
            return metres(given)
        except ValueError as error:
            notes.problem(kind.name, f"{error}.", "", "set", name)
    return None
