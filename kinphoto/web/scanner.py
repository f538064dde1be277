"""The folder that is watched while somebody sits at the scanner: one at a time, in a thread of the pages' process."""

from __future__ import annotations

from collections import deque
from pathlib import Path
from threading import Event, Lock, Thread
from typing import TYPE_CHECKING

from kinphoto.errors import KinphotoError

if TYPE_CHECKING:
    from collections.abc import Callable

    from kinphoto.archive import Archive
    from kinphoto.archive.collection.watching import WatchEvent

_KEPT = 30
_SETTLED = ("back", "caught-up", "started", "stopped")
"""What happens to a folder after which earlier trouble is over."""


class Scanner:
    """Watches a folder and keeps the last things that happened. `poke` is called after each scan."""

    def __init__(self, archive: Archive, poke: Callable[[], None]) -> None:
        self._archive, self._poke = archive, poke
        self._lock = Lock()
        self._stop = Event()
        self._thread: Thread | None = None
        self.folder = self.container = self.theme = self.problem = ""
        self._numbered: deque[tuple[int, WatchEvent]] = deque(maxlen=_KEPT)
        self.number = 0
        """How many things have happened, for whoever asks whether there is something new."""

    @property
    def watching(self) -> bool:
        """Whether a folder is watched now."""
        return self._thread is not None and self._thread.is_alive()

    @property
    def seen(self) -> tuple[WatchEvent, ...]:
        """What happened last, the newest first."""
        return tuple(seen for _, seen in list(self._numbered))

    def since(self, number: int) -> tuple[WatchEvent, ...]:
        """What was seen `since` that count, the newest first, as far as it is kept."""
        return tuple(seen for at, seen in list(self._numbered) if at > number)

    @property
    def trouble(self) -> WatchEvent | None:
        """The last thing that was wrong, where it was no scan that could be shown and no other has come since."""
        for seen in self.seen:
            if seen.photograph or seen.what in _SETTLED:
                return None
            if not seen.good:
                return seen
        return None

    def start(self, folder: str, container: str, theme: str) -> None:
        """Watch this folder from now on, and no other. New photographs go into the container, if one is named."""
        with self._lock:
            self._end()
            self.folder, self.container, self.theme, self.problem = folder, container, theme, ""
            self._stop = Event()
            self._thread = Thread(target=self._run, name="watching the scanner's folder", daemon=True)
            self._thread.start()

    def stop(self) -> None:
        """Watch nothing any more; what was read is kept."""
        with self._lock:
            self._end()

    def _end(self) -> None:
        self._stop.set()
        if self._thread is not None:
            self._thread.join()

    def _run(self) -> None:
        try:
            self._archive.scans.watch(
                Path(self.folder), self._take, self._stop, container=self.container or None, theme=self.theme or None
            )
        except KinphotoError as problem:
            self.problem = str(problem)
        except Exception:
            self.problem = "Watching stopped because of a fault in kinphoto; what was read is kept. Start it again."
            raise
        finally:
            self.number += 1

    def _take(self, seen: WatchEvent) -> None:
        self._numbered.appendleft((self.number + 1, seen))
        self.number += 1
        if seen.photograph:
            self._poke()
