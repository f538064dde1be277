"""Every page is valid HTML: checked by the Nu Html Checker, the validator of the W3C, all pages in one run of it.

`sh .ci/test` fetches it from the npm registry (package vnu-jar) into .venv/vnu; it needs Java. Where it is missing
these tests fail.
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from urllib.error import HTTPError
from urllib.request import urlopen

import pytest

from kinphoto.archive import Archive

from .conftest import Served
from .pages import PAGES

QUICK = ("-XX:TieredStopAtLevel=1", "-XX:+UseSerialGC", "-Xss2m")
"""It runs for a second or two: too short a time to compile it well for."""
CHECKER = Path(sys.prefix, "vnu", "node_modules", "vnu-jar", "build", "dist", "vnu.jar")


def fetched(address: str) -> bytes:
    """The page as a browser gets it, also when it says that something is not there."""
    try:
        with urlopen(address, timeout=60) as answer:
            return answer.read()
    except HTTPError as answer:
        return answer.read()


def findings(files: list[Path]) -> list[str]:
    """What the checker says against these files, errors and warnings, one line each."""
    assert CHECKER.is_file(), f"the checker is not at {CHECKER}: `sh .ci/test` fetches it"
    run = subprocess.run(
        ["java", *QUICK, "-jar", CHECKER, "--format", "json", "--exit-zero-always", "--stdout", *files],
        capture_output=True, check=True, timeout=300,
    )  # fmt: skip
    return [
        f"{said['url'].rpartition('/')[2]}:{said.get('lastLine')}: {said['message']} [{said.get('extract', '')!r}]"
        for said in json.loads(run.stdout)["messages"]
    ]


def kept(folder: Path, address: str, pages: dict[str, str]) -> list[Path]:
    """These pages, each in a file named after what it is."""
    files = [folder / f"{name.replace(' ', '-')}.html" for name in pages]
    for file, path in zip(files, pages.values(), strict=True):
        file.write_bytes(fetched(address + path))
    return files


def test_every_page_is_valid(served: Served, tmp_path: Path) -> None:
    """No error and no warning on any page of the sample, as its keeper sees it."""
    assert findings(kept(tmp_path, served.address, PAGES)) == []


def test_pages_with_nothing_on_them_are_valid(empty: Served, tmp_path: Path) -> None:
    """Neither on those of a new archive."""
    pages = {name: path for name, path in PAGES.items() if "/photograph/" not in path and "/box/" not in path}
    assert findings(kept(tmp_path, empty.address, pages)) == []


def test_pages_for_the_house_are_valid(shared_sample: Archive, tmp_path: Path) -> None:
    """Nor as somebody in the house sees them who has not signed in."""
    pages = Served(shared_sample, open_to_house=True)
    try:
        assert findings(kept(tmp_path, pages.address, PAGES)) == []
    finally:
        pages.stop()


@pytest.mark.parametrize("mistake", ["<ul><p>no item</p></ul>", "<img src='a.jpg'>", "<p id='a'></p><p id='a'></p>"])
def test_the_checker_checks(tmp_path: Path, mistake: str) -> None:
    """A list without an item, a picture without words, and one id twice: the checker finds each."""
    page = tmp_path / "page.html"
    page.write_text(f"<!doctype html><html lang=en><title>A</title><body>{mistake}", encoding="utf-8")
    assert findings([page])
