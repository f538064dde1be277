"""Writing a file atomically: it is complete or not there at all, even if the program or the power fails half way.

It is written beside its place under another name and then renamed. What a killed process leaves under such a name is
ignored, and removed by the next write to the same folder an hour later.
"""

from __future__ import annotations

import os
import shutil
import stat
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from uuid import uuid4

from kinphoto.errors import ArchiveError

_STALE = 3600  # seconds after which nobody is still writing a part


@contextmanager
def atomic_write(
    path: Path,
    problem: str,
    remedy: str = "Check free space and permissions there.",
    *,
    within: Path | None = None,
    durable: bool = True,
    private: bool = False,
) -> Iterator[Path]:
    """Where to write what becomes `path` when the block ends; a block that removes it again changes nothing.

    It is in the folder `within`, otherwise in that of `path`; both are created if missing. A replaced file passes its
    permissions on to the new one; a `private` one is for its owner alone. What can be made again need not be `durable`:
    then nobody waits for the disk, and it may be a folder. Raises ArchiveError, which begins with `problem` ("the tree
    cannot be written"), when anything about it fails, and leaves nothing behind.
    """
    folder = within or path.parent
    part = folder / f".kinphoto-{os.getpid()}-{uuid4().hex}.part"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        path.parent.mkdir(parents=True, exist_ok=True)
        remove_parts(folder)
        if private:
            os.close(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600))
        yield part
        if durable and part.exists():
            _sync(part, path, private)
        if part.exists():
            _move_into_place(part, path)
        if durable:
            flush_names(path.parent)
    except OSError as cause:
        raise ArchiveError(f"{problem} ({cause.strerror or cause})", where=str(path), remedy=remedy) from cause
    finally:
        remove(part)


@dataclass
class NewFolder:
    """A folder that is being filled as `part`, and `path`, where it is once it is whole."""

    part: Path
    path: Path = Path()


@contextmanager
def new_folder(
    place: Path,
    name: str,
    problem: str,
    remedy: str = "Check that the disk is plugged in, has room and may be written to.",
) -> Iterator[NewFolder]:
    """A folder to fill, which is in `place` under a free name when the block ends, with everything in it on the disk.

    Raises ArchiveError, which begins with `problem` ("the package cannot be written"), when anything about it fails,
    and leaves nothing behind.
    """
    made = NewFolder(place / f".kinphoto-{os.getpid()}-{uuid4().hex}.part")
    try:
        place.mkdir(parents=True, exist_ok=True)
        remove_parts(place)
        yield made
        made.path = free_name(place, name)
        os.sync()
        made.part.rename(made.path)
        os.sync()
    except OSError as cause:
        raise ArchiveError(f"{problem} ({cause.strerror or cause})", where=str(place), remedy=remedy) from cause
    finally:
        remove(made.part)


def free_name(folder: Path, name: str) -> Path:
    """A path in a folder that nothing has yet: of this name, or counted on from 2."""
    names = (name if number == 1 else f"{name}-{number}" for number in range(1, 10_000))
    return next(folder / each for each in names if not (folder / each).exists())


def remove(path: Path) -> None:
    """Remove a file or folder, if it is there and can be removed."""
    with suppress(OSError):  # a name that is too long cannot even be looked for
        if path.is_dir() and not path.is_symlink():
            shutil.rmtree(path, ignore_errors=True)
        else:
            path.unlink()


def remove_parts(folder: Path, process: int | None = None) -> None:
    """Remove half-written files from a folder: those of a `process` that has ended, or all that are an hour old."""
    begins = f".kinphoto-{process}-" if process else ".kinphoto-"
    with suppress(OSError):  # no such folder, or somebody else was quicker
        for name in os.listdir(folder):  # noqa: PTH208 (it takes half the time, and a thumbnail is soon written)
            part = folder / name
            if (
                name.startswith(begins)
                and name.endswith(".part")
                and (process or part.stat().st_mtime < time.time() - _STALE)
            ):
                remove(part)


def _sync(part: Path, path: Path, private: bool) -> None:
    """Flush its bytes to the disk before it gets its name, and set its permissions."""
    with part.open("rb+") as file:
        os.fsync(file.fileno())
    with suppress(FileNotFoundError):
        if not private:
            part.chmod(stat.S_IMODE(path.stat().st_mode))


def _move_into_place(part: Path, path: Path) -> None:
    try:
        part.replace(path)
    except OSError:
        if not (part.is_dir() and path.is_dir()):  # a folder of the same is there already
            raise


def flush_names(folder: Path | str) -> None:
    """Flush new names in a folder to the disk, where the system allows that for folders."""
    with suppress(OSError):
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
