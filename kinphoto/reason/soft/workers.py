"""Only for speed: threads for work that is mostly numpy's, which lets other threads run meanwhile."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from itertools import islice
from typing import TypeVar

_T = TypeVar("_T")
_R = TypeVar("_R")

WORKERS = min(4, os.cpu_count() or 1)
"""Threads that work at once."""
AHEAD = 4
"""Results that each thread may have ready before they are taken."""


def parallel_map(work: Callable[[_T], _R], things: Iterable[_T]) -> Iterator[_R]:
    """The result of `work` for each of the `things`, in their order, computed in parallel."""
    waiting = iter(things)
    first = list(islice(waiting, 2))
    if WORKERS == 1 or len(first) < 2:
        yield from map(work, first)
        yield from map(work, waiting)
        return
    with ThreadPoolExecutor(WORKERS) as workers:
        some = first + list(islice(waiting, AHEAD * WORKERS - 2))
        while some:
            yield from workers.map(work, some)
            some = list(islice(waiting, AHEAD * WORKERS))
