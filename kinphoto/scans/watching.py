"""A folder into which a scanner writes: which of its pictures are complete, still being written, or gone.

What there is decides, not what the system reports about it: the folder is looked through again and again, and the
watching library only ends the wait early. So nothing is missed where reports get lost, and a folder on the network,
which reports nothing, is watched the same way. A file is complete when neither its size nor its time has changed
between two looks that are `SETTLED` apart.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from threading import Event

from kinphoto.scans.walk import FoundFile, Refused, walk

SETTLED = 0.6
"""Seconds without a change after which a file is taken to be complete."""
SOON, LATER = 0.2, 1.0
"""Seconds until the next look where a file is being written, and where none is."""
NETWORK = 1.0
"""Seconds between two looks at a folder on the network."""
_MOST_OF_THE_TIME = 4
"""A look at a large or slow folder is followed by a pause this many times as long."""
_NETWORK_TYPES = ("nfs", "cifs", "smb", "9p", "afs", "fuse.sshfs", "fuse.rclone", "davfs", "ncpfs", "webdav")

State = tuple[int, int]
"""Size and time of a file."""


@dataclass(frozen=True, slots=True)
class FolderLook:
    """What one look found: files that are complete and were not before, those still being written, those gone since."""

    complete: tuple[FoundFile, ...] = ()
    writing: tuple[str, ...] = ()
    gone: tuple[str, ...] = ()
    refused: tuple[Refused, ...] = ()
    away: bool = False
    """The folder itself is not there, or everything in it is gone at once, as on a disk that was disconnected."""


@dataclass
class WatchedFolder:
    """One folder with what was seen of it so far. Those in `leave_out` inside it are not entered."""

    folder: str
    leave_out: frozenset[str] = frozenset()
    clock: Callable[[], float] = time.monotonic
    _complete: dict[str, State] = field(default_factory=dict)
    _writing: dict[str, tuple[State, float]] = field(default_factory=dict)
    _refused: set[str] = field(default_factory=set)

    def look(self) -> FolderLook:
        """Look through it once more."""
        try:
            found = list(walk([self.folder], self.leave_out)) if Path(self.folder).is_dir() else None
        except OSError:
            found = None
        if found is None or any(isinstance(each, Refused) and each.path == self.folder for each in found):
            return FolderLook(away=True)
        files = {each.path: each for each in found if isinstance(each, FoundFile)}
        if not files and len(self._complete) > 1:
            return FolderLook(away=True)
        refused = tuple(each for each in found if isinstance(each, Refused) and each.path not in self._refused)
        self._refused.update(each.path for each in refused)
        gone = [path for path in (*self._complete, *self._writing) if path not in files]
        for path in gone:
            self._complete.pop(path, None)
            self._writing.pop(path, None)
        complete = tuple(each for each in files.values() if self._settled(each))
        return FolderLook(complete, tuple(self._writing), tuple(dict.fromkeys(gone)), refused)

    def again(self, path: str) -> None:
        """What is complete could not be used yet: report it once more when it has changed, or later."""
        state = self._complete.pop(path, None)
        if state is not None:
            self._writing[path] = state, self.clock()

    def _settled(self, each: FoundFile) -> bool:
        state = (each.size, each.mtime_ns)
        if self._complete.get(each.path) == state:
            return False
        self._complete.pop(each.path, None)
        before, since = self._writing.get(each.path, (None, self.clock()))
        if before != state:
            self._writing[each.path] = state, self.clock()
            return False
        if each.size == 0 or self.clock() - since < SETTLED:
            return False
        del self._writing[each.path]
        self._complete[each.path] = state
        return True


def looks(watched: WatchedFolder, stop: Event, network: bool | None = None) -> Iterator[FolderLook]:
    """One look after the other until `stop` is set."""
    network = is_on_network(watched.folder) if network is None else network
    with _Waking(watched.folder, stop, asleep=network) as waking:
        while not stop.is_set():
            began = time.monotonic()
            look = watched.look()
            took = time.monotonic() - began
            yield look
            pause = NETWORK if network else SOON if look.writing else LATER
            waking.wait(max(pause, took * _MOST_OF_THE_TIME), look.away)


def is_on_network(folder: str) -> bool:
    """Whether the disk of a folder is somewhere else, as far as the system says."""
    try:
        with Path("/proc/self/mounts").open(encoding="utf-8", errors="replace") as mounts:
            places = [line.split()[1:3] for line in mounts]
    except OSError:  # no Linux
        return False
    real = os.path.realpath(folder)
    inside = [
        (len(place), kind)
        for place, kind in places
        if os.path.commonpath((real, _unescaped(place))) == _unescaped(place)
    ]
    return bool(inside) and max(inside)[1].startswith(_NETWORK_TYPES)


def _unescaped(place: str) -> str:
    return place.replace("\\040", " ").replace("\\011", "\t").replace("\\134", "\\")


class _Waking:
    """Waits until something changes in a folder, or for a time. Where the system cannot report, or should not be asked
    (`asleep`), it only waits."""

    def __init__(self, folder: str, stop: Event, *, asleep: bool) -> None:
        self._folder, self._stop, self._asleep = folder, stop, asleep
        self._reports: Iterator[object] | None = None
        self._ended = Event()

    def __enter__(self) -> _Waking:
        return self

    def __exit__(self, *_: object) -> None:
        self._ended.set()
        self._reports = None

    def wait(self, seconds: float, away: bool) -> None:
        if away:
            self._reports = None
        if self._asleep or away or seconds <= SOON:
            self._stop.wait(seconds)
            return
        try:
            if self._reports is None:
                from watchfiles import watch

                self._reports = watch(
                    self._folder, watch_filter=None, debounce=50, step=20, stop_event=self._ended,
                    yield_on_timeout=True, rust_timeout=round(LATER * 1000), raise_interrupt=True,
                )  # fmt: skip
            next(self._reports, None)
        except (OSError, RuntimeError):  # too many folders are watched, or this one has just gone
            self._reports = None
            self._stop.wait(seconds)
