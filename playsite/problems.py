"""What is wrong with the input, and what was noticed in it: collected, then told at once."""

from __future__ import annotations

import difflib
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from playsite.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["Finding", "Problem", "Problems", "Weight", "nearest_word"]

Weight = Literal["note", "caution", "loud"]
"""How loud a finding is: a note is in the report, a caution on the memo, loud on every page."""


@dataclass(frozen=True)
class Problem:
    """One thing that stops the run: what is wrong, where, and what to do about it."""

    what: str
    remedy: str = ""
    file: str = ""
    line: int | None = None
    key: str = ""
    layer: str = ""
    feature: str = ""

    def __str__(self) -> str:
        """Give the problem in one line: place, what, remedy."""
        place = self.file + (f", line {self.line}" if self.line else "")
        parts = [place, self.key and f"[{self.key}]", self.layer and f"layer {self.layer}"]
        parts.append(self.feature and f"feature {self.feature}")
        head = ", ".join(part for part in parts if part)
        return (
            (f"{head}: " if head else "") + self.what + (f" {self.remedy}" if self.remedy else "")
        )


@dataclass(frozen=True)
class Finding:
    """One thing that was noticed at the gate and does not stop the run.

    Parameters
    ----------
    what
        What was noticed, a sentence.
    done
        What was done about it, a sentence.
    remedy
        What the user should do, a sentence.
    layer, where
        Kind of layer; features or places concerned.
    count
        How many features are concerned.
    weight
        ``"loud"`` findings stand on map and memo, ``"caution"`` on the memo, ``"note"`` in the report.
    """

    what: str
    done: str = ""
    remedy: str = ""
    layer: str = ""
    where: str = ""
    count: int | None = None
    weight: Weight = "note"

    def __str__(self) -> str:
        """Give the finding in one line."""
        head = f"{self.layer}: " if self.layer else ""
        tail = f" ({self.where})" if self.where else ""
        return head + " ".join(part for part in (self.what + tail, self.done, self.remedy) if part)


@dataclass
class Problems:
    """The one list that settings, layers and criteria add to; told whole, never piecemeal."""

    items: list[Problem] = field(default_factory=list)

    def add(self, what: str, remedy: str = "", **place: object) -> None:
        """Add one problem; ``place`` takes file, line, key, layer and feature."""
        self.items.append(Problem(what, remedy, **place))  # type: ignore[arg-type]

    def stop_if_any(self) -> None:
        """Raise all that was collected.

        Raises
        ------
        InputError
            If there is at least one problem.
        """
        if self.items:
            raise InputError(list(dict.fromkeys(self.items)))


def nearest_word(word: str, words: Iterable[str]) -> str:
    """Sentence that offers the nearest right word, or the right words where none is near.

    Examples
    --------
    >>> nearest_word("tree", ["trees", "streets"])
    'Did you mean "trees"?'
    """
    known = sorted(set(words))
    near = difflib.get_close_matches(word, known, n=1)
    if near:
        return f'Did you mean "{near[0]}"?'
    return f"Known here: {', '.join(known)}." if known else ""
