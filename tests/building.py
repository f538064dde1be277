"""Archives for tests: the sample, made once in a run and copied, and small ones filled as a family would fill them."""

from __future__ import annotations

import fcntl
import os
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from kinphoto.archive import Archive

INDEXED = 738_000
"""The day (29 July 2021) on which the photographs of `archive_with` were indexed: none was taken after it."""


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
