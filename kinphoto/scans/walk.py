"""The image files in the folders somebody names.

Folders are walked in the order of their names, a copy after its original. Links to folders are followed, but no folder
is entered twice, so that circular links come to an end. Only files whose name does not say what they are are opened,
and only their first bytes are read.
"""

from __future__ import annotations

import errno
import os
import re
import stat
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from kinphoto.errors import NotFoundError
from kinphoto.scans.kinds import HEAD, OTHER_SUFFIXES, READ, SAVE_A_COPY, SUFFIXES, suffix, type_of


@dataclass(frozen=True, slots=True)
class FoundFile:
    """An image file. `root` is the folder it was found below (its own folder when the file itself was named)."""

    path: str
    root: str
    size: int
    mtime_ns: int

    @property
    def folder(self) -> str:
        """The folder it is in."""
        return str(Path(self.path).parent)


@dataclass(frozen=True, slots=True)
class Refused:
    """A picture or folder that cannot be read. Bytes of a path that are not UTF-8 are shown as `\\xff`."""

    path: Annotated[str, "what could not be read"]
    why: Annotated[str, "the reason"]


def walk(paths: Sequence[str], leave_out: frozenset[str] = frozenset()) -> Iterator[FoundFile | Refused]:
    """Every image file at or below `paths`, each once; folders in `leave_out` (real paths) are not entered.

    Hidden files and folders and whatever is not a picture are left out. Raises NotFoundError first of all when one of
    the paths does not exist.
    """
    for path in paths:
        if not os.path.lexists(path):
            raise NotFoundError("there is no such file or folder", where=shown(path), remedy="Check the spelling.")
    seen: set[str] = set()
    entered: set[tuple[int, int]] = set()
    for path in paths:
        real = os.path.realpath(path)
        found = _folder(real, real, leave_out, entered) if Path(real).is_dir() else _named(path)
        for each in found:
            if each.path not in seen:
                seen.add(each.path)
                yield each


_COPY = re.compile(r"(?: ?\(\d+\)| - Copy(?: \(\d+\))?| copy(?: \d+)?)(?=\.[^./]*$|$)")


def plain_name(path: str) -> str:
    """The name of the original of a copied file: "a.jpg" for "a (1).jpg", "a - Copy.jpg" and "a copy.jpg"."""
    return _COPY.sub("", path)


def _copies_last(entry: os.DirEntry[str]) -> tuple[str, bool, str]:
    plain = plain_name(entry.name)
    return plain, entry.name != plain, entry.name


def shown(path: str) -> str:
    """A path that can be printed, even when its bytes are not UTF-8."""
    return os.fsencode(path).decode("utf-8", "backslashreplace")


def is_text(path: str) -> bool:
    """False for a path whose bytes are not UTF-8: no scan in an archive has one."""
    try:
        path.encode()
    except UnicodeEncodeError:
        return False
    return True


def _named(path: str) -> Iterator[FoundFile | Refused]:
    """A file that somebody named: treated as a picture whatever it is called."""
    absolute = Path(path).absolute()
    folder, name = os.path.realpath(absolute.parent), absolute.name
    yield from _file(str(Path(folder, name)), folder)


def _folder(
    path: str, root: str, leave_out: frozenset[str], entered: set[tuple[int, int]]
) -> Iterator[FoundFile | Refused]:
    """The files in a folder and below, by name. Not recursive: folders can nest deeper than Python's stack."""
    waiting: list[Iterator[os.DirEntry[str]]] = []
    refused = _enter(path, leave_out, entered, waiting)
    if refused:
        yield refused
    while waiting:
        entry = next(waiting[-1], None)
        if entry is None:
            waiting.pop()
        elif entry.name.startswith("."):
            continue
        elif _is_folder(entry):
            inner = os.path.realpath(entry.path) if entry.is_symlink() else entry.path
            refused = _enter(inner, leave_out, entered, waiting)
            if refused:
                yield refused
        elif _looks_like_a_picture(entry):
            yield from _file(entry.path, root)


def _enter(
    path: str, leave_out: frozenset[str], entered: set[tuple[int, int]], waiting: list[Iterator[os.DirEntry[str]]]
) -> Refused | None:
    """Put a folder's entries on top of those waiting, unless it was entered before or is left out."""
    if not is_text(path):
        return Refused(shown(path), "the folder's name is not valid UTF-8; rename it, then add it again")
    if path in leave_out:
        return None
    try:
        state = Path(path).stat()
        if (state.st_dev, state.st_ino) in entered:
            return None
        entered.add((state.st_dev, state.st_ino))
        with os.scandir(path) as entries:
            waiting.append(iter(sorted(entries, key=_copies_last)))
    except OSError as problem:
        return Refused(path, f"the folder cannot be opened ({problem.strerror}); check that you may read it")
    return None


def _is_folder(entry: os.DirEntry[str]) -> bool:
    try:
        return entry.is_dir()
    except OSError:
        return False


def _looks_like_a_picture(entry: os.DirEntry[str]) -> bool:
    """By its suffix, else by its first bytes."""
    ending = suffix(entry.name)
    if ending in SUFFIXES or ending in OTHER_SUFFIXES:
        return True
    try:
        if not entry.is_file():
            return False
        with Path(entry.path).open("rb") as file:
            return type_of(file.read(HEAD)) is not None
    except OSError:
        return False


def _file(path: str, root: str) -> Iterator[FoundFile | Refused]:
    """One file that is or should be a picture. Pipes, devices and the like are left out."""
    other = OTHER_SUFFIXES.get(suffix(path))
    if not is_text(path):
        yield Refused(shown(path), "its name is not valid UTF-8; rename it, then add it again")
    elif other is not None:
        yield Refused(path, f"it is {other}; kinphoto reads {READ}: {SAVE_A_COPY}")
    else:
        try:
            state = Path(path).stat()
        except FileNotFoundError:
            yield Refused(path, "it is a link to a file that does not exist; correct the link or remove it")
        except OSError as problem:
            circle = problem.errno == errno.ELOOP
            why = "it is a circular link" if circle else f"it cannot be opened ({problem.strerror})"
            yield Refused(path, f"{why}; {'correct the link or remove it' if circle else 'check that you may read it'}")
        else:
            if stat.S_ISREG(state.st_mode):
                yield FoundFile(path, root, state.st_size, state.st_mtime_ns)
