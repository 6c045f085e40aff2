"""Many files by one path, such as ``tiles/*.tif``; what is true of all of them is said once."""

from __future__ import annotations

import glob
import re
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from playsite.problems import Problems

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from playsite.layers._notes import Notes
    from playsite.settings import LayerSource

__all__ = ["each_file", "files_of", "is_pattern", "said_once"]

Given = TypeVar("Given")
Taken = TypeVar("Taken")

_NUMBER = re.compile(r"\d[\d.,]*")


def is_pattern(path: str) -> bool:
    """Whether a path stands for many: it has ``*``, ``?`` or ``[``, and is no address."""
    return "://" not in path and not path.startswith("/vsi") and glob.has_magic(path)


def files_of(pattern: str) -> list[str]:
    """Give the files that a pattern fits, by name."""
    return sorted(glob.glob(pattern, recursive=True))  # noqa: PTH207 -- absolute patterns too


def each_file(source: LayerSource, folder: Path) -> list[LayerSource]:
    """Give one source a file: of a path that stands for none or one, the source itself.

    Parameters
    ----------
    source
        As the study names it.
    folder
        The study's.
    """
    if not is_pattern(source.path):
        return [source]
    whole = folder / source.path
    files = [] if whole.exists() else [Path(file) for file in files_of(str(whole))]
    names = [
        file.relative_to(folder).as_posix() if file.is_relative_to(folder) else str(file)
        for file in files
    ]
    return [source.model_copy(update={"path": name}) for name in names] or [source]


def said_once(
    each: Sequence[tuple[str, Given]], notes: Notes, do: Callable[[Given, Notes], Taken]
) -> list[Taken]:
    """Do something with each of many files; what is said of several of them is said of the first.

    Parameters
    ----------
    each
        Name of a file, and what is done something with.
    notes
        Takes what is said, with the number of files that it is true of.
    do
        Takes one, and notes of its own.
    """
    if len(each) == 1:
        return [do(each[0][1], notes)]
    own = [replace(notes, problems=Problems(), findings=[]) for _ in each]
    taken = [do(given, its) for (_, given), its in zip(each, own, strict=True)]
    for count, finding in _alike(each, [its.findings for its in own]):
        where = "; ".join(part for part in (finding.where, _of_how_many(count, len(each))) if part)
        notes.findings.append(replace(finding, where=where))
    for count, problem in _alike(each, [its.problems.items for its in own]):
        more = _of_how_many(count, len(each))
        what = f"{problem.what.rstrip('.')} ({more})." if more else problem.what
        notes.problems.items.append(replace(problem, what=what))
    return taken


def _of_how_many(count: int, total: int) -> str:
    return f"the same of {count} of {total} files" if count > 1 else ""


def _alike(
    each: Sequence[tuple[str, object]], said: Sequence[list[Taken]]
) -> list[tuple[int, Taken]]:
    """Give the first of sentences that differ by file and numbers alone, and how many there are."""
    groups: dict[str, list[Taken]] = {}
    for (name, _), sentences in zip(each, said, strict=True):
        for sentence in sentences:
            text = str(sentence).replace(name, "").replace(Path(name).name, "")
            groups.setdefault(_NUMBER.sub("", text), []).append(sentence)
    return [(len(group), group[0]) for group in groups.values()]
