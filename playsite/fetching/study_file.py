"""Name what was fetched in the study: at its end, all else to the byte as it stands."""

from __future__ import annotations

import json
import os
import shutil
import tomllib
from dataclasses import dataclass
from typing import TYPE_CHECKING

from playsite.errors import InputError
from playsite.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

__all__ = ["Entry", "check_room", "name_in_study"]


@dataclass(frozen=True)
class Entry:
    """One table of a layer: its keys, what is said before them, and keys it lacks."""

    kind: str
    keys: Mapping[str, str]
    before: tuple[str, ...] = ()
    lacking: tuple[str, ...] = ()

    def lines(self) -> list[str]:
        """Lines of the table; without keys only what is said before it."""
        said = ["", *(f"# {_one_line(line)}" for line in self.before)]
        if not self.keys:
            return said
        # a text of JSON is one of TOML too
        keys = [
            f"{key} = {json.dumps(text, ensure_ascii=False)}" for key, text in self.keys.items()
        ]
        return [*said, f"[layers.{self.kind}]", *keys, *(f"# {line}" for line in self.lacking)]


def check_room(study: Path, kinds: Sequence[str]) -> None:
    """Refuse a study to which no table can be added, before anything is fetched.

    Raises
    ------
    InputError
        If, say, its layers stand in one inline table.
    """
    _longer(study, [Entry(kind, {"path": "x"}) for kind in kinds])


def name_in_study(study: Path, entries: Sequence[Entry]) -> None:
    """Add tables and comments at a study's end; a comment that stands there is not said again.

    Raises
    ------
    InputError
        If it can't be written; it is as it was.
    """
    study = study.resolve()  # the file, where a link leads to it
    beside = study.with_name(f".{study.name}.{os.getpid()}.new")
    try:
        beside.write_bytes(_longer(study, entries))
        shutil.copymode(study, beside)
        beside.replace(study)
    except OSError as error:
        what = f"can't be written: {error.strerror}."
        raise InputError([Problem(what, file=str(study))]) from error
    finally:
        beside.unlink(missing_ok=True)


def _longer(study: Path, entries: Sequence[Entry]) -> bytes:
    old = study.read_bytes()
    text = old.decode("utf-8-sig")
    lines: list[str] = []
    for entry in entries:
        if entry.keys or not all(f"# {_one_line(line)}" in text for line in entry.before):
            lines += entry.lines()
    newline = "\r\n" if "\r\n" in text else "\n"
    lead = newline if text and not text.endswith("\n") else ""
    more = lead + "".join(line + newline for line in lines)
    wanted = {entry.kind: dict(entry.keys) for entry in entries if entry.keys}
    try:
        before, after = tomllib.loads(text), tomllib.loads(text + more)
    except tomllib.TOMLDecodeError:
        after = {}
    if not after or after["layers"] != {**before["layers"], **wanted}:
        what = "no table can be added at its end."
        remedy = "Write the layers as tables of their own: [layers.parcels] and so on."
        raise InputError([Problem(what, remedy, file=str(study))])
    return old + more.encode()


def _one_line(text: str) -> str:
    """Text as a comment may hold it: a line break in a file's name would end the comment."""
    return "".join(letter if letter.isprintable() else " " for letter in text)
