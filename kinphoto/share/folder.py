"""A folder that is given away: what a run writes into it, what it leaves as it is, and what no longer belongs there.

A list in the folder says what kinphoto wrote, from what. So a second run writes only what changed and removes what may
no longer go, and files that somebody else put there are never touched.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Collection, Mapping, Sequence
from contextlib import suppress
from io import FileIO
from itertools import count
from pathlib import Path
from threading import Lock
from typing import NamedTuple
from uuid import uuid4

from kinphoto.errors import ArchiveError, InvalidValueError
from kinphoto.phrases import sized
from kinphoto.scans.copying import free_space
from kinphoto.store.atomic import atomic_write, remove, remove_parts

LIST = "kinphoto-gift.json"


class SplicedFile(NamedTuple):
    """A file made of new bytes and of pieces of another, which the system copies by itself; that is closed then."""

    source: FileIO
    pieces: Sequence[bytes | range]


_PROBLEM = "it cannot be written"


class GiftFolder:
    """A folder of one kind of output for one audience. `written`, `unchanged` and `removed` count its files."""

    def __init__(self, folder: Path, kind: str, audience: str, not_in: Collection[Path]) -> None:
        """Look at the folder, which may be new. Raises InvalidValueError for one inside the archive or its scans, and
        ArchiveError for one with other things in it, or for another audience."""
        self.folder, self._head = folder.absolute(), {"kind": kind, "audience": audience}
        self.written = self.unchanged = self.removed = 0
        self.size = 0
        real = self.folder.resolve()
        for place in not_in:
            inside = place.resolve()
            if real == inside or inside in real.parents or real in inside.parents:
                raise InvalidValueError(
                    "what is given away needs a folder of its own, outside the archive and the scans",
                    where=str(folder), remedy="Name a new folder.",
                )  # fmt: skip
        self._before = self._read()
        self._now: dict[str, list[str | int]] = {}
        self._folders: set[Path] = set()
        self._lock = Lock()
        self._parts, self._numbers = f"{self.folder}/.kinphoto-{os.getpid()}-{uuid4().hex}", count()

    def _read(self) -> dict[str, list[str | int]]:
        try:
            known = json.loads((self.folder / LIST).read_text(encoding="utf-8"))
            head, files = {key: known[key] for key in self._head}, dict(known["files"])
        except FileNotFoundError:
            if self.folder.exists() and (not self.folder.is_dir() or any(self.folder.iterdir())):
                raise ArchiveError(
                    "there is something else in this folder", where=str(self.folder), remedy="Name a new one."
                ) from None
            return {}
        except (OSError, ValueError, KeyError, TypeError) as problem:
            raise ArchiveError(
                f"{LIST} in it cannot be read", where=str(self.folder), remedy="Name a new folder."
            ) from problem
        if head != self._head:
            raise ArchiveError(
                f"this folder holds {head['kind']} for {head['audience']}",
                where=str(self.folder),
                remedy="Name another one, so that nothing goes to the wrong people.",
            )
        return files

    def begin(self, names: Collection[str]) -> None:
        """Note what will be written, so that whatever a run that is stopped half way leaves is known as ours."""
        remove_parts(self.folder)
        self._save({**{name: ["", -1] for name in names}, **self._before})

    def refuse_without_room(self, sizes: Mapping[str, int]) -> None:
        """Raise ArchiveError where the disk has no room for files of these sizes, but for those that are there."""
        needed = sum(size for name, size in sizes.items() if _size(f"{self.folder}/{name}") < 0)
        if needed > (free := free_space(self.folder)):
            raise ArchiveError(
                f"this needs {sized(needed)}, and the disk has {sized(free)} free", where=str(self.folder),
                remedy="Make room, or name a folder on a larger disk.",
            )  # fmt: skip

    def lacks(self, name: str, key: str) -> bool:
        """Whether the file of this name is not there yet from the same key."""
        known = self._before.get(name)
        return known is None or known[0] != key or _size(f"{self.folder}/{name}") != known[1]

    def put(self, name: str, key: str, make: Callable[[], bytes | SplicedFile]) -> None:
        """The file of this name, made where it is not there from the same `key`; several at a time. Raises
        ArchiveError."""
        if not self.lacks(name, key):
            known = self._before[name]
            with self._lock:
                self.unchanged += 1
                self._now[name] = known
                self.size += int(known[1])
            return
        data = make()
        size = self._write(self.folder / name, data)
        with self._lock:
            self.written += 1
            self.size += size
            self._now[name] = [key, size]

    def _write(self, path: Path, data: bytes | SplicedFile) -> int:
        """Write a file whole or not at all. Nobody waits for the disk: it can be made again."""
        part = f"{self._parts}{next(self._numbers)}.part"
        try:
            if path.parent not in self._folders:
                path.parent.mkdir(parents=True, exist_ok=True)
                self._folders.add(path.parent)
            with open(part, "wb", buffering=0) as out:  # noqa: PTH123 (a text is quicker, and there are thousands)
                if isinstance(data, bytes):
                    _write_all(out, data)
                else:
                    _splice(data, out)
                size = out.tell()
            os.replace(part, path)  # noqa: PTH105
            return size
        except BaseException as problem:
            remove(Path(part))
            if not isinstance(problem, OSError):
                raise
            raise ArchiveError(
                f"{_PROBLEM} ({problem.strerror or problem})", where=str(path), remedy="Check free space there."
            ) from problem

    def finish(self) -> None:
        """Remove what no longer belongs there, and note what there is. Raises ArchiveError."""
        for name in self._before.keys() - self._now.keys():
            path = self.folder / name
            if path.is_file():
                path.unlink()
                self.removed += 1
            for above in path.parents:
                if above == self.folder or self.folder not in above.parents:
                    break
                with suppress(OSError):  # something else is in it
                    above.rmdir()
        self._save(self._now)

    def _save(self, files: dict[str, list[str | int]]) -> None:
        by_name = dict(sorted(files.items()))  # the same gift has the same list, whichever file was ready first
        text = json.dumps({**self._head, "files": by_name}, ensure_ascii=False)
        with atomic_write(self.folder / LIST, _PROBLEM) as part:
            part.write_text(text, encoding="utf-8")


def _splice(data: SplicedFile, out: FileIO) -> None:
    """Write the pieces one after another."""
    with data.source as source:
        new: list[bytes] = []
        for piece in data.pieces:
            if isinstance(piece, bytes):
                new.append(piece)
                continue
            _write_all(out, b"".join(new))
            new = []
            _copy_range(source, out, piece)
        _write_all(out, b"".join(new))


def _write_all(out: FileIO, data: bytes) -> None:
    """An unbuffered file may take less at once than it is given."""
    left = memoryview(data)
    while left:
        left = left[out.write(left) :]


_AT_ONCE = 1 << 16
"""Bytes that Linux hands on from file to file at a time: quickest where they begin at a multiple in the new file."""


def _copy_range(source: FileIO, out: FileIO, piece: range) -> None:
    at = piece.start
    if len(piece) > _AT_ONCE:
        before = os.pread(source.fileno(), -out.tell() % _AT_ONCE, at)
        _write_all(out, before)
        at += len(before)
    while at < piece.stop and hasattr(os, "copy_file_range"):
        try:
            done = os.copy_file_range(source.fileno(), out.fileno(), piece.stop - at, at)
        except OSError:  # not between these two file systems
            break
        if not done:
            break
        at += done
    source.seek(at)
    while at < piece.stop:
        some = source.read(min(piece.stop - at, 1 << 20))
        if not some:
            raise OSError("the scan has become shorter while it was copied")
        _write_all(out, some)
        at += len(some)


def _size(path: str) -> int:
    try:
        return os.stat(path).st_size  # noqa: PTH116 (there are thousands, and a text is quicker)
    except OSError:
        return -1
