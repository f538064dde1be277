"""Limits for decoding: two pictures at a time, together in half of the computer's memory, and never the same one twice.

A page with sixty pictures asks for all of them at the same moment. Those that have to be made wait here for their turn;
a second request for the same one finds it made.
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
    """Memory for decoding at most MOST_PICTURES pictures at a time, `memory` bytes in all."""

    def __init__(self, memory: int) -> None:
        self.memory = memory
        self._free = memory
        self._pictures = 0
        self._changed = threading.Condition()

    @contextmanager
    def reserved(self, needed: int) -> Iterator[None]:
        """Wait until `needed` bytes (at most `memory`) are free, and reserve them for the block."""
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
"""That of this process."""

_locks: WeakValueDictionary[str, threading.Lock] = WeakValueDictionary()
_registry = threading.Lock()


@contextmanager
def exclusively(name: str) -> Iterator[None]:
    """Keep every other thread that wants to make `name` waiting until the block ends."""
    with _registry:
        lock = _locks.setdefault(name, threading.Lock())
    with lock:
        yield
