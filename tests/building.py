"""Archives for tests: the sample, made once in a run and copied, and small ones filled as a family would fill them."""

from __future__ import annotations

import fcntl
import json
import os
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from kinphoto.archive import Archive
from kinphoto.scans.worker import reply
from kinphoto.scans.workers import Workers


class MeasuredHere(Workers):
    """Measures scans in this process, one after another: to start another takes longer than most tests."""

    def __init__(self, thumbs: Path, count: int) -> None:
        super().__init__(thumbs, min(count, 1))

    def _ask(self, path: str, sha256: str | None, memory: int) -> dict[str, Any]:
        request = {"path": path, "sha256": sha256, "thumbs": str(self._thumbs), "memory": memory}
        found: dict[str, Any] = json.loads(json.dumps(reply(request)))
        return found


def made_once(folder: Path, make: Callable[[Path], object]) -> Path:
    """`folder`, filled by `make` unless another process of this run did so or is about to."""
    with folder.with_name(folder.name + ".lock").open("a+") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        lock.seek(0)
        if not lock.read():
            shutil.rmtree(folder, ignore_errors=True)  # what is left of an attempt that failed
            make(folder)
            lock.write("made")
    return folder


def of_the_run(temporary: pytest.TempPathFactory) -> Path:
    """A folder that the processes of one run share: pytest-xdist gives each a folder of its own inside it."""
    own = temporary.getbasetemp()
    return own.parent if "PYTEST_XDIST_WORKER" in os.environ else own


def copied(folder: Path, to: Path) -> Archive:
    """A copy of an archive, opened. Of the pictures nothing but the names is copied, for nobody writes to them."""
    shutil.copytree(folder, to, copy_function=_link_unless_rows)
    return Archive.open(to)


def _link_unless_rows(source: str, target: str) -> None:
    (shutil.copy2 if Path(source).name.startswith("kinphoto.db") else os.link)(source, target)
