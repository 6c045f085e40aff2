"""Where the work runs, and how its progress is seen; it knows nothing of the trade."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Any

__all__ = ["Watch", "in_threads", "quietly"]

Watch = Callable[[Iterable[Any], str, int], Iterator[Any]]
"""Takes items, a label and how many there are; gives the items and shows how far it has come."""


def quietly(items: Iterable[Any], label: str, total: int) -> Iterator[Any]:  # noqa: ARG001
    """Give the items and show nothing: the way of a script, a pipe or a test."""
    yield from items


def in_threads(work: Callable[[Any], Any], items: list[Any]) -> Iterator[Any]:
    """Give what the work makes of each item, in their order, from one thread a core.

    For work that leaves the interpreter's lock: compiled loops and geometry. The first item is
    worked on alone, so that compiling and lazy values happen once.
    """
    yield from map(work, items[:1])
    with ThreadPoolExecutor(os.cpu_count() or 1) as pool:
        yield from pool.map(work, items[1:])
