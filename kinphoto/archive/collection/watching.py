"""Watching the folder that a scanner writes into: each scan is indexed as soon as its file is complete, and what is odd
about it is said while the print is still on the glass.

Whatever goes wrong is said once, survived, and caught up with: a file that vanishes, a folder whose disk drops and
comes back, a full disk.
"""

from __future__ import annotations

import os
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from enum import StrEnum
from importlib import import_module
from pathlib import Path
from threading import Event
from typing import Annotated

from sqlalchemy import Connection, Engine, select

from kinphoto.archive.catalogue.finding import find_container
from kinphoto.archive.collection import scan_checks
from kinphoto.archive.collection.numbers import Numbers, box_names, checked_theme, name_after, was_renamed
from kinphoto.archive.collection.scanning import add_scans
from kinphoto.archive.collection.scans_added import FiledScan, ScansAdded
from kinphoto.archive.collection.tonight import Tonight, tonight
from kinphoto.documents import INLINE
from kinphoto.errors import ArchiveError, InvalidValueError, KinphotoError
from kinphoto.phrases import counted, opening
from kinphoto.scans.numbering import NumberedName, numbered, slips, theme_of
from kinphoto.scans.pages import file_path
from kinphoto.scans.thumbnails import FOLDER, TILES
from kinphoto.scans.walk import FoundFile, shown
from kinphoto.scans.watching import FolderLook, WatchedFolder, looks
from kinphoto.scans.workers import Workers
from kinphoto.store import tables as t
from kinphoto.store.opening import folder_of
from kinphoto.store.roots import below
from kinphoto.store.session import reading

PATIENCE = 3.0
"""Seconds for which a file that cannot be read is taken to be unfinished."""
RETRY = 5.0
"""Seconds until a full disk is tried again."""


class WatchEventKind(StrEnum):
    """What kinds of things are said while a folder is watched."""

    STARTED = "started"
    SCAN = "scan"
    COPY = "copy"
    UNREADABLE = "unreadable"
    GONE = "gone"
    AWAY = "away"
    BACK = "back"
    STUCK = "stuck"
    CAUGHT_UP = "caught-up"
    STOPPED = "stopped"


@dataclass(frozen=True, slots=True)
class WatchEvent:
    """One thing that happened while a folder was watched."""

    what: Annotated[
        WatchEventKind,
        "`started`, `scan` (a new one), `copy` (of one the archive has), `unreadable`, `gone` (a file), `away` and "
        "`back` (the folder), `stuck` and `caught-up` (as on a full disk), `stopped`",
    ]
    words: Annotated[str, "the same in a sentence"]
    path: Annotated[str, "the file or folder"]
    photograph: Annotated[str | None, "the code of its photograph, or null"]
    notes: Annotated[tuple[str, ...], "what to look at while the print is still on the glass; empty when all is well"]
    next: Annotated[str, "the name that the next scan gets, without its ending; empty where there is no theme"]
    tonight: Annotated[Tonight, INLINE]

    @property
    def good(self) -> bool:
        """Whether nothing has to be done about it."""
        return not self.notes and self.what not in (
            WatchEventKind.UNREADABLE,
            WatchEventKind.AWAY,
            WatchEventKind.STUCK,
        )


def watch(
    engine: Engine,
    folder: Path | str,
    tell: Callable[[WatchEvent], None],
    stop: Event,
    *,
    container: str | None = None,
    theme: str | None = None,
    network: bool | None = None,
) -> int:
    """Index what is in a folder, then each file as it is completed, until `stop` is set; how many scans were added.

    `tell` is called with everything that happens. A `container` takes the new photographs; names are to begin with the
    `theme`, otherwise with that of the folder. On the network (True; None: as the system says) it is only looked at
    once a second. Raises InvalidValueError when it is not a folder.
    """
    if not os.path.isdir(folder):  # noqa: PTH112 (Path.is_dir raises for a name that is too long)
        raise InvalidValueError(
            "there is no such folder", where=shown(str(folder)), remedy="Make it, or check the spelling."
        )
    return _Watching(engine, os.path.realpath(folder), tell, stop, container, theme).run(network)


_FOR_THE_FIRST = ("kinphoto.archive.collection.reading_inside", "scipy.spatial")
"""What is otherwise loaded with the first scan, which would come a second later for it."""


class _Watching:
    def __init__(
        self, engine: Engine, folder: str, tell: Callable[[WatchEvent], None], stop: Event, container: str | None,
        theme: str | None,
    ) -> None:  # fmt: skip
        self._engine, self._folder, self._tell, self._stop = engine, folder, tell, stop
        self._container = container
        with reading(engine) as connection:
            self._theme, self._chosen = theme_in_use(connection, folder, container, theme), theme is not None
        own = folder_of(engine)
        ours = frozenset(os.path.realpath(own / place) for place in (FOLDER, TILES))
        self._watched = WatchedFolder(folder, ours)
        self._waiting: dict[str, FoundFile] = {}  # complete, and not indexed yet
        self._unreadable: dict[str, float] = {}  # since when
        self._away = self._stuck = False
        self._retry_at = 0.0
        self._added = 0

    def run(self, network: bool | None) -> int:
        with Workers(folder_of(self._engine) / FOLDER, 1) as workers:
            workers.start()  # before the first scan comes, as what it needs here
            for module in _FOR_THE_FIRST:
                import_module(module)
            self._say(WatchEventKind.STARTED, f"Watching {self._folder}.", self._folder)
            for look in looks(self._watched, self._stop, network):
                self._take(look)
                if self._waiting and time.monotonic() >= self._retry_at:
                    self._index(workers)
        self._say(WatchEventKind.STOPPED, f"{counted(self._added, 'scan')} added while watching.", self._folder)
        return self._added

    def _take(self, look: FolderLook) -> None:
        """Say what is new about the folder and its files, and note which are to be indexed."""
        if look.away != self._away:
            self._away = look.away
            if look.away:
                words = "The folder is not there any more. Is its disk connected? Waiting for it."
                self._say(WatchEventKind.AWAY, words, self._folder)
            else:
                self._say(WatchEventKind.BACK, "The folder is there again.", self._folder)
        for each in look.refused:
            self._say(WatchEventKind.UNREADABLE, f"{Path(each.path).name}: {each.why}.", each.path)
        for path in look.gone:
            known = self._waiting.pop(path, None) is not None or path in self._unreadable
            self._unreadable.pop(path, None)
            if not self._renamed(path):
                when = " before it was read" if known else ""
                self._say(WatchEventKind.GONE, f"{Path(path).name} is gone{when}.", path)
        self._waiting |= {each.path: each for each in look.complete}

    def _renamed(self, path: str) -> bool:
        """Whether a file is gone because it has another name now."""
        with reading(self._engine) as connection:
            return was_renamed(connection, path)

    def _index(self, workers: Workers) -> None:
        files = list(self._waiting.values())
        several = self._added == 0 and not self._stuck and len(files) > 3
        try:
            done = add_scans(
                self._engine, [each.path for each in files], self._container, check=not several, workers=workers
            )
        except ArchiveError as problem:
            self._retry_at = time.monotonic() + RETRY
            if not self._stuck:
                self._stuck = True
                self._say(
                    WatchEventKind.STUCK,
                    f"{opening(problem.what)}. {problem.remedy} Nothing is lost; trying again.",
                    "",
                )
            return
        except KinphotoError:  # one of them is gone again: the next look says which
            self._waiting = {path: each for path, each in self._waiting.items() if os.path.lexists(path)}
            return
        self._waiting.clear()
        if self._stuck:
            self._stuck = False
            self._say(WatchEventKind.CAUGHT_UP, "It works again, and everything is caught up with.", self._folder)
        if done.new and not several:
            with suppress(KinphotoError):  # one that is gone again, or damaged: the next look says so
                scan_checks.check(self._engine, [each.path for each in done.new], workers=workers)
        self._report(done, several=several)

    def _report(self, done: ScansAdded, *, several: bool) -> None:
        self._added += len(done.new)
        if several and len(done.new) > 3:
            words = f"{counted(len(done.new), 'scan')} were there already and are added: {done.codes}."
            self._say(WatchEventKind.SCAN, words, self._folder, done.new[-1].photograph)
        else:
            for each in done.new:
                self._say(WatchEventKind.SCAN, *self._new(each))
        for each in done.changed:
            words = f"{Path(each.path).name} has changed and is read again."
            self._say(WatchEventKind.SCAN, words, each.path, each.photograph)
        for path, original in done.duplicates:
            name = Path(path).name
            words = f"{name} is the same file as {Path(original).name}."
            self._say(WatchEventKind.COPY, words, path, None, (words,))
        for one in done.left_out:
            words = f"{Path(one.path).name} was removed earlier, so it is not added again."
            self._say(WatchEventKind.COPY, words, one.path)
        for refused in done.unreadable:
            since = self._unreadable.setdefault(refused.path, time.monotonic())
            if time.monotonic() - since < PATIENCE:
                self._watched.again(refused.path)
            elif since >= 0:
                self._unreadable[refused.path] = -1.0
                words = f"{Path(refused.path).name} cannot be used: {refused.why}."
                self._say(WatchEventKind.UNREADABLE, words, refused.path)

    def _new(self, each: FiledScan) -> tuple[str, str, str, tuple[str, ...]]:
        """The sentence about a new scan, its path, its photograph, and what to look at."""
        with reading(self._engine) as connection:
            name = numbered(Path(each.path).stem)
            if name is not None and not self._chosen:
                self._chosen = True
                if not Numbers(connection, self._theme).used(self._theme):
                    self._theme = name.theme  # nothing was called as suggested, so the first name decides
            notes = notes_about(connection, each, self._theme)
        self._unreadable.pop(each.path, None)
        return f"{Path(each.path).name} is {each.photograph}.", each.path, each.photograph, notes

    def _say(
        self, what: WatchEventKind, words: str, path: str, photograph: str | None = None, notes: tuple[str, ...] = ()
    ) -> None:
        with reading(self._engine) as connection:
            so_far = tonight(connection)
            following = name_after(Numbers(connection, self._theme), self._theme) if self._theme else ""
        self._tell(WatchEvent(what, words, path, photograph, notes, following, so_far))


def findings(connection: Connection, scan: FiledScan) -> tuple[str, ...]:
    """What is wrong with the picture of a scan, a sentence each, as far as it was checked."""
    checked = scan_checks.found(connection, [scan.path]).scans
    return tuple(
        opening(f"{one.title}: {one.measured}. {one.remedy}")
        for each in checked
        for one in each.findings
        if not one.accepted and one.weight != "note"
    )


def theme_in_use(connection: Connection, folder: str, container: str | None = None, theme: str | None = None) -> str:
    """The theme that names begin with: the one given, the one most scans of the box have, or of the folder where no box
    is named, or one made of the name of the box or folder; "" where that says nothing. Raises InvalidValueError for a
    theme that cannot be."""
    box = None if container is None else find_container(connection, container)
    if theme is not None:
        written = theme.strip().casefold()
        return written if written in Numbers(connection, written).series else checked_theme(theme)
    counts = Counter(
        name.key
        for path in _paths_in(connection, folder, None if container is None else box["id"] if box else 0)
        if (name := numbered(Path(path).stem)) is not None
    )
    for key, _ in sorted(counts.items(), key=lambda each: (-each[1], each[0])):
        if key in Numbers(connection, key).series:  # and not a series of years
            return key
    return theme_of(container or box_names(connection).get(folder, Path(folder).name))


def _paths_in(connection: Connection, folder: str, box: int | None) -> list[str]:
    """The files of a box (row id), or directly in a folder where no box is meant."""
    s, p = t.scan.c, t.photograph.c
    query = select(s.path, s.page)
    if box is None:
        query = query.where(below(connection, s.path, folder))
    else:
        query = query.join(t.photograph, p.id == s.photograph_id).where(p.container_id == box)
    paths = [file_path(path, page) for path, page in connection.execute(query)]
    return [path for path in paths if box is not None or str(Path(path).parent) == folder]


def notes_about(connection: Connection, scan: FiledScan, theme: str = "") -> tuple[str, ...]:
    """What to look at while a print is still on the glass: its name, beside the `theme` in use, and its picture."""
    return (*_name_notes(connection, scan.path, theme), *findings(connection, scan))


def _name_notes(connection: Connection, path: str, theme: str) -> Iterator[str]:
    """What is odd about the name of a new scan."""
    name = numbered(Path(path).stem)
    if name is None:
        return
    numbers = Numbers(connection, name.theme)
    same = numbers.series[name.key].paths.get(name.number, []) if name.key in numbers.series else []
    stem = Path(path).stem.casefold()
    others = [other for other in same if other != path and Path(other).stem.casefold() == stem]
    if others:
        yield f"{name.stem} is the name of another scan too: {others[0]}."
    left_out = numbers.left_out(name)
    if left_out:
        first = NumberedName(name.theme, left_out[0]).stem
        yield f"{first} was left out." if len(left_out) == 1 else f"{first} and {len(left_out) - 1} more were left out."
    if theme and name.key != theme.casefold() and slips({name.theme: 0, theme: 1}, shortest=3):
        yield f"The name begins with {name.theme}; the next name is of {theme}."
