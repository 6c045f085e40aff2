"""Words of another language for the map: one file that says each English text once."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from playsite.problems import Problems

__all__ = ["HOLE", "Words", "read_words"]

HOLE = re.compile(r"\{(\d)\}")
"""A hole in a text, for a number or a name: ``{0}``."""
_LANGUAGE = re.compile(r"[a-z]{2,3}(-[A-Za-z0-9]{2,8})*")
_TABLES = {"language", "direction", "words"}
_FROM_RIGHT = {"ar", "ckb", "dv", "fa", "he", "ps", "sd", "ug", "ur", "yi"}
"""Languages usually written from right to left (from memory); a file may say otherwise."""


@dataclass(frozen=True)
class Words:
    """A language (a BCP 47 tag), its direction, and by each English text the one to show."""

    language: str = "en"
    texts: Mapping[str, str] = field(default_factory=dict)
    direction: str = "ltr"


def read_words(path: Path, problems: Problems) -> Words:
    """Read a file of words; every fault is told with the file and the text it is in."""
    place = {"file": str(path)}
    try:
        given: dict[str, Any] = tomllib.loads(path.read_text("utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        problems.add(f"The file of words can't be read: {error}.", "It is TOML, in UTF-8.", **place)
        return Words()
    for name in sorted(set(given) - _TABLES):
        problems.add(f'there is no "{name}" in a file of words.', "Expected language, direction and [words].", **place)  # fmt: skip
    language, texts = given.get("language"), given.get("words", {})
    if not isinstance(language, str) or not _LANGUAGE.fullmatch(language):
        problems.add("the language is missing or is none.", 'Expected language = "es".', **place)
        language = "en"
    usual = "rtl" if language.split("-")[0] in _FROM_RIGHT else "ltr"
    direction = given.get("direction", usual)
    if direction not in ("ltr", "rtl"):
        problems.add(
            f'"{direction}" is no direction.',
            'Expected direction = "rtl", or "ltr", or no line.',
            **place,
        )
        direction = usual
    if not isinstance(texts, dict):
        problems.add("[words] is no table.", 'Expected "Ranking" = "Clasificación".', **place)
        texts = {}
    kept = {english: text for english, text in texts.items() if _is_good(english, text, place, problems)}  # fmt: skip
    return Words(language, kept, direction)


def _is_good(english: str, text: object, place: dict[str, Any], problems: Problems) -> bool:
    if not isinstance(text, str):
        problems.add(f'what stands for "{english}" is no text.', "Put it between quotes.", **place)
        return False
    strange = sorted(set(HOLE.findall(text)) - set(HOLE.findall(english)))
    if strange:
        problems.add(
            f'what stands for "{english}" has a hole {{{strange[0]}}} that the English has not.',
            "Use the holes of the English text, in any order.",
            **place,
        )
    return not strange and bool(text)
