"""Shared by all tests: which kinphoto is under test, and a place where others may only read."""

from __future__ import annotations

import gc
import os
import shutil

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before NumPy is loaded: the tests share the processors among them

import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path

import loaded_first
import pytest
from building import (
    MEASURING,
    OF_PICTURES,
    CompiledOnce,
    CreatedOnce,
    MeasuredHere,
    Remembered,
    SeenBefore,
    copied,
    made_once,
    of_the_run,
    sharing_what_ifs,
)
from hypothesis import settings
from sqlalchemy import Engine, create_engine
from sqlalchemy.engine import URL

import kinphoto
from kinphoto.archive import Archive
from kinphoto.archive.dates import whole
from kinphoto.archive.dates.contributions import WhatIf
from kinphoto.archive.sample import build
from kinphoto.reason.advice import hindsight, question
from kinphoto.scans.workers import Workers
from kinphoto.store import opening

settings.register_profile("here", deadline=None)  # no test fails because a machine is busy
settings.register_profile("ci", derandomize=True, deadline=None)
# In CI the same examples every time: a change is judged by what it changes.
settings.load_profile("ci" if os.environ.get("CI") else "here")


def _engine(url: str | URL) -> Engine:
    return create_engine(url, execution_options={"compiled_cache": CompiledOnce(500)})


opening.create_engine = _engine  # type: ignore[attr-defined]
opening.create = CreatedOnce(opening.create)


def pytest_configure() -> None:
    """With KINPHOTO_WHEEL set, refuse to test the source tree instead of the installed wheel."""
    source = Path(__file__).parents[1] / "kinphoto"
    if os.environ.get("KINPHOTO_WHEEL") and Path(kinphoto.__file__).parent == source:
        raise RuntimeError("the tests would import the source tree, not the wheel; run `sh .ci/test`")


@pytest.hookimpl(wrapper=True)
def pytest_collection() -> Iterator[None]:
    """Nothing of what is loaded by the time the tests are collected will ever be thrown away, so Python need not look
    through it again and again: then, or later."""
    gc.disable()
    yield
    loaded_first.loaded()
    gc.collect()
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)
    gc.enable()


MORE_FILES = 200
"""Files that a process of tests may leave open until those are closed that nobody can reach; a system allows a thousand
or so."""
_still_open = [0]


def pytest_runtest_logfinish() -> None:
    """What tests have opened and not closed is closed before it is too much, and not looked for after each of them."""
    if _open_files() > _still_open[0] + MORE_FILES:
        gc.collect()
        _still_open[0] = _open_files()


def _open_files() -> int:
    return sum(1 for _ in Path("/dev/fd").iterdir())


NOBODY = 65534
"""A user who owns nothing."""


@contextmanager
def _without_rights() -> Iterator[None]:
    if os.geteuid() != 0:  # permissions hold for us already
        yield
        return
    os.setresgid(NOBODY, NOBODY, 0)
    os.setresuid(NOBODY, NOBODY, 0)
    try:
        yield
    finally:
        os.setresuid(0, 0, 0)
        os.setresgid(0, 0, 0)


@pytest.fixture
def in_time_zone(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[str], None]]:
    """`in_time_zone("EST5")`: from now on the clock on the wall is that of a place where it is five hours earlier than
    in UTC (POSIX.1-2017, 8.3, on TZ)."""

    def moved(zone: str) -> None:
        monkeypatch.setenv("TZ", zone)
        time.tzset()

    yield moved
    monkeypatch.undo()
    time.tzset()


@pytest.fixture
def without_rights() -> Callable[[], AbstractContextManager[None]]:
    """`with without_rights():` permissions of files hold, also where the tests are run by root, who may do anything.

    Whatever is imported inside must have been imported before: the files of Python may be out of reach.
    """
    return _without_rights


@pytest.fixture(scope="session", autouse=True)
def measured_here() -> Iterator[None]:
    """Scans are measured and searched for faces in the process of the test, also where an archive is made once for many
    tests, and in that of a command."""
    with pytest.MonkeyPatch.context() as patch:
        for module in MEASURING:
            patch.setattr(module, "Workers", MeasuredHere)
        yield


@pytest.fixture
def by_processes(monkeypatch: pytest.MonkeyPatch) -> None:
    """That is done by processes, as it is for everybody: in tests of indexing that look at that, and some of faces."""
    for module in MEASURING:
        monkeypatch.setattr(module, "Workers", Workers)


@pytest.fixture(scope="session", autouse=True)
def reasoned_once() -> Iterator[None]:
    """What follows from the sample is worked out once in a process, and again when a test has changed it."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(whole, "_dated", Remembered(whole._dated, 1))
        patch.setattr(question, "questions", Remembered(question.questions, 4))
        patch.setattr(hindsight, "hindsight", Remembered(hindsight.hindsight, 1))
        patch.setattr(WhatIf, "__init__", sharing_what_ifs(WhatIf.__init__))
        yield


@pytest.fixture(scope="session", autouse=True)
def seen_once() -> Iterator[None]:
    """What pages of backs, of beds and of photographed prints ask of a picture is looked for once in a process."""
    with pytest.MonkeyPatch.context() as patch:
        for module, name in OF_PICTURES:
            patch.setattr(module, name, SeenBefore(getattr(module, name)))
        yield


@pytest.fixture(scope="session")
def sample(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of the sample archive, built once in a run. It is only copied, never opened."""
    return made_once(of_the_run(tmp_path_factory) / "sample", lambda folder: build(folder).archive.close())


@pytest.fixture(scope="session")
def shared_sample(sample: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Archive]:
    """The sample for all tests that change nothing in it; when the last has ended, nothing may have changed."""
    archive = copied(sample, tmp_path_factory.mktemp("shared") / "sample")
    before = archive.statements.history(1)
    yield archive
    assert archive.statements.history(1) == before, "a test changed the sample that others read; use `own_sample`"
    archive.close()


@pytest.fixture
def own_sample(sample: Path, tmp_path: Path) -> Iterator[Archive]:
    """A copy of the sample that one test may change."""
    archive = copied(sample, tmp_path / "sample")
    yield archive
    archive.engine.dispose()


@pytest.fixture
def shared() -> Iterator[Path]:
    """A folder that everybody may look into, unlike `tmp_path`."""
    with tempfile.TemporaryDirectory(prefix="kinphoto-test-") as name:
        Path(name).chmod(0o755)
        yield Path(name)
        for folder, _, _ in os.walk(name):
            Path(folder).chmod(0o755)  # so that it can be thrown away


@pytest.fixture(scope="session")
def searched_portraits(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An archive with real faces, turned on and searched, made once in a run. It is only copied, never opened."""
    import portraits  # for these tests alone

    return made_once(of_the_run(tmp_path_factory) / "portraits", portraits.searched) / "archive"


@pytest.fixture
def own_portraits(searched_portraits: Path, tmp_path: Path) -> Iterator[Archive]:
    """A copy of it, for a test that changes something."""
    shutil.copytree(searched_portraits, tmp_path / "archive")
    archive = Archive.open(tmp_path / "archive")
    yield archive
    archive.close()
