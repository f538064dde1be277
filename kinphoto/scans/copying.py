"""Copying files and hashing them on the way, several at a time: each byte is read once."""

from __future__ import annotations

import hashlib
import os
import shutil
from collections.abc import Callable, Iterable, Iterator
from itertools import islice
from pathlib import Path
from queue import SimpleQueue
from threading import Thread
from typing import TypeVar, cast
from uuid import uuid4

from kinphoto.scans.workers import cores

T = TypeVar("T")
R = TypeVar("R")
_BLOCK = 1 << 20


def copy_hashed(
    source: str | Path, folder: Path, name: Callable[[str], Path], mtime_ns: int | None = None
) -> tuple[str, int]:
    """Copy a file to the place that `name` gives for its SHA-256, on the same disk as `folder`; its SHA-256 and size.

    The copy has the time of the original, or `mtime_ns`, and gets its name when it is whole. Raises OSError.
    """
    found, size = hashlib.sha256(), 0
    part = folder / f".kinphoto-{os.getpid()}-{uuid4().hex}.part"
    try:
        with Path(source).open("rb", buffering=0) as original, part.open("wb", buffering=0) as copy:
            if mtime_ns is None:
                mtime_ns = os.fstat(original.fileno()).st_mtime_ns
            buffer = memoryview(bytearray(_BLOCK))  # one for all blocks: new memory costs more than copying
            while read := original.readinto(buffer):
                found.update(buffer[:read])
                size += read
                written = 0
                while written < read:
                    written += copy.write(buffer[written:read])
        os.utime(part, ns=(mtime_ns, mtime_ns))
        target = name(found.hexdigest())
        target.parent.mkdir(parents=True, exist_ok=True)
        part.replace(target)
    except BaseException:
        part.unlink(missing_ok=True)
        raise
    return found.hexdigest(), size


def read_back(path: Path) -> str:
    """The SHA-256 of a file as it is on its disk, where the system can forget what it still knows of it. The file must
    have been flushed (`os.sync`). Raises OSError."""
    with path.open("rb", buffering=0) as file:
        if hasattr(os, "posix_fadvise"):
            os.posix_fadvise(file.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)
        return hashlib.file_digest(file, "sha256").hexdigest()


def several_at_once(work: Callable[[T], R], items: Iterable[T]) -> Iterator[tuple[T, R]]:
    """Each item with what `work` makes of it, as they are finished, one thread a processor; few wait at a time.

    Two plain queues: a pool with a future for each costs more than copying a small file.
    """
    count, left, running = cores(), iter(items), 0
    waiting: SimpleQueue[tuple[T] | None] = SimpleQueue()
    done: SimpleQueue[tuple[T, R | None, BaseException | None]] = SimpleQueue()

    def serve() -> None:
        while (each := waiting.get()) is not None and not stopped:
            try:
                done.put((each[0], work(each[0]), None))
            except BaseException as problem:  # raised again where it is waited for
                done.put((each[0], None, problem))

    stopped: list[bool] = []
    threads = [Thread(target=serve, name="copying", daemon=True) for _ in range(count)]
    for thread in threads:
        thread.start()
    try:
        for item in islice(left, 4 * count):
            waiting.put((item,))
            running += 1
        while running:
            item, found, problem = done.get()
            running -= 1
            for more in islice(left, 1):
                waiting.put((more,))
                running += 1
            if problem is not None:
                raise problem
            yield item, cast(R, found)
    finally:
        stopped.append(True)
        for _ in threads:
            waiting.put(None)
        for thread in threads:
            thread.join()


def free_space(folder: Path) -> int:
    """Bytes that can still be written below a folder, which need not be there yet."""
    there = next((each for each in (folder, *folder.parents) if each.exists()), Path("/"))
    return shutil.disk_usage(there).free


def disk_of(path: Path) -> str:
    """What shows whether two places are on one disk: the whole disk of a partition where the system reports it."""
    there = next((each for each in (path, *path.parents) if each.exists()), Path("/"))
    device = there.stat().st_dev
    known = Path(f"/sys/dev/block/{os.major(device)}:{os.minor(device)}")
    if known.exists():
        real = known.resolve()
        return real.parent.name if (real / "partition").exists() else real.name
    return str(device)
