"""Names, captions and days of somebody living that were recorded from the files of the scans get into no output."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from building import brought_along
from hiding import is_shown, secrets_in, take_from_files

from kinphoto.archive import Archive
from kinphoto.archive.giving.copies import BESIDE, CopyOptions
from kinphoto.archive.giving.selection import Wanted

OUTPUTS: dict[str, Callable[[Archive, Path, str], object]] = {
    "copies": lambda a, out, to: a.give.write_copies(out / "copies", to, write=True),
    "sidecars": lambda a, out, to: a.give.write_copies(out / "beside", to, Wanted(), CopyOptions(BESIDE), write=True),
    "small copies": lambda a, out, to: a.give.write_copies(
        out / "small", to, Wanted(), CopyOptions(edge=300), write=True
    ),
    "site": lambda a, out, to: a.give.write_site(out / "site", to, write=True, rights_asked=True),
    "deposit": lambda a, out, to: a.give.make_deposit(out / "deposit", to, write=True, rights_asked=True),
    "prints": lambda a, out, to: a.give.write_prints(to, folder=out / "prints", write=True),
    "sheets": lambda a, out, to: a.give.write_sheets(out / "sheets.pdf", "Cousin Ruth", to, write=True),
}


@pytest.fixture(scope="module")
def filed_once(planted_once: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with that archive."""
    place = tmp_path_factory.mktemp("filed")
    shutil.copytree(planted_once / "archive", place / "archive")
    archive = Archive.open(place / "archive")
    take_from_files(archive)
    taken = archive.scans.take_names("Zelda Quickenborough", "I3")
    assert "K00001" in taken.photographs
    archive.dates.refresh()
    archive.close()
    return place


@pytest.fixture
def filed(filed_once: Path, tmp_path: Path) -> Archive:
    """What stands in the files is recorded: the words and days of all, and her name wherever it is."""
    return brought_along(filed_once, tmp_path)


@pytest.mark.parametrize("audience", ["public", "cousins"])
@pytest.mark.parametrize("output", OUTPUTS)
def test_nothing_from_the_files_is_given(filed: Archive, output: str, audience: str) -> None:
    """She is named in K00001 now, so that stays too; what goes has no word that the files had."""
    out = filed.folder.parent / "out"
    out.mkdir()
    assert filed.give.report(audience).going == ("K00008",)
    OUTPUTS[output](filed, out, audience)
    assert secrets_in(out) == []
    assert not is_shown(out)


def test_whoever_may_be_shown_is_not_told_about(filed: Archive) -> None:
    """She agreed to be shown without her name: pictures of her go to the cousins, and still no word of the files."""
    out = filed.folder.parent / "out"
    filed.give.record_consent("I3", "cousins", what="pictures", asked_by="Clemence")
    done = filed.give.write_copies(out / "copies", "cousins", write=True)
    assert {"K00001", "K00002"} <= set(done.report.going)
    assert {"K00001", "K00002"} <= set(done.report.words_held)
    filed.give.write_site(out / "site", "cousins", write=True, rights_asked=True)
    assert secrets_in(out) == []
    assert is_shown(out)


def test_the_household_has_them(filed: Archive) -> None:
    """So the words were recorded, and the tests above can fail."""
    out = filed.folder.parent / "out"
    filed.give.write_copies(out, "household", write=True)
    assert {"zizi", "yolanda", "judge", "harbour", "daughter"} <= set(secrets_in(out))
