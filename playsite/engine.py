"""Where the work runs, and how its progress is seen; it knows nothing of the trade."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Any

__all__ = ["Watch", "quietly"]

Watch = Callable[[Iterable[Any], str, int], Iterator[Any]]
"""Takes items, a label and how many there are; gives the items and shows how far it has come."""


def quietly(items: Iterable[Any], label: str, total: int) -> Iterator[Any]:  # noqa: ARG001
    """Give the items and show nothing: the way of a script, a pipe or a test."""
    yield from items
