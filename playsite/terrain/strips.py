"""Share the rows of a compiled loop among the processors."""

import itertools
import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any

LEAST_STRIP = 64
"""Fewer items than this are not worth a thread."""


def in_strips(kernel: Callable[..., object], count: int, *arguments: Any) -> None:
    """Call ``kernel(first, last, *arguments)`` for strips that together make up ``count`` items.

    The kernel must release the lock of the interpreter (``nogil=True``) and write only to the
    items of its own strip. Plain threads are used, not those of the compiler: a process may then
    be forked, or call this from several threads, without harm.

    Parameters
    ----------
    kernel
        Compiled loop over the items ``first`` to ``last``, the last one left out.
    count
        Number of items.
    arguments
        Handed on to the kernel.

    Examples
    --------
    >>> seen = []
    >>> in_strips(lambda first, last: seen.extend(range(first, last)), 5)
    >>> seen
    [0, 1, 2, 3, 4]
    """
    threads = min(os.cpu_count() or 1, count // LEAST_STRIP)
    if threads < 2:
        kernel(0, count, *arguments)
        return
    bounds = [count * part // threads for part in range(threads + 1)]
    with ThreadPoolExecutor(threads) as pool:
        running = [
            pool.submit(kernel, first, last, *arguments)
            for first, last in itertools.pairwise(bounds)
        ]
    for strip in running:
        strip.result()
