"""Renaming many files as one step: all of them, or none, whatever happens in the middle.

What is about to be done is written down first, in a file of the archive. Each file then gets its new name before it
loses the old one (a second link to the same bytes), so there is no moment without either, and a name that is taken is
never given. On disks without such links the new name is reserved by an empty file first. When a rename fails, those
before it are reversed; after a kill the next command does that, by what was written down. No file is opened for writing
but that reservation.
"""

from __future__ import annotations

import errno
import json
import os
from collections import Counter
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NamedTuple
from uuid import uuid4

from kinphoto.errors import ArchiveError
from kinphoto.store.atomic import atomic_write, flush_names, remove

FILE = "renaming.json"
"""In the archive's folder while files are being renamed, and afterwards only where that was interrupted."""
_NO_LINKS = {errno.EPERM, errno.EOPNOTSUPP, errno.ENOTSUP, errno.ENOSYS, errno.EMLINK, errno.EXDEV}


class FileMove(NamedTuple):
    """One file and its new path."""

    old: str
    new: str


@dataclass(frozen=True)
class Renaming:
    """Files that are about to get other names, each with what it is recognised by."""

    token: str
    moves: tuple[FileMove, ...]
    marks: tuple[tuple[int, int], ...]
    """Size and time of each."""


def begin(folder: Path, moves: Sequence[FileMove]) -> Renaming:
    """Write down what is about to be renamed. Raises ArchiveError when a file is gone, a new name is taken, or it
    cannot be written down; then nothing was renamed."""
    wanted = Counter(move.new for move in moves)
    for move in moves:
        if os.path.lexists(move.new) or wanted[move.new] > 1:
            raise ArchiveError(
                "something has this name already, so nothing was renamed", where=move.new,
                remedy="Move it elsewhere or give it another name, then try again.",
            )  # fmt: skip
    renaming = Renaming(uuid4().hex, tuple(moves), tuple(_mark(move.old) for move in moves))
    with atomic_write(folder / FILE, "the names cannot be written down, so nothing was renamed") as part:
        part.write_text(json.dumps({"token": renaming.token, "moves": renaming.moves, "marks": renaming.marks}))
    return renaming


def carry_out(renaming: Renaming) -> None:
    """Rename the files. Raises ArchiveError when one cannot be; then all have their old names."""
    move = None
    try:
        for move in renaming.moves:
            _move(move.old, move.new, renaming.token)
        for folder in {str(Path(path).parent) for each in renaming.moves for path in each}:
            flush_names(folder)
    except OSError as problem:
        left = reverse(renaming)
        kept = "" if not left else f"; {left[0]} could not get its old name back"
        raise ArchiveError(
            f"it cannot be renamed ({problem.strerror}), so nothing was renamed{kept}",
            where="" if move is None else move.old,
            remedy="Check free space and permissions there, then try again.",
        ) from problem


def reverse(renaming: Renaming) -> list[str]:
    """Give the files their old names again, as far as they have the new ones. Returns those that it failed for."""
    failed = []
    for move, mark in zip(reversed(renaming.moves), reversed(renaming.marks), strict=True):
        try:
            _reverse(move, mark, renaming.token)
        except OSError:
            failed.append(move.new)
    return failed


def pending(folder: Path) -> Renaming | None:
    """What was written down and not ended."""
    try:
        found: dict[str, Any] = json.loads((folder / FILE).read_text())
    except FileNotFoundError:
        return None
    except (OSError, ValueError) as problem:
        raise ArchiveError(
            f"the list of files that were being renamed cannot be read ({problem})", where=str(folder / FILE),
            remedy="Check the names of your scans, then move this file elsewhere.",
        ) from problem  # fmt: skip
    moves = tuple(FileMove(*each) for each in found["moves"])
    return Renaming(found["token"], moves, tuple((size, time) for size, time in found["marks"]))


def end(folder: Path, renaming: Renaming) -> None:
    """It is done, or reversed."""
    begun = pending(folder)
    if begun is not None and begun.token == renaming.token:
        remove(folder / FILE)
        flush_names(folder)


def _mark(path: str) -> tuple[int, int]:
    try:
        state = os.lstat(path)
    except OSError as problem:
        raise ArchiveError(
            f"it cannot be found ({problem.strerror}), so nothing was renamed", where=path,
            remedy="If it was moved, add its folder again: kinphoto scans add.",
        ) from problem  # fmt: skip
    return state.st_size, state.st_mtime_ns


def _move(old: str, new: str, token: str) -> None:
    try:
        os.link(old, new, follow_symlinks=False)
    except OSError as problem:
        if problem.errno not in _NO_LINKS:
            raise
        _reserve(new, token)
        os.rename(old, new)  # noqa: PTH104
        return
    os.unlink(old)  # noqa: PTH108


def _reserve(path: str, token: str) -> None:
    """Make sure that the name is ours; raises FileExistsError when somebody has it."""
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        os.write(descriptor, token.encode())
    finally:
        os.close(descriptor)


def _reverse(move: FileMove, mark: tuple[int, int], token: str) -> None:
    if not os.path.lexists(move.new):
        return
    if not os.path.lexists(move.old):
        if _mark_or_none(move.new) == mark:
            _move(move.new, move.old, token)
        return
    one, other = os.lstat(move.old), os.lstat(move.new)
    same = (one.st_dev, one.st_ino) == (other.st_dev, other.st_ino)
    if same or _is_reservation(move.new, token):
        os.unlink(move.new)  # noqa: PTH108


def _is_reservation(path: str, token: str) -> bool:
    """Whether this is the file by which a name was reserved, perhaps before anything was in it."""
    with Path(path).open("rb") as file:
        return token.encode().startswith(file.read(len(token) + 1)) and not Path(path).is_symlink()


def _mark_or_none(path: str) -> tuple[int, int] | None:
    with suppress(ArchiveError):
        return _mark(path)
    return None
