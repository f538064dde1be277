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


def findings(folder: Path) -> list[str]:
    """What the checker says against all pages in a folder and the folders in it, errors and warnings, one line each."""
    assert CHECKER.is_file(), f"the checker is not at {CHECKER}: `sh .ci/test` fetches it"
    options = ["--format", "json", "--exit-zero-always", "--stdout"]
    command = ["java", *QUICK, "-jar", CHECKER, *options, *folder.rglob("*.html")]
    run = subprocess.run(command, capture_output=True, check=True, timeout=300)
    return [
        f"{'/'.join(found['url'].split('/')[-2:])}:{found.get('lastLine')}: {found['message']} "
        f"[{found.get('extract', '')!r}]"
        for found in json.loads(run.stdout)["messages"]
    ]


def keep(folder: Path, pages: dict[str, bytes]) -> None:
    """Write each page to a file named after what it is."""
    folder.mkdir()
    for name, page in pages.items():
        (folder / f"{name.replace(' ', '-')}.html").write_bytes(page)


MISTAKES = {
    "a list without an item": "<ul><p>no item</p></ul>",
    "a picture without words": "<img src='a.jpg'>",
    "one id twice": "<p id='a'></p><p id='a'></p>",
}


@pytest.fixture(scope="module")
def complaints(served: Served, shared_sample: Archive, tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    """What the checker says against the pages of the sample as the keeper sees them and as somebody in the house does
    who has not signed in, against those of a new archive, and against pages with a mistake."""
    folder = tmp_path_factory.mktemp("checked")
    keep(folder / "keeper", {name: fetched(served.address + path) for name, path in PAGES.items()})
    house = Served(shared_sample, open_to_house=True)
    keep(folder / "house", {name: fetched(house.address + path) for name, path in PAGES.items()})
    house.stop()
    empty = Served(Archive.create(tmp_path_factory.mktemp("new") / "family"))
    without = {name: path for name, path in PAGES.items() if "/photograph/" not in path and "/box/" not in path}
    keep(folder / "empty", {name: fetched(empty.address + path) for name, path in without.items()})
    empty.stop()
    page = "<!doctype html><html lang=en><title>A</title><body>"
    keep(folder / "mistakes", {name: f"{page}{mistake}".encode() for name, mistake in MISTAKES.items()})
    return findings(folder)


@pytest.mark.parametrize("whose", ["keeper", "empty", "house"])
def test_every_page_is_valid(complaints: list[str], whose: str) -> None:
    """No error and no warning on any page: of the sample for its keeper, of a new archive, and of the sample for
    somebody in the house who has not signed in."""
    assert [one for one in complaints if one.startswith(f"{whose}/")] == []


@pytest.mark.parametrize("mistake", MISTAKES)
def test_the_checker_checks(complaints: list[str], mistake: str) -> None:
    """A list without an item, a picture without words, and one id twice: the checker finds each."""
    assert any(one.startswith(f"mistakes/{mistake.replace(' ', '-')}.html:") for one in complaints)
