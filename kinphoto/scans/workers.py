"""Measuring many scans at once, one process per core.

Each thread of a small pool owns one process, which gets one path at a time and answers with a measurement. Plain
processes and pipes instead of `multiprocessing`, for four reasons: the workers import only what measuring needs; a path
that ends its worker (a decoder crashes, the system is out of memory) is known immediately and the only one lost; Ctrl-C
does not reach them; and when the caller is killed their pipe closes and they end.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import threading
from collections.abc import Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Any

from kinphoto.errors import ArchiveError, UnreadableFileError
from kinphoto.store.atomic import remove_parts

_CODE = "from kinphoto.scans.worker import serve; serve()"
READY = "ready\n"
"""The first line of a worker."""

_GIGABYTE = 1_000_000_000


@dataclass(frozen=True, slots=True)
class FileMeasured:
    """The pictures in a file, each as the fields of a `Measurement`, why some of its pages cannot be read, and the
    fields of the `Measures` of each picture where they were checked along with it."""

    scans: list[dict[str, Any]]
    unread: list[UnreadableFileError]
    checks: list[dict[str, Any]]


Answer = FileMeasured | UnreadableFileError
"""What is in a file, or why nothing of it can be read."""


def cores() -> int:
    """How many processors this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def physical_memory() -> int:
    """Bytes of memory this computer has."""
    try:
        return os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES")
    except (AttributeError, ValueError, OSError):  # not available on every system; nearly every computer has this much
        return 8 * _GIGABYTE


class Workers:
    """Processes that measure scans and store thumbnails under `thumbs`. A context, whose end stops them."""

    def __init__(self, thumbs: Path, count: int) -> None:
        self._count = max(count, 1)
        self._thumbs = thumbs
        self._pool = ThreadPoolExecutor(self._count, thread_name_prefix="measuring")
        self._own = threading.local()
        self._processes: set[subprocess.Popen[str]] = set()
        self._alone = threading.Lock()
        self._stopped = False

    def __enter__(self) -> Workers:
        return self

    def __exit__(
        self, _kind: type[BaseException] | None, _problem: BaseException | None, _trace: TracebackType | None
    ) -> None:
        self._stopped = True
        for process in list(self._processes):
            process.kill()
        self._pool.shutdown(cancel_futures=True)
        for process in self._processes:
            self._end(process)

    def start(self) -> None:
        """Start the processes already, with all they need to check a scan, so that the first one does not wait."""
        for _ in range(self._count):
            self._pool.submit(self._ask, {"load": True})

    def measure(self, requests: Iterable[tuple[str, str | None]], *, check: bool = False) -> Iterator[Answer]:
        """One answer for each (path, SHA-256 when known), in the order of the requests; with `check` how good each scan
        is, too."""
        return self._pool.map(lambda request: self._answer(request[0], request[1], check), requests)

    def check(self, requests: Iterable[tuple[str, int]]) -> Iterator[dict[str, Any] | UnreadableFileError]:
        """The fields of the `Measures` of each (path, page of the file or 0), in the order of the requests."""

        def checked(request: tuple[str, int]) -> dict[str, Any] | UnreadableFileError:
            reply = self._reply(request[0], {"check": request[1]})
            return reply if isinstance(reply, UnreadableFileError) else dict(reply["checks"])

        return self._pool.map(checked, requests)

    def find_faces(self, requests: Iterable[tuple[str, int, bool]]) -> Iterator[dict[str, Any] | UnreadableFileError]:
        """The `faces` and the `turn` of each (path, page of the file or 0, whether it is shown as a positive), in the
        order of the requests."""
        return self._pool.map(lambda request: self._reply(request[0], {"find_faces": request[1:]}), requests)

    def describe_faces(
        self, requests: Iterable[tuple[str, int, bool, list[Any]]]
    ) -> Iterator[dict[str, Any] | UnreadableFileError]:
        """The `descriptors` of the faces (given by their points) of each (path, page, positive, faces), in the
        order of the requests."""
        return self._pool.map(lambda request: self._reply(request[0], {"describe_faces": request[1:]}), requests)

    def find_on_details(
        self, requests: Iterable[tuple[str, int, bool, tuple[str, int, bool]]]
    ) -> Iterator[dict[str, Any] | UnreadableFileError]:
        """The `faces` of each detail (path, page, positive, and the same of its front), placed on the front, in the
        order of the requests."""
        return self._pool.map(lambda request: self._reply(request[0], {"find_on_detail": request[1:]}), requests)

    def describe_frames(
        self, requests: Iterable[tuple[str, int, bool, list[Any], int]]
    ) -> Iterator[dict[str, Any] | UnreadableFileError]:
        """What is `described` (points and descriptor) in the frames of each (path, page, positive, frames, quarters to
        the right that stand it upright), in the order of the requests."""
        return self._pool.map(lambda request: self._reply(request[0], {"describe_frames": request[1:]}), requests)

    def _answer(self, path: str, sha256: str | None, check: bool) -> Answer:
        reply = self._reply(path, {"sha256": sha256, "thumbs": str(self._thumbs), "along": check})
        if isinstance(reply, UnreadableFileError):
            return reply
        return FileMeasured(reply["scans"], [UnreadableFileError(**each) for each in reply["unread"]], reply["along"])

    def _reply(self, path: str, wanted: dict[str, Any]) -> dict[str, Any] | UnreadableFileError:
        """Read beside others; after a crash or with too little memory a second time, alone."""
        reply = self._ask({"path": path, **wanted, "memory": physical_memory() // (2 * self._count)})
        if reply is None or "needs" in reply:
            with self._alone:
                reply = self._ask({"path": path, **wanted, "memory": physical_memory() // 2})
        if reply is None:
            return UnreadableFileError(
                "the program that reads pictures crashed on it: it is damaged, or too large for this computer's memory",
                where=path,
                remedy="Scan it again, or save a smaller copy.",
            )
        if "needs" in reply:
            amount = f"{reply['needs'] / _GIGABYTE:.1f} GB of memory, more" if reply["needs"] else "more memory"
            return UnreadableFileError(
                f"opening it takes {amount} than this computer can spare",
                where=path,
                remedy="Save a smaller copy, or save it in parts.",
            )
        if "stop" in reply:
            raise ArchiveError(**reply["stop"])
        if "why" in reply:
            return UnreadableFileError(**reply["why"])
        return reply

    def _ask(self, request: dict[str, Any]) -> dict[str, Any] | None:
        """What this thread's process replies; None when it ended instead."""
        process = self._process()
        try:
            print(json.dumps(request), file=process.stdin, flush=True)
            line = process.stdout.readline()  # type: ignore[union-attr]
        except OSError:
            line = ""
        if line.endswith("\n"):
            reply: dict[str, Any] = json.loads(line)
            return reply
        self._own.process = None
        self._processes.discard(process)
        self._end(process)
        return None

    def _process(self) -> subprocess.Popen[str]:
        """This thread's process, started when there is none."""
        process: subprocess.Popen[str] | None = getattr(self._own, "process", None)
        if process is None:
            if self._stopped:
                raise RuntimeError("the workers were stopped")
            process = self._own.process = _start()
            self._processes.add(process)
        return process

    def _end(self, process: subprocess.Popen[str]) -> None:
        """Make sure it has ended, and remove a thumbnail it may have left half written."""
        process.kill()
        process.wait()
        remove_parts(self._thumbs, process.pid)
        for pipe in (process.stdin, process.stdout):
            if pipe:
                with suppress(OSError):  # the rest of a request that nobody will read
                    pipe.close()


def _start() -> subprocess.Popen[str]:
    """A worker that finds the same modules as this process and does not depend on its terminal or folder."""
    places = os.pathsep.join(place for place in sys.path if place)
    process = subprocess.Popen(
        [sys.executable, "-P", "-c", _CODE],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        encoding="utf-8",
        env={**os.environ, "PYTHONPATH": places, "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"},
        start_new_session=True,
    )
    if process.stdout is None or process.stdout.readline() != READY:
        raise ArchiveError(
            "the program that reads pictures does not start", where=sys.executable, remedy="Install kinphoto again."
        )
    return process
