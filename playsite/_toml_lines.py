"""Line of each key of a TOML text: the standard parser keeps none, and people need it to mend."""

from __future__ import annotations

import re
from collections import Counter

__all__ = ["lines_of"]

_KEY = r"""(?:[A-Za-z0-9_-]+|"[^"\n]*"|'[^'\n]*')"""
_DOTTED = rf"{_KEY}(?:\s*\.\s*{_KEY})*"
_TABLE = re.compile(rf"^\s*\[(\[?)\s*({_DOTTED})\s*\]\]?\s*(?:#.*)?$")
_ENTRY = re.compile(rf"^\s*({_DOTTED})\s*=")
_INLINE = re.compile(rf"[{{,]\s*({_DOTTED})\s*=")


def lines_of(text: str) -> dict[tuple[str, ...], int]:
    r"""Line, from 1, at which each path of keys first stands.

    Tables of an array are found by their number too, from 0: ``("layers", "trees", "1")``.

    Keys of inline tables are found one level deep; a text that looks like a key inside a
    string of several lines can name a line that is no key, which does no harm.

    Examples
    --------
    >>> lines_of('[study]\ntitle = "A"\n[layers.trees]\npath = "t.gpkg"')[("layers", "trees", "path")]
    4
    """
    found: dict[tuple[str, ...], int] = {}
    table: tuple[str, ...] = ()
    numbered: tuple[str, ...] = ()
    seen: Counter[tuple[str, ...]] = Counter()
    for number, line in enumerate(text.splitlines(), start=1):
        if head := _TABLE.match(line):
            table = numbered = _parts(head[2])
            if head[1]:
                numbered = (*table, str(seen[table]))
                seen[table] += 1
            found.setdefault(table, number)
            found.setdefault(numbered, number)
        elif entry := _ENTRY.match(line):
            for keys in ((*inside, *_parts(entry[1])) for inside in (table, numbered)):
                found.setdefault(keys, number)
                for inner in _INLINE.finditer(line[entry.end() :]):
                    found.setdefault((*keys, *_parts(inner[1])), number)
    return found


def _parts(dotted: str) -> tuple[str, ...]:
    return tuple(part.strip().strip("\"'") for part in re.findall(_KEY, dotted))
