"""How much is decoded at once: two pictures at a time, together in half of the computer's memory, and never the same
one twice.

A page with sixty pictures asks for all of them in the same moment. Each of those that has to be made waits here for
its turn; whoever asked for the same one meanwhile finds it made.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from weakref import WeakValueDictionary

from kinphoto.scans.workers import physical_memory

MOST_PICTURES = 2
"""How many pictures are decoded at the same time."""


class MemoryBudget:
    """Memory that is lent to at most MOST_PICTURES borrowers, `memory` bytes in all."""

    def __init__(self, memory: int) -> None:
        self.memory = memory
        self._free = memory
        self._pictures = 0
        self._changed = threading.Condition()

    @contextmanager
    def reserved(self, needed: int) -> Iterator[None]:
        """Wait until there are `needed` bytes, at most `memory`, and keep them for the block."""
        with self._changed:
            self._changed.wait_for(lambda: self._pictures < MOST_PICTURES and needed <= self._free)
            self._free -= needed
            self._pictures += 1
        try:
            yield
        finally:
            with self._changed:
                self._free += needed
                self._pictures -= 1
                self._changed.notify_all()


BUDGET = MemoryBudget(physical_memory() // 2)
"""What this process lends itself."""

_locks: WeakValueDictionary[str, threading.Lock] = WeakValueDictionary()
_registry = threading.Lock()


@contextmanager
def exclusively(name: str) -> Iterator[None]:
    """Keep everybody else in this process who wants to make `name` waiting for the block."""
    with _registry:
        lock = _locks.setdefault(name, threading.Lock())
    with lock:
        yield
