"""The page in another language: every text is looked up once, what has no words stays English."""

from __future__ import annotations

import html
import json
import re
from functools import cached_property
from typing import TYPE_CHECKING, Any

from playsite._words_file import HOLE, Words

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["Translation", "texts_of_script"]

_NUMBER = re.compile(r"\d+(?:[.,]\d+)*")
_SENTENCE = re.compile(r"(?<=[.!?:;]) ")
_ISOLATED = "\u2068{}\u2069"
"""Keeps a name or a number apart in a line that runs from right to left."""
_TAG = re.compile(r"(<[^>]*>)")
_SPOKEN = re.compile(r'(?<= )(aria-label|title|placeholder)="([^"]*)"')
_SAID = re.compile(r'\bsay(?:Nodes)?\("((?:[^"\\]|\\.)*)"')
_LISTS = re.compile(r"\bconst (?:WORDS|STATES) = \[(.*?)\]")
_NOT_WORDS = {
    "comments",
    "id",
    "name",
    "ground",
    "walks",
    "roots",
    "scores",
    "reads",
    "spans",
    "normal",
    "common",
    "districts",
}
_LEAST_LETTERS = 10
"""Letters that a text with holes for names must hold, lest it be seen in every other one."""


class Translation:
    """Gives texts of the page in the language of a file of words, and keeps what it lacks."""

    def __init__(self, words: Words) -> None:
        self.words = words
        self.left: dict[str, None] = {}
        self.known: dict[str, str] = {}

    def said(self, text: str) -> str:
        """Give a text in the page's language; whole, or sentence by sentence.

        Examples
        --------
        >>> told = Translation(Words("es", {"Site {0}": "Lugar {0}", "{0} of {1}": "{0} de {1}"}))
        >>> told.said("Site 4"), told.said("2 of 19"), told.said("River"), list(told.left)
        ('Lugar 4', '2 de 19', 'River', ['River'])
        """
        if text not in self.known:
            self.known[text] = self._found(text) or " ".join(
                self._found(part) or self._leave(part) for part in _SENTENCE.split(text)
            )
        return self.known[text]

    def _found(self, text: str) -> str | None:
        if (told := self._exact(text)) is not None:
            return told
        for pattern, with_names in self._with_names:
            if match := pattern.fullmatch(text):
                return self._filled(
                    with_names, [self._exact(hole) or hole for hole in match.groups()]
                )
        return None

    def _exact(self, text: str) -> str | None:
        for key, holes in ((text, []), (_with_holes(text), _NUMBER.findall(text))):
            if key in self.words.texts:
                return self._filled(self.words.texts[key], holes)
        return None

    def _filled(self, text: str, holes: list[str]) -> str:
        if self.words.direction == "rtl":
            holes = [_ISOLATED.format(hole) for hole in holes]
        return HOLE.sub(lambda m: holes[int(m[1])] if int(m[1]) < len(holes) else m[0], text)

    @cached_property
    def _with_names(self) -> list[tuple[re.Pattern[str], str]]:
        found = []
        for english, told in self.words.texts.items():
            pieces = HOLE.split(english)
            if len(pieces) > 1 and sum(c.isalpha() for c in "".join(pieces[::2])) >= _LEAST_LETTERS:
                order = [int(number) for number in pieces[1::2]]
                if order == list(range(len(order))):
                    found.append((re.compile("(.+?)".join(map(re.escape, pieces[::2]))), told))
        return found

    def _leave(self, text: str) -> str:
        if any(letter.isalpha() for letter in text):
            self.left[_with_holes(text)] = None
        return text

    def of_data(self, content: Any, key: str = "") -> Any:
        """Give what the script reads with its sentences told; names and shapes stay."""
        if key in _NOT_WORDS:
            return content
        if isinstance(content, str):
            return content if content.startswith("<") or not content else self.said(content)
        if isinstance(content, list):
            return [self.of_data(each) for each in content]
        if isinstance(content, dict):
            return {name: self.of_data(each, name) for name, each in content.items()}
        return content

    def of_html(self, text: str) -> str:
        """Give a template of HTML with its texts and spoken labels told; tags and fields stay."""
        return "".join(
            _SPOKEN.sub(self._spoken, piece) if piece.startswith("<") else self._between(piece)
            for piece in _TAG.split(text)
        )

    def _spoken(self, match: re.Match[str]) -> str:
        if "{{" in match[2]:
            return match[0]
        return f'{match[1]}="{html.escape(self.said(html.unescape(match[2])))}"'

    def _between(self, piece: str) -> str:
        plain = html.unescape(piece.strip())
        if not plain or "{{" in plain or "{%" in plain:
            return piece
        told = html.escape(self.said(plain), quote=False)
        return piece.replace(piece.strip(), told)

    def with_bold(self, parts: list[tuple[str, bool]]) -> list[tuple[str, bool]]:
        """Give a sentence in pieces, some of them bold, told as a whole."""
        whole = "".join(text for text, _ in parts)
        told = self.said(whole)
        bold = [self.said(text) for text, is_bold in parts if is_bold]
        if told == whole or not bold:
            return parts if told == whole else [(told, False)]
        pieces = re.split("(" + "|".join(map(re.escape, bold)) + ")", told)
        return [(piece, piece in bold) for piece in pieces if piece]

    def as_toml(self, script: Iterable[str]) -> str:
        """Give the texts that have no words yet, as a file of words to be filled in."""
        missing = dict.fromkeys([*self.left, *(t for t in script if t not in self.words.texts)])
        lines = [f"{_quoted(text)} = {_quoted('')}" for text in sorted(missing)]
        head = f'language = "{self.words.language}"\ndirection = "{self.words.direction}"\n\n# Numbers and names stand in the holes {{0}}, {{1}}.\n[words]\n'
        return head + "".join(f"{line}\n" for line in lines)


def texts_of_script(script: str) -> list[str]:
    """Give the texts that a script says."""
    lists = [text for names in _LISTS.findall(script) for text in re.findall(r'"([^"]*)"', names)]
    return [json.loads(f'"{text}"') for text in dict.fromkeys([*_SAID.findall(script), *lists])]


def _with_holes(text: str) -> str:
    """Put holes where numbers stand; of a text with more than ten of them the rest stay."""
    count = iter(range(10))
    return _NUMBER.sub(lambda m: f"{{{n}}}" if (n := next(count, None)) is not None else m[0], text)


def _quoted(text: str) -> str:
    """Write a TOML string: JSON's escapes are TOML's too."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
