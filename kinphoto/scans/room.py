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

AT_ONCE = 2
"""How many pictures are decoded at the same time."""


class Room:
    """Memory that is lent to at most AT_ONCE borrowers, `memory` bytes in all."""

    def __init__(self, memory: int) -> None:
        self.memory = memory
        self._free = memory
        self._borrowers = 0
        self._changed = threading.Condition()

    @contextmanager
    def lent(self, needed: int) -> Iterator[None]:
        """Wait until there are `needed` bytes, at most `memory`, and keep them for the block."""
        with self._changed:
            self._changed.wait_for(lambda: self._borrowers < AT_ONCE and needed <= self._free)
            self._free -= needed
            self._borrowers += 1
        try:
            yield
        finally:
            with self._changed:
                self._free += needed
                self._borrowers -= 1
                self._changed.notify_all()


ROOM = Room(physical_memory() // 2)
"""What this process lends itself."""

_locks: WeakValueDictionary[str, threading.Lock] = WeakValueDictionary()
_looking = threading.Lock()


@contextmanager
def alone(name: str) -> Iterator[None]:
    """Keep everybody else in this process who wants to make `name` waiting for the block."""
    with _looking:
        lock = _locks.setdefault(name, threading.Lock())
    with lock:
        yield
